"""One motion as it was really made, beside what was asked for."""

from __future__ import annotations

from dataclasses import dataclass

from benchrig.geometry.directions import Vector


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """One motion as it was really made.

    Attributes
    ----------
    asked, done : str
        What the prompt said, and what the operator did.
    start, held, released, back : float, s
        Start of the outward move, start and end of the hold, end of the return.
    turn : ndarray, shape (3,), rad
        Net turn of the outward move: axis times angle, in body axes at its start.
    label : str
        The operator's own name for it, as for a switch.
    down : ndarray, shape (3,), or None
        Where a pose or a hang is meant to be told from gravity: the vertical in body axes, pointing down.
    """

    asked: str
    done: str
    start: float
    held: float
    released: float
    back: float
    turn: Vector
    label: str = ""
    down: Vector | None = None
