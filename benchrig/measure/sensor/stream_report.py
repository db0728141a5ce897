"""What a stream itself says: clock, counts, stuck bits, copies, clipping, and the delay between the two sensors."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.measure.measurement import Quantity
from benchrig.measure.sensor.channels import channels_of, clips_at_rest
from benchrig.measure.sensor.counting import COPIES, Channel, longest_stop, share_of_copies
from benchrig.measure.sensor.delay import FEWEST, Delay, sensor_delay
from benchrig.measure.sensor.part import MG, Part, listed
from benchrig.measure.sensor.stream_clock import LARGEST_JITTER, StreamClock, stream_clock
from benchrig.measure.sensor.study import Session, UnitStudy
from benchrig.outcome import Finding
from benchrig.signals.time_base import LONGEST_BRIDGE

LARGEST_DELAY: Final = 0.030
"""s: between gyro and accelerometer; the limit of benchrig check."""

LONGEST_STOP: Final = 0.5
"""s: in which no channel changes."""

_MOST_LOST: Final = 0.001
_COUNTS: Final = (("gyro", 180 / np.pi, "deg/s"), ("accelerometer", 1 / MG, "mg"))


def stream_part(study: UnitStudy) -> Part:
    """Tell how the samples come and what they are made of."""
    quantities: list[Quantity] = []
    findings: list[Finding] = []
    for session in study.sessions:
        where = f", {session.name}" if study.several else ""
        clock = stream_clock(session.recording.time)
        channels = channels_of(study, session)
        copies = _copies(session)
        quantities += [
            *_clock_quantities(clock, len(session.recording.time), where),
            *_channel_quantities(channels, where),
        ]
        findings += [
            *_clock_findings(clock, session),
            *_stop(session, clock),
            *_channel_findings(channels, copies, session),
        ]
    delay = _delay(study)
    quantities.append(_delay_quantity(delay))
    findings += _delay_findings(delay)
    return Part(tuple(quantities), tuple(findings), unknown=_UNKNOWN, method=_METHOD)


_UNKNOWN: Final = ("Whether the clock itself is right: nothing in a recording of this kind keeps another time.",)
_METHOD: Final = (
    "Samples are lost where a step is longer than one and a half usual ones; rate and jitter are from the other steps.",
    "One count is the raster on which all numbers of a channel stand; rounding adds a count ÷ √12 (GUM 4.3.7).",
    "The delay is that under which gravity carried by the gyro, a lever arm and the hand's push fit the accelerometer.",
    "A filter in one of the two counts as delay too.",
)


def _clock_quantities(clock: StreamClock, samples: int, where: str) -> Iterator[Quantity]:
    unsure = clock.rate * clock.uncertainty if np.isfinite(clock.uncertainty) else None
    reason = "stamped on arrival: only the mean rate means something" if clock.bunched else f"over {samples} samples"
    yield Quantity(f"sample rate{where}", clock.rate, unsure, "Hz", reason)
    yield Quantity(
        f"jitter of the stamps{where}", clock.jitter * 1e3, None, "ms", f"{clock.jitter_of_a_step:.1%} of a step, sd"
    )
    if clock.bunched:
        why = "stamps that come in bunches do not show which samples are missing"
        yield Quantity(f"lost samples{where}", None, None, "samples", why)
    else:
        yield Quantity(f"lost samples{where}", float(clock.lost), None, "samples", f"in {clock.losses} places")
    yield Quantity(f"longest step{where}", clock.worst * 1e3, None, "ms")


def _clock_findings(clock: StreamClock, session: Session) -> Iterator[Finding]:
    if clock.bunched:
        text = (
            f"The stamps of {session.name} come in bunches, as where samples are stamped when they arrive over a bus."
        )
        yield Finding("stamps-bunched", "advice", text, "Record the unit's own clock or sample counter as the time.")
    elif clock.jitter_of_a_step > LARGEST_JITTER:
        text = f"The stamps of {session.name} jitter by {clock.jitter_of_a_step:.0%} of a step."
        yield Finding(
            "stamps-jitter", "advice", text, "Record the unit's own clock; look for a logger that is too busy."
        )
    if clock.lost > _MOST_LOST * len(session.recording.time):
        gaps = "" if clock.worst <= LONGEST_BRIDGE else f", the longest gap being {clock.worst * 1e3:.0f} ms"
        text = f"{clock.lost} samples of {session.name} are missing, in {clock.losses} places{gaps}."
        yield Finding(
            "samples-lost", "advice", text, "Mend the link or the logger: a slower rate, a faster port or card."
        )


def _stop(session: Session, clock: StreamClock) -> Iterator[Finding]:
    """Say where nothing at all changes any more: noise alone would change a bit sooner."""
    values = np.hstack([session.recording.angular_rate, session.recording.acceleration])
    stopped = longest_stop(values) * clock.step
    if stopped >= LONGEST_STOP:
        text = f"Nothing in {session.name} changes for {stopped:.1f} s while its time goes on."
        yield Finding("stream-frozen", "fail", text, "Check the link and the logger; record again.")


def _copies(session: Session) -> dict[str, float]:
    recording = session.recording
    return {
        "gyro": share_of_copies(recording.angular_rate),
        "accelerometer": share_of_copies(recording.acceleration),
    }


def _channel_quantities(channels: dict[str, list[Channel]], where: str) -> Iterator[Quantity]:
    for sensor, factor, unit in _COUNTS:
        known = [c.count for c in channels[sensor] if c.count is not None]
        if not known:
            why = "the numbers stand on no raster: they were computed with, or are too few"
            yield Quantity(f"one count, {sensor}{where}", None, None, unit, why)
        else:
            finest, coarsest = min(known) * factor, max(known) * factor
            said = f"its rounding adds {finest / np.sqrt(12):.2g} {unit}"
            if coarsest > 1.05 * finest:
                said = f"from {finest:.3g} to {coarsest:.3g} {unit}, differing by channel"
            yield Quantity(f"one count, {sensor}{where}", finest, None, unit, said)
        total = sum(c.clipped for c in channels[sensor])
        yield Quantity(f"samples at the end of the range, {sensor}{where}", float(total), None, "samples")


def _channel_findings(
    channels: dict[str, list[Channel]], copies: dict[str, float], session: Session
) -> Iterator[Finding]:
    for sensor, found in channels.items():
        dead = [c.name for c in found if c.is_dead]
        if dead:
            text = f"The {sensor}'s {listed(dead)} never change{'' if len(dead) > 1 else 's'} in {session.name}."
            yield Finding("channel-frozen", "fail", text, "Look at the unit and its driver: it carries no signal.")
        stuck = [c for c in found if c.stuck_bits]
        if stuck:
            yield _stuck(sensor, stuck, everywhere=len(stuck) == len(found), name=session.name)
        coarse = [c.name for c in found if c.is_coarse and not c.stuck_bits]
        if coarse:
            text = (
                f"One count of {sensor} {listed(coarse)} hides its noise at rest ({session.name}): means are no finer."
            )
            yield Finding("count-coarse", "advice", text, "Choose a smaller range, or write more decimals.")
        ends = [c.name for c in found if c.clipped]
        if ends:
            text = f"Samples of {sensor} {listed(ends)} stand at the end of the range in {session.name}: left out."
            at_rest = sensor == "accelerometer" and clips_at_rest(session)
            fix = "Choose a larger range, or move more gently; at rest, look for a broken unit."
            yield Finding("unit-clips", "not shown" if at_rest else "advice", text, fix)
        if copies[sensor] > COPIES:
            text = (
                f"{copies[sensor]:.0%} of the rows of {session.name} repeat the {sensor}'s row before: it is read "
                f"more often than it measures, {session.recording.rate * (1 - copies[sensor]):.0f} times a second."
            )
            yield Finding(
                "samples-repeat", "advice", text, "Record at the sensor's own rate, or raise its output rate."
            )


def _stuck(sensor: str, stuck: list[Channel], *, everywhere: bool, name: str) -> Finding:
    bits = listed([f"{c.stuck_bits} of {sensor} {c.name}" for c in stuck])
    if everywhere:
        text = (
            f"The lowest bits never change ({bits}, {name}): the range is another than declared, or the unit coarser."
        )
        return Finding(
            "bits-unused", "advice", text, "Compare the declared range and the count with the unit's manual."
        )
    text = f"The lowest bits of a channel never change ({bits}, {name}), where those of the others do."
    return Finding(
        "bits-stuck", "fail", text, "Look at the driver and the bus: shifted or masked words; else a broken unit."
    )


def _delay(study: UnitStudy) -> Delay | None:
    gyro = np.eye(3) if study.gyro is None or not study.gyro.fits else study.gyro.matrix
    found = []
    for session in study.sessions:
        bias = session.stillness.bias
        if bias is not None:
            force = study.calibrated_force(session)
            found.append(sensor_delay(session.even, session.stillness.rests, gyro, force, bias.value))
    known = [delay for delay in found if delay is not None]
    return min(known, key=lambda delay: delay.uncertainty, default=None)


def _delay_quantity(delay: Delay | None) -> Quantity:
    name = "accelerometer behind the gyro"
    if delay is None:
        why = f"fewer than {FEWEST} turns by 15° or more from one rest on the bench to the next within 8 s"
        return Quantity(name, None, None, "ms", why)
    reason = f"over {delay.stretches} turns; below zero, the gyro is the late one"
    return Quantity(name, delay.value * 1e3, delay.uncertainty * 1e3, "ms", reason)


def _delay_findings(delay: Delay | None) -> Iterator[Finding]:
    if delay is not None and abs(delay.value) - 2 * delay.uncertainty > LARGEST_DELAY:
        late, early = ("accelerometer", "gyro") if delay.value > 0 else ("gyro", "accelerometer")
        text = f"The {late} is {abs(delay.value) * 1e3:.0f} ± {delay.uncertainty * 1e3:.0f} ms behind the {early}."
        fix = "Stamp both by one clock, without buffers; give both the same filter."
        yield Finding("sensor-delay", "not shown", text, fix)
