"""Spins: where the airframe turned steadily on a table, with a rest beside it on the same table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt, Turntable
from benchrig.geometry.directions import Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.geometry.turns import POSES, TURNS
from benchrig.measure.lever.stand import Readings, Remark, Stand
from benchrig.measure.lever.steady import TRIM, SteadyTurn, steady_turns
from benchrig.measure.lever.window import group_size, thinned, windows
from benchrig.signals.motions import SLOPPINESS
from benchrig.signals.rests import Rest

SLOWEST: Final = np.radians(80.0)
"""rad/s, 13⅓ rpm: below it a little more or less tilt of the table counts for more than the spin."""
FEWEST_TURNS: Final = 2.0
SHORTEST_REST: Final = 1.0
"""s: of the rest before or after a spin."""
UPRIGHT: Final = np.radians(20.0)
"""rad: an airframe that leans by more stands in no pose that has a name."""
ALONG_GRAVITY: Final = np.radians(10.0)
"""rad: between a table's axis and the plumb line."""
LARGEST_SIZE_ERROR: Final = 0.08
"""Of g: by how much the reading at rest may be off."""
WINDOW: Final = 0.25
"""s: over which readings are averaged."""

DEGREES: Final = 180 / np.pi
"""In a radian: by so much a gyro in the wrong unit is off."""

_FARTHEST_REST: Final = 8.0  # s
_MEDIAN_SQUARE: Final = 0.4549  # of a standard normal variable
_ALL: Final = 0.999  # of the samples averaged to one
_NEAR: Final = 0.1
_UNIT: Final = "correct the gyro's unit in the manifest"
_AS_A_SPIN: Final = 1.0  # turns, below which an unprompted turn is just a move


def find_spins(
    read: Readings, table: Turntable | None, prompts: Sequence[Prompt]
) -> tuple[tuple[Stand, ...], tuple[Remark, ...]]:
    """Find the spins of a recording.

    Parameters
    ----------
    read : Readings
    table : Turntable or None
        Where the manifest has none, only a prompt makes a spin of a turn.
    prompts : sequence of Prompt
        Those of turntables are held against what is found.

    Returns
    -------
    stands : tuple of Stand
    remarks : tuple of Remark
        Of spins that are no evidence.
    """
    asked = [p for p in prompts if p.name.startswith("turntable")]
    stands: list[Stand] = []
    remarks: list[Remark] = []
    answered = set()
    for turn in steady_turns(read.rate, read.even.segment, read.even.step):
        prompt = _prompt_of(read, turn, asked)
        answered.add(prompt)
        by_hand = table is None or turn.turns(read.even.step) < _AS_A_SPIN or turn.speed < SLOWEST
        if prompt is None and by_hand:
            continue
        found = _stand(read, table, turn, read.name if prompt is None else prompt.place)
        if isinstance(found, Stand) and prompt is not None:
            found = _held_against(found, prompt)
        if isinstance(found, Stand):
            stands.append(found)
        else:
            remarks.append(found)
    remarks += [_nothing(read, table, p) for p in asked if p not in answered and p.start is not None]
    return tuple(stands), tuple(remarks)


def pose_of(down: Vector) -> str:
    """Name the static attitude in which `down` (unit vector, body axes) points down.

    Examples
    --------
    >>> pose_of(np.array([-1.0, 0.0, 0.0]))
    'on tail'
    """
    for name, (axis, sign) in POSES.items():
        if sign * down[axis] > np.cos(UPRIGHT):
            return name
    return "leaning"


def noise_at_rest(stand: Stand) -> float:
    """Give by how much means over a window differ from each other at rest, m/s² rms of an axis."""
    still = stand.where.means(stand.force)[stand.still]
    return float(np.sqrt(np.mean(np.median(np.diff(still, axis=0) ** 2, axis=0)) / _MEDIAN_SQUARE / 2))


def size_at_rest(stand: Stand) -> float:
    """Give how much the accelerometer reads at rest, m/s²."""
    return float(np.linalg.norm(stand.where.means(stand.force)[stand.still].mean(axis=0)))


def _stand(read: Readings, table: Turntable | None, turn: SteadyTurn, place: str) -> Stand | Remark:
    step = read.even.step
    remark = _too_little(turn, step, place)
    if remark is not None:
        return remark
    rests = _rests_beside(read, turn)
    if not rests:
        reason = f"there is no rest of {SHORTEST_REST:g} s or more beside the spin, without a gap between them"
        return Remark("spin-without-rest", place, reason, "leave it still on the table for 3 s before and after")
    resting = np.zeros(len(read.rate), dtype=np.bool_)
    for start, stop in rests:
        resting[start:stop] = True
    down = -read.force[resting].mean(axis=0)
    # each rest by itself: of a leaning table that stops the other way round, the mean of both would be upright
    remark = _against_gravity(turn, [-read.force[a:b].mean(axis=0) for a, b in rests], place)
    if remark is not None:
        return remark
    usable = resting.copy()
    usable[turn.start : turn.stop] = True
    usable &= ~(read.even.gyro_clipped | read.even.accelerometer_clipped)
    inside = slice(min(turn.start, rests[0][0]), max(turn.stop, rests[-1][1]))
    apart = step * group_size(step)
    where = windows(thinned(usable[inside], step) > _ALL, apart, WINDOW)
    still = (thinned(resting[inside], step) > _ALL)[where.start]
    if not still.any() or (~still).sum() * where.length < 0.5 * (turn.stop - turn.start) * step:
        reason = "a channel stands at the end of its range in most of the spin or of the rests"
        return Remark("spin-clipped", place, reason, "choose a larger range, or turn more slowly")
    return Stand(
        kind="spin",
        place=place,
        start=float(read.even.time[inside.start]),
        step=apart,
        rate=thinned(read.rate[inside], step),
        force=thinned(read.force[inside], step),
        where=where,
        still=still,
        turning=turn.rate,
        pose=pose_of(down / np.linalg.norm(down)),
        pivot=None if table is None else table.pivot,
        table_rate=None if table is None else table.rate,
        turns=turn.turns(step),
    )


def _against_gravity(turn: SteadyTurn, downs: Sequence[Vector], place: str) -> Remark | None:
    """Refuse a spin whose rests do not read one g, or not along its axis; `downs` are minus what they read, m/s²."""
    remarks = (_rest_against_gravity(turn, down, place) for down in downs)
    return next((remark for remark in remarks if remark is not None), None)


def _rest_against_gravity(turn: SteadyTurn, down: Vector, place: str) -> Remark | None:
    size = float(np.linalg.norm(down))
    if abs(size / STANDARD_GRAVITY - 1) > LARGEST_SIZE_ERROR:
        reason = f"the accelerometer reads {size / STANDARD_GRAVITY:.2f} g at rest on the table"
        return Remark("spin-size", place, reason, "correct its unit, range or count, or calibrate it")
    cosine = abs(float(turn.rate @ down)) / (turn.speed * size)
    off = float(np.arccos(min(1.0, cosine)))
    if off > ALONG_GRAVITY:
        reason = f"the airframe turned about an axis {np.degrees(off):.0f}° off the plumb line"
        fix = "level the table; if it is, calibrate the accelerometer, or look at the unit's axes with benchrig check"
        return Remark("spin-askew", place, reason, fix)
    return None


def _too_little(turn: SteadyTurn, step: float, place: str) -> Remark | None:
    if turn.speed < SLOWEST:
        rpm, needed = turn.speed * 30 / np.pi, SLOWEST * 30 / np.pi
        reason = f"the table turned at {rpm:.1f} rpm, and {needed:.1f} rpm or more are needed"
        return Remark("spin-too-slow", place, reason, "turn faster: 33⅓ or 45 rpm")
    if turn.turns(step) < FEWEST_TURNS:
        reason = f"its steady part is {turn.turns(step):.1f} turns long, and {FEWEST_TURNS:g} or more are needed"
        return Remark("spin-too-short", place, reason, "let it turn steadily for 10 s")
    return None


def _rests_beside(read: Readings, turn: SteadyTurn) -> list[tuple[int, int]]:
    """Give the still samples before and after a spin, the ends left out."""
    step, segment = read.even.step, read.even.segment
    trim, shortest, far = round(TRIM / step), SHORTEST_REST / step, _FARTHEST_REST / step
    bench = [r for r in read.stillness.rests if r.grade == "bench"]
    before = [r for r in bench if r.stop <= turn.start and turn.start - r.stop < far]
    after = [r for r in bench if r.start >= turn.stop and r.start - turn.stop < far]
    found = []
    for rest in (*before[-1:], *after[:1]):
        start, stop = _share(rest, turn, bench)
        start, stop = start + trim, stop - trim
        if stop - start >= shortest and segment[start] == segment[turn.start] == segment[stop - 1]:
            found.append((start, stop))
    return found


def _share(rest: Rest, turn: SteadyTurn, bench: Sequence[Rest]) -> tuple[int, int]:
    """Take the half of a rest that lies next to the spin, where another spin may lie at its other end."""
    if rest in (bench[0], bench[-1]):
        return rest.start, rest.stop
    middle = (rest.start + rest.stop) // 2
    return (middle, rest.stop) if rest.stop <= turn.start else (rest.start, middle)


def _prompt_of(read: Readings, turn: SteadyTurn, asked: Sequence[Prompt]) -> Prompt | None:
    start, stop = read.even.time[turn.start], read.even.time[turn.stop - 1]
    for prompt in asked:
        if prompt.start is None or prompt.end is None:
            continue
        if min(stop, prompt.end + SLOPPINESS) > max(start, prompt.start - SLOPPINESS):
            return prompt
    return None


def _held_against(stand: Stand, prompt: Prompt) -> Stand | Remark:
    down = -stand.where.means(stand.force)[stand.still].mean(axis=0)
    turned = float(np.sign(stand.turning @ down))
    if turned == TURNS[prompt.name][1]:
        return stand
    seen = "clockwise" if turned > 0 else "counter-clockwise"
    reason = f"the gyro turned {seen} seen from above, where {prompt.name} is written"
    fix = (
        "correct the word if the table turned the other way; if it did not, an axis or a sign is not as declared, the "
        "gyro's or the accelerometer's: run benchrig check on six hand moves"
    )
    return Remark("spin-sense", prompt.place, reason, fix)


def _nothing(read: Readings, table: Turntable | None, prompt: Prompt) -> Remark:
    reason = f"the gyro shows no steady turning at the time of {prompt.name}"
    fix = "correct the times, or let it turn steadily for 10 s"
    during = (read.even.time > (prompt.start or 0.0)) & (read.even.time < (prompt.end or np.inf))
    # against the rests beside it: a turn so slow may have passed for a rest, and be in the bias
    spans = [np.median(read.rate[span], axis=0) for span in (during, ~during) if span.any()]
    seen = float(np.linalg.norm(spans[0] - spans[-1]))
    stated = None if table is None else table.rate
    if stated is not None and abs(seen * DEGREES / stated - 1) < _NEAR:
        reason = f"the gyro turns {DEGREES:.1f} times more slowly than the table is stated to turn in {prompt.name}"
        return Remark("spin-not-found", prompt.place, f"{reason}: its numbers are rad/s, taken for deg/s", _UNIT)
    if seen * DEGREES > SLOWEST:
        reason += f"; it turns at {seen * 30 / np.pi:.2g} rpm, as if rad/s were taken for deg/s"
        fix += f"; or {_UNIT}"
    return Remark("spin-not-found", prompt.place, reason, fix)
