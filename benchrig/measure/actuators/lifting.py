"""The channels that lift, together: which go the declared way, which goes against the others, how level a plate is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.guard_band import below
from benchrig.measure.measurement import Quantity
from benchrig.measure.pulses.channel import Channel
from benchrig.measure.pulses.naming import called
from benchrig.measure.pulses.plate import ENOUGH, PlatePose, lifting_sense, odd_one_out, plate_pose
from benchrig.outcome import Finding, Outcome

LARGEST_TILT: Final = 0.10
"""Of the lift: a plate that tilts by more when all servos should raise it alike leans the disc with the collective
(common practice, no published source)."""

LARGEST_MISFIT: Final = 20e-6
"""s: about 2° of a servo; where four servos of one plate differ by more they fight (common practice, no source)."""

_LEAST_LIFT: Final = 50e-6  # s: a smaller lift shows no share of it
_ENOUGH_LOOKS: Final = 2


@dataclass(frozen=True, slots=True, eq=False)
class Raise:
    """All servos of a plate at one moment when they should have raised it, or lowered it, alike.

    Attributes
    ----------
    moment : str
        In words: ``at collective up``.
    lifts, uncertainties : ndarray, shape (K,), s
        How much further up each servo moves the plate, as declared, in pulse.
    pose : PlatePose or None
    """

    moment: str
    lifts: Vector
    uncertainties: Vector
    pose: PlatePose | None


def plate_of(channels: Sequence[Channel]) -> tuple[Channel, ...]:
    """Give the channels of the swash plate."""
    return tuple(c for c in channels if c.actuator.drives == "swashplate")


def raises_of(channels: Sequence[Channel]) -> tuple[Raise, ...]:
    """Find the moments at which all servos of the plate should stand alike: with the stick, and at a sweep's ends.

    Returns
    -------
    tuple of Raise
        Empty where a servo was not recorded, or some get narrow and some wide pulses: those do not compare.
    """
    plate = plate_of(channels)
    if len(plate) < ENOUGH or len({c.kind for c in plate if c.kind is not None}) > 1:
        return ()
    found: list[Raise | None] = []
    lifts = [c.lift for c in plate]
    if all(lift is not None and lift.sense for lift in lifts):
        changes = [lifting_sense(c.actuator) * c.lift.change for c in plate if c.lift is not None]
        spreads = [lift.uncertainty for lift in lifts if lift is not None]
        found.append(_raise("at collective up", plate, np.array(changes), np.array(spreads)))
    for start in _common_sweeps(plate):
        found += [_at_end(plate, start, sense) for sense in (1, -1)]
    return tuple(r for r in found if r is not None)


def level_of(raised: Raise) -> Iterator[Quantity]:
    """Judge how level a plate rises, and whether its servos agree."""
    pose = raised.pose
    if pose is None:
        return
    yield Quantity(f"plate, lift {raised.moment}", pose.lift * 1e6, float(pose.uncertainty[0]) * 1e6, "us")
    as_one = _go_one_way(raised)
    for side, value, spread in (
        ("nose side", pose.nose_up, pose.uncertainty[1]),
        ("right side", pose.right_up, pose.uncertainty[2]),
    ):
        name = f"plate, {side} against its middle {raised.moment}"
        if as_one:
            yield _share(name, value, float(spread), pose)
        else:
            reason = "its servos do not all go one way, so there is no lift to hold it against"
            limit = f"below {LARGEST_TILT:.0%} of the lift"
            yield Quantity(name, None, None, "%", reason, outcome=Outcome.NOT_SHOWN, limit=limit)
    if len(raised.lifts) > ENOUGH:
        spread = float(raised.uncertainties.max())
        yield Quantity(
            name=f"plate, servos off one plane {raised.moment}",
            value=pose.misfit * 1e6,
            uncertainty=spread * 1e6,
            unit="us",
            outcome=below(pose.misfit, spread, LARGEST_MISFIT),
            limit=f"below {LARGEST_MISFIT * 1e6:.0f} µs, or they fight",
        )


def lifting_faults(channels: Sequence[Channel], raises: Sequence[Raise]) -> Iterator[Finding]:
    """Name what goes against the stick, or against the others."""
    yield from _against_stick([c for c in channels if c.lift is not None])
    yield from _against_others(plate_of(channels))
    for raised in raises:
        names = [c.actuator.name for c in plate_of(channels)]
        if _go_one_way(raised):  # else a reversed one is named already
            yield from _unlevel(raised, names)


def _raise(moment: str, plate: Sequence[Channel], lifts: Vector, spreads: Vector) -> Raise:
    azimuths = np.array([c.actuator.azimuth or 0.0 for c in plate])
    return Raise(moment, lifts, spreads, plate_pose(lifts, spreads, azimuths))


def _common_sweeps(plate: Sequence[Channel]) -> list[float]:
    """Give the sweeps that moved every servo of the plate, by their starts."""
    return sorted(set.intersection(*(set(c.sweeps) for c in plate)))


def _at_end(plate: Sequence[Channel], start: float, sense: int) -> Raise | None:
    """Hold the servos' ends of one sweep together: all at the top (+1) or all at the bottom (-1)."""
    lifts, spreads = [], []
    for channel in plate:
        sweep, way = channel.sweeps[start], lifting_sense(channel.actuator)
        end = sweep.highest if sense * way > 0 else sweep.lowest
        if end.value is None or sweep.centre.value is None:
            return None
        lifts.append(way * (end.value - sweep.centre.value))
        spreads.append(float(np.hypot(end.uncertainty or 0.0, sweep.centre.uncertainty or 0.0)))
    return _raise("at the top" if sense > 0 else "at the bottom", plate, np.array(lifts), np.array(spreads))


def _go_one_way(raised: Raise) -> bool:
    return bool((raised.lifts * np.sign(np.median(raised.lifts)) > 0).all())


def _share(name: str, value: float, spread: float, pose: PlatePose) -> Quantity:
    limit = f"below {LARGEST_TILT:.0%} of the lift"
    if abs(pose.lift) < _LEAST_LIFT:
        reason = f"the plate was lifted by less than {_LEAST_LIFT * 1e6:.0f} µs"
        return Quantity(name, None, None, "%", reason, outcome=Outcome.NOT_SHOWN, limit=limit)
    # at the bottom the lift is negative, and a side that went further down is lower all the same
    share, spread = value / abs(pose.lift), spread / abs(pose.lift)
    word = "higher" if share > 0 else "lower"
    size = f"{abs(share):.1%} of the lift" if abs(share) < 1 else f"{abs(share):.1f} times the lift"
    reason = f"{word} by {size}" if abs(share) > 2 * spread else ""
    return Quantity(
        name, 100 * share, 100 * spread, "%", reason, outcome=below(share, spread, LARGEST_TILT), limit=limit
    )


def _against_stick(asked: Sequence[Channel]) -> Iterator[Finding]:
    """Weigh one person's word about the stick against what the channels say together."""
    if not asked:
        return
    by_sense: dict[int, list[str]] = {1: [], -1: [], 0: []}
    for channel in asked:
        by_sense[channel.lift.sense if channel.lift is not None else 0].append(channel.actuator.name)
    unlike = [c.actuator.name for c in asked if c.lift is not None and c.lift.contradicts]
    up, down, still = by_sense[1], by_sense[-1], [name for name in by_sense[0] if name not in unlike]
    if unlike:
        text = f"{called(unlike)} went one way in one look at collective up, and the other way in another."
        fix = "In one of them the stick went down, or was no collective: do both again, the stick the way that lifts."
        yield Finding("collective-not-shown", "not shown", text, fix)
    if not up and not down and not still:
        return
    if not up and not down:
        text = f"No channel of {', '.join(still)} moved clearly, and the same way each time, at collective up."
        yield Finding(
            "collective-not-shown", "not shown", text, "Move the stick that lifts by half its way, and hold it."
        )
        return
    if still:
        fix = "Look at the plug, the power and the output of each; or at the column's name."
        yield Finding("actuator-still", "fail", f"{called(still)} hardly moved at collective up, as others did.", fix)
    yield from _downward(up, down, max(c.lift.looks for c in asked if c.lift is not None))


def _downward(up: Sequence[str], down: Sequence[str], looks: int) -> Iterator[Finding]:
    if not down:
        return
    if len(down) < len(up):
        text = f"{called(down)} went the way that takes lift away at collective up, against the others."
        fix = "Reverse its direction in the unit; or correct `longer_pulse`, if it was seen to lift."
        yield Finding("actuator-reversed", "fail", text, fix)
    elif up:
        text = f"At collective up {', '.join(up)} lifted and {', '.join(down)} did the reverse."
        fix = (
            "Some of them are reversed. Do it again with the stick surely the way that lifts: those that go down then "
        )
        yield Finding("actuators-disagree", "fail", text, fix + "are the ones to reverse in the unit.")
    else:
        failed = looks >= _ENOUGH_LOOKS
        text = f"{called(down)}: at collective up every pulse goes the way that takes lift away."
        fix = (
            "Reverse the collective channel in the transmitter or the unit; or `longer_pulse` of all, if the plate or "
        )
        fix += "the rotors were seen to lift."
        if not failed:
            fix = f"Do it again, the stick the way that lifts. If it stays so: {fix[0].lower()}{fix[1:]}"
        yield Finding("collective-reversed", "fail" if failed else "not shown", text, fix)


def _against_others(plate: Sequence[Channel]) -> Iterator[Finding]:
    """In a sweep of all servos at once, name the one that begins it the other way."""
    if len(plate) < ENOUGH:
        return
    for start in _common_sweeps(plate):
        ways = [float(np.sign(c.sweeps[start].first)) * lifting_sense(c.actuator) for c in plate]
        if len(set(ways)) == 1:
            continue
        odd = odd_one_out(ways)
        if odd is None:
            names = ", ".join(c.actuator.name for c in plate)
            text = f"In the sweep at {start:.0f} s the servos of the plate ({names}) do not go one way."
            fix = "Record the motion `collective up`: it shows which of them are reversed."
            yield Finding("actuators-disagree", "fail", text, fix)
        else:
            text = (
                f"{called([plate[odd].actuator.name])} goes against the other servos of the plate in the sweep at "
                f"{start:.0f} s."
            )
            fix = "Reverse its direction in the unit; or correct `longer_pulse`, if it was seen to go with them."
            yield Finding("actuator-reversed", "fail", text, fix)
        return


def _unlevel(raised: Raise, names: Sequence[str]) -> Iterator[Finding]:
    judged = list(level_of(raised))
    bad = [q for q in judged if q.outcome is Outcome.FAIL]
    binding = [q for q in bad if q.unit == "us"]
    odd = odd_one_out(raised.lifts.tolist())
    lifts = ", ".join(f"{name} {lift * 1e6:.0f}" for name, lift in zip(names, raised.lifts, strict=True))
    lifts = lifts.replace(" -", " −")
    if binding:
        who = f"{names[odd]} does not agree with the others" if odd is not None else "its servos do not agree"
        text = f"The plate binds {raised.moment}: {who} (lifts in µs: {lifts})."
        fix = (
            "Cut the power before they burn. With the links off, make their centres and travels alike, then try again."
        )
        yield Finding("plate-binds", "fail", text, fix)
    elif bad:
        who = f"{names[odd]} differs from the others" if odd is not None else "its servos move unequally"
        text = f"The plate tilts {raised.moment}: {who} (lifts in µs: {lifts})."
        fix = "Make centres and travels of the servos alike in the unit, then measure again."
        yield Finding("plate-tilts", "fail", text, fix)
