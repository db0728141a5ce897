"""Findings about the numbers themselves: units, ranges, dead channels, noise, gaps, rests."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.outcome import Finding
from benchrig.signals.moves import Move
from benchrig.signals.rests import LARGEST_BIAS
from benchrig.verdict.alignment import misalignment, perhaps_turned
from benchrig.verdict.bench import Bench
from benchrig.verdict.done import accelerometer_size_is_wrong, gyro_size_is_wrong, spoilt_by_gaps
from benchrig.verdict.health import (
    LARGEST_DELAY,
    all_frozen,
    axis_ratios,
    frozen_channels,
    noise_density,
    sensor_delay,
    surely_turned,
)
from benchrig.verdict.limits import LARGEST_MISALIGNMENT, LARGEST_NOISE, LARGEST_RESIDUAL, TILT_WITNESS
from benchrig.verdict.scale import LARGEST_RATIO_ERROR

_NEAR: Final = 0.06  # relative: how close a factor must be to be named after its cause
_FACTORS: Final = (
    (180 / np.pi, "the numbers are deg/s, the manifest says rad/s"),
    (np.pi / 180, "the numbers are rad/s, the manifest says deg/s"),
    (2.0, "a range is set twice as sensitive as declared"),
    (0.5, "a range is set half as sensitive as declared"),
    (4.0, "a range is set four times as sensitive as declared"),
    (0.25, "a range is set a quarter as sensitive as declared"),
)


def data_findings(bench: Bench) -> Iterator[Finding]:
    """Name what is wrong with the data, before any direction is judged."""
    yield from _sizes(bench)
    yield from _channels(bench)
    yield from _stillness(bench)
    yield from _stream(bench)


def _sizes(bench: Bench) -> Iterator[Finding]:
    if gyro_size_is_wrong(bench) and bench.scale is not None:
        ratio, spread = bench.scale.ratio, bench.scale.ratio * bench.scale.uncertainty
        cause = _cause(ratio)
        text = f"the gyro reads {ratio:.3g} ± {max(spread, 0.01 * ratio):.1g} times what gravity shows{cause}."
        fix = (
            "Correct the gyro's unit, range or count in the manifest or the unit; if neither is wrong, check the clock."
        )
        yield Finding("gyro-size", "fail", text, fix)
    if accelerometer_size_is_wrong(bench) and bench.size is not None:
        cause = ": the numbers are m/s², the manifest says g" if abs(bench.size / STANDARD_GRAVITY - 1) < _NEAR else ""
        cause = cause or (
            ": the numbers are g, the manifest says m/s²" if abs(bench.size * STANDARD_GRAVITY - 1) < _NEAR else ""
        )
        text = f"at rest the accelerometer reads {bench.size:.3g} g where 1 g is right{cause}."
        fix = "Correct its unit, range or count; a reading a little off asks for calibration over six poses."
        yield Finding("accelerometer-size", "fail", text, fix)
    ratios = axis_ratios(bench)
    off = {name: ratio for name, ratio in ratios.items() if abs(np.log(ratio)) > np.log1p(LARGEST_RATIO_ERROR)}
    if off and not gyro_size_is_wrong(bench):
        shown = ", ".join(f"{ratio:.2f} in {name} moves" for name, ratio in ratios.items())
        text = f"gyro and gravity differ in the size of a turn: {shown}, gyro over gravity."
        fix = "One axis of the gyro or of the accelerometer has a wrong scale: calibrate the unit, or replace it."
        yield Finding("axis-size", "fail", text, fix)
    turned = surely_turned(bench)
    if turned:
        angles = ", ".join(f"{name} {angle:.0f}° ± {spread:.0f}°" for name, (angle, spread) in turned.items())
        text = f"the unit sits turned from its declared mounting by {angles}."
        fix = "Set it square, against a straight edge; or declare the real rotation; and level the bench."
        yield Finding("not-square", "not shown", text, fix)
    residual = bench.wirings.residual_rms
    if bench.wirings.pairs and residual > LARGEST_RESIDUAL:
        text = f"gyro and accelerometer do not tell one story: {residual * 1000:.0f} mg rms between rests."
        fix = "Hold still before and after each motion, and look for a loose unit, a wrong range or a dead channel."
        yield Finding("sensors-disagree", "not shown", text, fix)


def perhaps_turned_findings(bench: Bench) -> Iterator[Finding]:
    """Say that the unit reads as turned by more than the limit where that is not sure."""
    turned = perhaps_turned(bench)
    if not turned or surely_turned(bench):
        return
    is_open = misalignment(bench) is None
    angles = ", ".join(f"{name} {angle:.0f}° ± {spread:.0f}°" for name, (angle, spread) in turned.items())
    text = (
        f"the unit reads as turned from its declared mounting by {angles}: more than {LARGEST_MISALIGNMENT:.0f}°, but "
    )
    text += f"not surely{'; it may be why its axes are not shown' if is_open else ''}."
    fix = "Look whether it sits square. To measure it better, do each tilt two or three times more, along a straight "
    fix += "edge on the bench; a hand that turns about other axes reads the same."
    yield Finding("perhaps-not-square", "not shown" if is_open else "advice", text, fix)


def _cause(ratio: float) -> str:
    for factor, cause in _FACTORS:
        if abs(ratio / factor - 1) < _NEAR:
            return f": {cause}"
    return ""


def _channels(bench: Bench) -> Iterator[Finding]:
    for name in frozen_channels(bench):
        text = f"{name} does not change while the airframe turns."
        yield Finding("channel-frozen", "fail", text, "Check the unit and its driver: this channel carries no signal.")
    if all_frozen(bench):
        text = "the whole stream stops changing while the time goes on."
        yield Finding("stream-frozen", "fail", text, "Check the link and the logger; record again.")
    blind = [m for m in bench.moves if _gyro_is_blind(m)]
    if blind and not frozen_channels(bench) and not gyro_size_is_wrong(bench):
        text = f"gravity turned in {len(blind)} moves in which the gyro saw little or nothing."
        yield Finding("gyro-blind", "fail", text, "A gyro axis is dead, or its columns are not the gyro's.")


def _gyro_is_blind(move: Move) -> bool:
    return (
        not move.gap
        and not move.clipped
        and move.gravity_angle > TILT_WITNESS
        and move.angle < 0.4 * move.gravity_angle
    )


def _stillness(bench: Bench) -> Iterator[Finding]:
    if bench.stillness.bias is None and bench.stillness.steady_rate > LARGEST_BIAS / 2:
        text = (
            f"the gyro reads up to {np.degrees(bench.stillness.steady_rate):.0f} °/s on one axis while nothing moves."
        )
        fix = "Let the unit warm up and find its zero at rest, check the gyro's unit, and record again; or replace it."
        yield Finding("gyro-bias-large", "not shown", text, fix)
    elif bench.stillness.bias is None:
        text = "the airframe never lies still on the bench, so the gyro's bias is not known."
        yield Finding("never-still", "not shown", text, "Begin and end the recording with 3 s at rest on the bench.")
    elif bench.level is None:
        text = "there is no level rest on the bench before the first motion."
        yield Finding(
            "no-level-rest", "not shown", text, "Begin the recording with the airframe level and still for 3 s."
        )
    noise = noise_density(bench)
    if noise > LARGEST_NOISE:
        text = f"the gyro's noise at rest is {noise:.2g} °/s/√Hz, above {LARGEST_NOISE}."
        yield Finding(
            "gyro-noise", "not shown", text, "Keep the motor off; look for vibration, a loose unit or a broken gyro."
        )


def _stream(bench: Bench) -> Iterator[Finding]:
    spoilt = spoilt_by_gaps(bench)
    if spoilt:
        text = f"the stream has gaps inside {', '.join(spoilt)}."
        yield Finding("gaps", "not shown", text, "Mend the link or the logger, and record these motions again.")
    clipped = sum(m.clipped for m in bench.moves)
    if clipped:
        text = f"a channel stands at the end of its range in {clipped} moves."
        yield Finding("clipping", "not shown", text, "Choose a larger range, or move more gently.")
    delay = sensor_delay(bench)
    if delay is not None and abs(delay[0]) - delay[1] > LARGEST_DELAY:
        side = "behind" if delay[0] > 0 else "ahead of"
        text = f"the accelerometer is {abs(delay[0]) * 1000:.0f} ± {delay[1] * 1000:.0f} ms {side} the gyro."
        yield Finding(
            "sensor-delay", "not shown", text, "Check that both sensors are stamped by one clock, without buffering."
        )
