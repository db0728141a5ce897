"""Checks of the data itself, each against a stated limit."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import matrix_from_vector
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.outcome import Outcome
from benchrig.verdict.alignment import misalignment
from benchrig.verdict.bench import Bench
from benchrig.verdict.done import accelerometer_size_is_wrong, gyro_size_is_wrong, spoilt_by_gaps
from benchrig.verdict.limits import (
    LARGEST_MISALIGNMENT,
    LARGEST_NOISE,
    LARGEST_RESIDUAL,
    LARGEST_SIZE_ERROR,
    SURE,
    TILT_WITNESS,
)
from benchrig.verdict.record import Health
from benchrig.verdict.scale import LARGEST_RATIO_ERROR
from benchrig.verdict.wirings import turned_under

CHANNELS: Final = ("gyro x", "gyro y", "gyro z", "accelerometer x", "accelerometer y", "accelerometer z")
FROZEN_FOR: Final = 0.3
"""s: a channel that does not change for this long while the airframe turns is frozen."""

LARGEST_DELAY: Final = 0.030
"""s: between gyro and accelerometer."""

_TURNING: Final = np.radians(15.0)
_LEAST_FROZEN: Final = 8  # samples


def judge_health(bench: Bench) -> tuple[Health, ...]:
    """Check sizes, noise, gaps, clipping and dead channels.

    Returns
    -------
    tuple of Health
    """
    return (
        _ratio(bench),
        *_axis_ratios(bench),
        _turned(bench),
        _residual(bench),
        _size(bench),
        _noise(bench),
        _bias(bench),
        _clipping(bench),
        _gaps(bench),
        *_channels(bench),
        _delay(bench),
    )


def frozen_channels(bench: Bench) -> tuple[str, ...]:
    """Name the channels that never change, or stand still while the airframe turns."""
    even = bench.even
    values = np.column_stack([even.angular_rate, even.acceleration])
    least = max(round(FROZEN_FOR / even.step), _LEAST_FROZEN)
    centred = even.angular_rate - np.median(even.angular_rate, axis=0)
    clipped = even.gyro_clipped | even.accelerometer_clipped
    turning = np.linalg.norm(centred, axis=1) > _TURNING
    names = []
    for name, column in zip(CHANNELS, values.T, strict=True):
        others = np.ptp(values[:, [k for k, c in enumerate(CHANNELS) if c != name]], axis=0).max()
        still = (np.diff(column) == 0) & ~clipped[1:]
        if (np.ptp(column) == 0 and others > 0) or _longest(still & turning[1:]) >= least:
            names.append(name)
    return tuple(names)


def all_frozen(bench: Bench) -> bool:
    """Tell whether the whole stream stops changing for half a second or more."""
    values = np.column_stack([bench.even.angular_rate, bench.even.acceleration])
    same = (np.diff(values, axis=0) == 0).all(axis=1)
    return _longest(same) * bench.even.step >= 0.5  # noqa: PLR2004 - s; real noise changes a bit sooner


def sensor_delay(bench: Bench) -> tuple[float, float] | None:
    """Find how much later than the gyro the accelerometer shows the same tilts.

    Returns
    -------
    delay, uncertainty : float, s, or None
        None where fewer than three tilts can be compared.
    """
    moves = [m for m in bench.moves if not (m.gap or m.clipped) and m.gravity_angle > TILT_WITNESS]
    moves = [m for m in moves if 0.75 < m.angle / m.gravity_angle < 1.33]  # noqa: PLR2004 - nearly pure tilts
    delays = [d for m in moves if (d := _move_delay(bench, m.start, m.stop)) is not None]
    if len(delays) < 3:  # noqa: PLR2004 - a median of fewer is one opinion
        return None
    spread = float(np.median(np.abs(np.array(delays) - np.median(delays)))) * 1.48
    return float(np.median(delays)), max(spread, bench.even.step / np.sqrt(12)) / float(np.sqrt(len(delays)))


def _move_delay(bench: Bench, start: int, stop: int) -> float | None:
    """Compare when each sensor sees the middle of a move: half the turn, and gravity half way over."""
    even = bench.even
    bias = np.zeros(3) if bench.stillness.bias is None else bench.stillness.bias.value
    speed = np.linalg.norm(even.angular_rate[start:stop] - bias, axis=1)
    turned = np.cumsum(speed)
    first, last = even.acceleration[start : start + 5].mean(axis=0), even.acceleration[stop - 5 : stop].mean(axis=0)
    way = last - first
    along = (even.acceleration[start:stop] - first) @ way / (way @ way)
    middle = np.flatnonzero((turned > 0.1 * turned[-1]) & (turned < 0.9 * turned[-1]))
    if len(middle) < 5:  # noqa: PLR2004 - too few samples in the move to place its middle
        return None
    by_gyro = float(np.interp(0.5 * turned[-1], turned, even.time[start:stop]))
    half = int(np.argmin(np.abs(even.time[start:stop] - by_gyro)))
    crossing = np.flatnonzero((along[:-1] < 0.5) & (along[1:] >= 0.5))  # noqa: PLR2004 - half way
    if not len(crossing):
        return None
    nearest = int(crossing[np.argmin(np.abs(crossing - half))])
    part = (0.5 - along[nearest]) / (along[nearest + 1] - along[nearest])
    return float(even.time[start + nearest] + part * even.step - by_gyro)


def _longest(mask: Vector) -> int:
    padded = np.concatenate([[False], mask, [False]]).astype(np.int8)
    edges = np.flatnonzero(np.diff(padded))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def noise_density(bench: Bench) -> float:
    """Give the gyro's noise at rest, °/s/√Hz, in the unit it really has."""
    factor = bench.scale.factor if bench.scale is not None and bench.scale.is_off else 1.0
    return float(factor * np.degrees(bench.stillness.gyro_noise) / np.sqrt(0.5 / bench.even.step))


def _ratio(bench: Bench) -> Health:
    name = "gyro angle over gravity angle"
    if bench.scale is None:
        return Health(name, Outcome.NOT_SHOWN, None, "", LARGEST_RATIO_ERROR, "no tilt is large enough to compare")
    outcome = Outcome.FAIL if gyro_size_is_wrong(bench) else Outcome.PASS
    reason = (
        f"{bench.scale.ratio:.3f} ± {bench.scale.ratio * bench.scale.uncertainty:.3f} over {bench.scale.tilts} tilts"
    )
    return Health(name, outcome, bench.scale.ratio, "", LARGEST_RATIO_ERROR, reason)


def axis_ratios(bench: Bench) -> dict[str, float]:
    """Compare the gyro's and gravity's angles for roll and pitch moves apart: a single axis can be wrong in size.

    Both angles are those by which gravity turns in the airframe: as the gyro carries it, and as it is read.

    Returns
    -------
    dict of {"roll", "pitch"} to float
        Gyro over gravity; an axis with fewer than two fit moves is left out, and both while the wiring is open.
    """
    if min(bench.wirings.gyro.max(), bench.wirings.accelerometer.max()) < SURE:
        return {}
    gyro_map = int(np.argmax(bench.wirings.gyro))
    force_map = bench.wirings.mounting(int(np.argmax(bench.wirings.accelerometer)))
    sums = {"roll": [0.0, 0.0, 0.0], "pitch": [0.0, 0.0, 0.0]}
    for move in bench.moves:
        turn = turned_under(move, bench.wirings.body_from_sensor)[gyro_map]
        axis = int(np.argmax(np.abs(turn)))
        if move.gap or move.clipped or move.gravity_angle < TILT_WITNESS or axis == 2:  # noqa: PLR2004 - yaw
            continue
        before = force_map @ move.force_before
        carried = matrix_from_vector(turn).T @ before
        gyro = float(np.arctan2(np.linalg.norm(np.cross(before, carried)), before @ carried))
        total = sums[AXIS_NAMES[axis]]
        total[0], total[1], total[2] = total[0] + gyro, total[1] + move.gravity_angle, total[2] + 1
    return {name: max(gyro / gravity, 1e-3) for name, (gyro, gravity, count) in sums.items() if count > 1}


def _axis_ratios(bench: Bench) -> tuple[Health, ...]:
    checks = []
    for name, ratio in axis_ratios(bench).items():
        off = abs(np.log(ratio)) > np.log1p(LARGEST_RATIO_ERROR)
        outcome = Outcome.FAIL if off else Outcome.PASS
        reason = f"{ratio:.2f} in the {name} moves alone"
        checks.append(Health(f"gyro angle over gravity angle, {name}", outcome, ratio, "", LARGEST_RATIO_ERROR, reason))
    return tuple(checks)


def surely_turned(bench: Bench) -> dict[str, tuple[float, float]]:
    """Give the small angles, with their uncertainties (deg), by which the unit is surely turned beyond the limit."""
    small = misalignment(bench)
    if small is None:
        return {}
    return {
        name: (angle, spread)
        for name, (angle, spread) in small.told.items()
        if abs(angle) - 2 * spread > LARGEST_MISALIGNMENT
    }


def _turned(bench: Bench) -> Health:
    name, turned = "turned from its mounting", surely_turned(bench)
    if misalignment(bench) is None:
        reason = "the wiring is not as declared, or not certain"
        return Health(name, Outcome.NOT_APPLICABLE, None, "deg", LARGEST_MISALIGNMENT, reason)
    outcome = Outcome.NOT_SHOWN if turned else Outcome.PASS
    reason = "; ".join(f"{axis} {angle:.0f}° ± {spread:.0f}°" for axis, (angle, spread) in turned.items())
    largest = max((abs(angle) for angle, _ in turned.values()), default=None)
    return Health(name, outcome, largest, "deg", LARGEST_MISALIGNMENT, reason or "within what these moves can tell")


def _residual(bench: Bench) -> Health:
    name = "gyro and accelerometer, carried from rest to rest"
    if not bench.wirings.pairs:
        return Health(name, Outcome.NOT_SHOWN, None, "mg", LARGEST_RESIDUAL * 1000, "no two rests with a turn between")
    value = bench.wirings.residual_rms * 1000
    outcome = Outcome.PASS if value <= LARGEST_RESIDUAL * 1000 else Outcome.NOT_SHOWN
    return Health(name, outcome, value, "mg", LARGEST_RESIDUAL * 1000, f"rms over {bench.wirings.pairs} turns")


def _size(bench: Bench) -> Health:
    name = "accelerometer at rest"
    if bench.size is None:
        return Health(name, Outcome.NOT_SHOWN, None, "g", LARGEST_SIZE_ERROR, "the airframe was never still")
    outcome = Outcome.FAIL if accelerometer_size_is_wrong(bench) else Outcome.PASS
    return Health(
        name, outcome, bench.size, "g", LARGEST_SIZE_ERROR, f"median over the rests; 1 g ± {LARGEST_SIZE_ERROR:.0%}"
    )


def _noise(bench: Bench) -> Health:
    name = "gyro noise"
    if not np.isfinite(bench.stillness.gyro_noise):
        return Health(name, Outcome.NOT_SHOWN, None, "°/s/√Hz", LARGEST_NOISE, "the airframe never lay still")
    density = noise_density(bench)
    outcome = Outcome.PASS if density <= LARGEST_NOISE else Outcome.NOT_SHOWN
    return Health(name, outcome, density, "°/s/√Hz", LARGEST_NOISE, "of the quietest tenth of the recording")


def _bias(bench: Bench) -> Health:
    if bench.stillness.bias is None:
        return Health("gyro bias", Outcome.NOT_SHOWN, None, "deg/s", 25.0, "the airframe never lay still on the bench")
    value = float(np.degrees(np.abs(bench.stillness.bias.value).max()))
    return Health("gyro bias", Outcome.PASS, value, "deg/s", 25.0, "largest axis, taken at the bench rests and removed")


def _clipping(bench: Bench) -> Health:
    count = int((bench.even.gyro_clipped | bench.even.accelerometer_clipped).sum())
    inside = sum(m.clipped for m in bench.moves)
    outcome = Outcome.NOT_SHOWN if inside else Outcome.PASS
    return Health("samples at the end of a range", outcome, float(count), "samples", 0.0, f"{inside} motions touched")


def _gaps(bench: Bench) -> Health:
    count = int(bench.even.segment[-1])
    spoilt = spoilt_by_gaps(bench)
    inside = sum(m.move is not None and m.move.gap for m in bench.motions)
    reason = f"{inside} of them inside a motion" + (f"; {', '.join(spoilt)} not made again since" if spoilt else "")
    outcome = Outcome.NOT_SHOWN if spoilt else Outcome.PASS
    return Health("gaps over 50 ms", outcome, float(count), "gaps", 0.0, reason)


def _channels(bench: Bench) -> tuple[Health, ...]:
    frozen = frozen_channels(bench)
    outcome = Outcome.FAIL if frozen or all_frozen(bench) else Outcome.PASS
    reason = (
        ", ".join(frozen) if frozen else ("the whole stream stops" if all_frozen(bench) else "every channel changes")
    )
    return (Health("dead or frozen channels", outcome, float(len(frozen)), "channels", 0.0, reason),)


def _delay(bench: Bench) -> Health:
    name = "accelerometer behind the gyro"
    found = sensor_delay(bench)
    if found is None:
        return Health(name, Outcome.NOT_APPLICABLE, None, "ms", LARGEST_DELAY * 1e3, "fewer than three clean tilts")
    delay, spread = found
    late = abs(delay) - spread > LARGEST_DELAY
    outcome = Outcome.NOT_SHOWN if late else Outcome.PASS
    return Health(
        name, outcome, delay * 1e3, "ms", LARGEST_DELAY * 1e3, f"± {spread * 1e3:.0f} ms, by when each sees half a tilt"
    )
