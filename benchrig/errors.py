"""Errors that people read: each says where, what was found, what was expected, why, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with what a person handed in.

    Parameters
    ----------
    place : str
        File, with line or row and column where they are known: ``dunlin.toml:12`` or ``run.csv:1042 column gx``.
    finding : str
        What was read there.
    expectation : str
        What is allowed there; empty where the finding already says it.
    cause : str
        The likely cause; empty where none can be named.
    act : str
        What to do next.
    """

    place: str
    finding: str
    expectation: str = ""
    cause: str = ""
    act: str = ""

    def __str__(self) -> str:
        """Join the parts to one sentence that starts with the place."""
        parts = [f"{self.place}: {self.finding}"]
        if self.expectation:
            parts.append(f"expected {self.expectation}")
        if self.cause:
            parts.append(f"likely cause: {self.cause}")
        if self.act:
            parts.append(self.act)
        return "; ".join(parts)


class BenchrigError(Exception):
    """Base of the errors that a person can mend; a fault of the program is never one of these.

    Parameters
    ----------
    *problems : Problem
        All that was found, in the order of the file.
    """

    exit_status = 70

    def __init__(self, *problems: Problem) -> None:
        super().__init__(*problems)
        self.problems = problems

    def __str__(self) -> str:
        """Give one line a problem."""
        return "\n".join(str(problem) for problem in self.problems)


class UsageError(BenchrigError):
    """The command was called in a way it does not know, or would overwrite something."""

    exit_status = 2


class AirframeFileError(BenchrigError):
    """The airframe file does not declare a rig that can be judged."""

    exit_status = 4


class CaptureError(BenchrigError):
    """The manifest or its stream cannot be used as a recording."""

    exit_status = 5


class DeviceFileError(BenchrigError):
    """The device file does not say what a unit sends."""

    exit_status = 5


class WorksheetError(BenchrigError):
    """A worksheet does not tell what was measured."""

    exit_status = 5


class ResultError(BenchrigError):
    """A stored result cannot be used."""

    exit_status = 5


class PortError(BenchrigError):
    """No samples can be had from a port."""

    exit_status = 6


class StoreError(BenchrigError):
    """The store cannot be written on, or what it holds is damaged; what was written is kept."""

    exit_status = 5
