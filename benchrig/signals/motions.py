"""Motions: which move answers which prompt."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt
from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import matrix_from_vector
from benchrig.geometry.turns import TURNS
from benchrig.signals.body import EvenRecording
from benchrig.signals.moves import Move
from benchrig.signals.rests import Rest

SLOPPINESS: Final = 0.5
"""s: how far a person's prompt times may be off."""

SMALLEST_TURN: Final = np.radians(20.0)
"""rad: a smaller turn is no evidence."""

_LATE: Final = "its times fall on the way back of a move whose way out was not prompted: they are late"

_LONGEST_COUNTED_HOLD: Final = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """A prompt and the move that answers it.

    Attributes
    ----------
    prompt : Prompt
    move : Move or None
        None where none was found.
    gate : str
        Why it is no evidence; empty where it is.
    """

    prompt: Prompt
    move: Move | None
    gate: str

    @property
    def name(self) -> str:
        """What was asked for."""
        return self.prompt.name


@dataclass(frozen=True, slots=True, eq=False)
class Matching:
    """The motions of a recording, and what did not fit (empty where all did)."""

    motions: tuple[Motion, ...]
    misfit: str


def match_motions(even: EvenRecording, moves: Sequence[Move], prompts: Sequence[Prompt]) -> Matching:
    """Find the move that answers each prompt that claims a direction.

    With times, a prompt belongs to the move whose span, from its start through its hold, it overlaps best, each move
    answering one prompt and the order kept. Without times (a routine), the moves that are not the undoing of the one
    before are taken in order, if their count is that of the routine.

    Returns
    -------
    Matching
    """
    turning = [p for p in prompts if p.name in TURNS]
    if any(p.start is None for p in prompts):
        return _match_routine(even, moves, prompts)
    overlaps = np.array([[_overlap(even, moves, k, p) for k in range(len(moves))] for p in turning])
    chosen = _best_in_order(overlaps.reshape(len(turning), len(moves)))
    back = _ways_back(moves, [k for k in chosen if k is not None])
    motions = []
    for prompt, k in zip(turning, chosen, strict=True):
        move = None if k is None else moves[k]
        # a prompt stamped too late finds the way back, which turns the other way: it must not speak for the operator
        late = k is not None and k in back and back[k] not in chosen
        motions.append(Motion(prompt, move, _LATE if late else gate(even, move)))
    return Matching(tuple(motions), "")


def gate(even: EvenRecording, move: Move | None) -> str:
    """Say why a move is no evidence; empty where it is.

    Returns
    -------
    str
    """
    if move is None:
        return "no turn was found at the time of this prompt, with a hold of 0.4 s or more on either side"
    if move.gap:
        return "the stream has a gap inside the motion"
    if move.clipped:
        return "a channel stands at the end of its range inside the motion"
    if move.angle < SMALLEST_TURN:
        seen, needed = np.degrees(move.angle), np.degrees(SMALLEST_TURN)
        return f"the gyro shows a turn of {seen:.0f}°; {needed:.0f}° or more are needed"
    if (move.stop - move.start) * even.step > 60:  # noqa: PLR2004 - s; the bias is not known well enough beyond
        return "the motion takes more than a minute"
    return ""


def rest_at(even: EvenRecording, rests: Sequence[Rest], prompt: Prompt) -> Rest | None:
    """Find the bench rest that a `level` prompt points at."""
    if prompt.start is None or prompt.end is None:
        return None
    shared = [(_shared(even, r.start, r.stop, prompt), r) for r in rests]
    best = max(shared, key=lambda item: item[0], default=(0.0, None))
    return best[1] if best[0] > 0 else None


def _shared(even: EvenRecording, start: int, stop: int, prompt: Prompt) -> float:
    first, last = even.time[start], even.time[min(stop, len(even.time)) - 1]
    return float(min(last, (prompt.end or 0.0) + SLOPPINESS) - max(first, (prompt.start or 0.0) - SLOPPINESS))


def _overlap(even: EvenRecording, moves: Sequence[Move], k: int, prompt: Prompt) -> float:
    """Compare a prompt's span with a move's, from its start to the end of its hold, as shared over joint length."""
    move, start, end = moves[k], prompt.start or 0.0, prompt.end or 0.0
    begin = float(even.time[move.before.stop - 1])
    arrive = float(even.time[move.after.start])
    leave = float(even.time[move.after.stop - 1])
    # a person may name the end anywhere in a long hold
    finish = min(leave, max(end, arrive + _LONGEST_COUNTED_HOLD))
    shared = min(finish, end) - max(begin, start)
    if shared <= 0 or begin < start - 4 * SLOPPINESS - (arrive - begin):
        return 0.0
    return shared / (max(finish, end) - min(begin, start))


def _best_in_order(overlap: Vector) -> list[int | None]:
    """Assign prompts (rows) to moves (columns), order kept, none twice, with the largest sum."""
    rows, columns = overlap.shape
    best = np.zeros((rows + 1, columns + 1))
    for i in range(rows):
        for j in range(columns):
            taken = best[i, j] + (overlap[i, j] if overlap[i, j] > 0 else -1.0)
            best[i + 1, j + 1] = max(taken, best[i, j + 1], best[i + 1, j])
    chosen: list[int | None] = [None] * rows
    i, j = rows, columns
    while i and j:
        if best[i, j] == best[i, j - 1]:
            j -= 1
        elif best[i, j] == best[i - 1, j]:
            i -= 1
        else:
            i, j = i - 1, j - 1
            chosen[i] = j
    return chosen


def _match_routine(even: EvenRecording, moves: Sequence[Move], prompts: Sequence[Prompt]) -> Matching:
    asked, turning = [p for p in prompts if p.name != "level"], [p for p in prompts if p.name in TURNS]
    back = _ways_back(moves)
    outward = [move for k, move in enumerate(moves) if k not in back]
    if len(outward) == len(turning):
        asked = turning  # a wave that ends where it began is no move
    if len(outward) != len(asked):
        spans = ", ".join(f"{even.time[m.before.stop - 1]:.1f} s ({np.degrees(m.angle):.0f}°)" for m in outward)
        misfit = f"the routine names {len(asked)} motions, the stream shows {len(outward)} moves away from rest" + (
            f": at {spans}" if spans else ""
        )
        return Matching(tuple(Motion(p, None, misfit) for p in asked if p.name in TURNS), misfit)
    pairs = zip(asked, outward, strict=True)
    return Matching(tuple(Motion(p, m, gate(even, m)) for p, m in pairs if p.name in TURNS), "")


def _ways_back(moves: Sequence[Move], answering: Collection[int] = ()) -> dict[int, int]:
    """Give the moves that only undo the one before them, each with the number of that one.

    Parameters
    ----------
    moves : sequence of Move
    answering : collection of int
        The numbers of those that answer a prompt.
    """
    back: dict[int, int] = {}
    first = 0
    while first < len(moves):
        stop = first + 1
        while stop < len(moves) and _undoes(moves[stop - 1], moves[stop]):
            stop += 1
        outward = set(range(first, stop, 2))
        # a gap may have hidden a way out: then the first move after it is the way back, and what was asked for follows
        is_hidden = first > 0 and moves[first - 1].gap and outward.isdisjoint(answering)
        back |= {k + 1: k for k in range(first + is_hidden, stop - 1, 2)}
        first = stop
    return back


def _undoes(move: Move, later: Move) -> bool:
    """Whether `later` brings the airframe back to where `move` took it from; a gap hides that."""
    if move.gap or later.gap:
        return False
    whole = matrix_from_vector(move.rotation) @ matrix_from_vector(later.rotation)
    left = float(np.arccos(np.clip((np.trace(whole) - 1) / 2, -1.0, 1.0)))
    return bool(left < max(np.radians(12.0), 0.4 * move.angle))
