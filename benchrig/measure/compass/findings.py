"""What a study of a compass means for the builder: causes, and what to do about them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.attitude.earth_field import EarthField
from benchrig.geometry.directions import axis_words
from benchrig.measure.compass.hard_iron import ENTRY_IRON, hard_iron
from benchrig.measure.compass.iron import IronFit
from benchrig.measure.compass.quantities import SENSE_TOLERANCE, against_the_model, field_untold
from benchrig.measure.compass.study import (
    LARGEST_STRAIN,
    LEAST_DIP,
    UNEVEN,
    CompassStudy,
    dip_of,
    size_of,
)
from benchrig.measure.compass.surroundings import left_in, surroundings
from benchrig.measure.guard_band import DEVIATIONS
from benchrig.outcome import Finding, Outcome, gravest_first

_FULL: Final = np.radians(330.0)
_TIMES: Final = 2.0
_LEAST_TOLD: Final = 1e-3  # µT


def findings_of(study: CompassStudy) -> tuple[Finding, ...]:
    """Give the findings, the gravest first."""
    found = [
        *_sight(study),
        *_axes(study),
        *_sign(study),
        *_hemisphere(study),
        *_field(study),
        *_coverage(study),
        *surroundings(study),
    ]
    if not any(one.severity == "fail" for one in found):
        found += left_in(study)
    return gravest_first(found)


def _sight(study: CompassStudy) -> Iterator[Finding]:
    """Say what stands against every number."""
    if study.nothing:
        fix = "Record a level rest of 3 s, a slow full turn level, one with the nose raised by 30°, and a rest again."
        yield Finding("compass-not-shown", "not shown", f"Nothing can be measured: {study.nothing}.", fix)
        return
    if study.has_other_axes or study.is_far_out or study.fit is None:
        return
    if study.fit.strain > LARGEST_STRAIN:
        text = (
            f"Gyro and accelerometer would have to be off by {study.fit.strain:.0f} times what data sheets allow: "
            "the unit's own axes, units or calibration are wrong."
        )
        fix = "Run `benchrig check` and `benchrig measure sensor` first: the compass is measured by that unit."
        yield Finding("compass-unit-first", "not shown", text, fix)
    elif study.change is not None:
        yield _changed(study)
    elif study.doubt:
        fix = (
            "Go away from steel benches, radiators, tools and loudspeakers, keep motors off, "
            "look for a channel that stands still, and turn again."
        )
        yield Finding("compass-not-shown", "not shown", f"The readings do not fit: {study.doubt}.", fix)


def _changed(study: CompassStudy) -> Finding:
    change = study.change
    if change is None:
        message = "no change was found"
        raise ValueError(message)
    size = float(np.linalg.norm(change.size)) * 1e6
    name = study.recordings[change.recording].manifest.name
    what = {
        "iron": "something on the airframe itself: a current that was switched, a part that was put on or taken off",
        "room": "something beside the airframe: steel or a magnet that came near, or a bench whose steel it left",
        "either": "a current, iron or a magnet that came near or went away",
    }[change.kind]
    if change.from_the_start or change.to_the_end:
        when = change.end if change.from_the_start else change.start
        text = f"In {name} the field changed by {size:.1f} µT at {when:.1f} s, as by {what}."
    else:
        span = f"from {change.start:.1f} s to {change.end:.1f} s"
        text = f"In {name}, {span}, a field of {size:.1f} µT was added, as by {what}."
    fix = (
        "Keep motors, servos' moves and tools away while you turn, stay in one place far from steel, "
        "lift the airframe off the bench, and record again."
    )
    return Finding("compass-iron-changed", "not shown", text, fix)


def _axes(study: CompassStudy) -> Iterator[Finding]:
    sense = study.sense
    if study.maps is not None and study.has_other_axes:
        yield _other_axes(study)
    elif sense is not None and sense.slope + DEVIATIONS * sense.uncertainty < 0 and study.change is None:
        text = f"The compass's heading turns the wrong way: {sense.slope:+.2f} degrees for each degree of the gyro."
        fix = "One level axis has the wrong sign, or two are swapped: mend it where the stream is made, or its axes."
        yield Finding("compass-axes-differ", "fail", text, fix)
    elif (
        sense is not None
        and not study.doubt
        and abs(sense.slope - 1) > SENSE_TOLERANCE + DEVIATIONS * sense.uncertainty
    ):
        text = f"The compass's heading turns by {sense.slope:.2f} degrees for each degree of the gyro."
        fix = "Look at the gyro's scale with `benchrig measure sensor`, and turn in one place far from steel."
        yield Finding("compass-heading-size", "fail", text, fix)
    if study.is_reversed and study.fit is not None:
        dip, _ = dip_of(study.fit)
        way, must = ("down", "up") if dip > 0 else ("up", "down")
        text = (
            f"Along the declared axes the field points {way} by {abs(np.degrees(dip)):.0f}°, and here it must point "
            f"{must}: all three signs are turned, or the place or hemisphere is wrong."
        )
        fix = "Read the letters of latitude and hemisphere again; if they hold, turn all three signs of the compass."
        yield Finding("compass-dip-reversed", "fail", text, fix)


def _other_axes(study: CompassStudy) -> Finding:
    maps = study.maps
    found = None if maps is None else maps.found
    sign = study.declared_sign
    signed = maps is not None and sign != 0 and abs(maps.down) > np.sin(LEAST_DIP)
    if signed and found is not None and maps is not None and sign * maps.down < 0:
        found = -found + 0.0
    words = None if found is None else axis_words(found)
    said = axis_words(study.compass.body_from_sensor)
    if words is None or said is None:
        text = "The readings do not follow the turns along the declared axes; the turns leave several others."
        fix = "Turn the airframe level and with the nose raised: that names the axes. Compare its arrows with the file."
        if study.was_raised:
            text = "The readings do not follow the turns along the declared axes, and along no others much better."
            fix = (
                "The gyro and the compass do not tell of the same turns: run `benchrig check` for the gyro's axes, "
                "look for a channel that stands still, and compare the compass's arrows with the file."
            )
        return Finding("compass-axes-differ", "fail", text, fix)
    parts = "; ".join(f"its {a} axis along {words[a]}, the file says {said[a]}" for a in words if words[a] != said[a])
    either = "" if signed else " (or all three the other way about)"
    text = f"The compass lies otherwise than declared, against the unit: {parts}{either}."
    fix = "Compare its arrows with the file, and its channels with the stream's columns; turn it, or correct its axes."
    if not signed:
        fix += " Write hemisphere in [magnetometer], which tells these axes from their opposite."
    elif found is not None and np.linalg.det(found) < 0:
        fix = "No mounting can mend this: find where its stream turns a sign or swaps two channels, and undo it."
    return Finding("compass-axes-differ", "fail", text, fix)


def _sign(study: CompassStudy) -> Iterator[Finding]:
    """Say that the common sign of the axes is open: a compass with all three turned shows the opposite heading."""
    if study.nothing or study.doubt or study.is_signed or study.is_reversed or study.maps is None:
        return
    if study.declared_sign != 0:
        # the turns that would show the dip are asked for beside it
        return
    text = (
        "The compass's axes are told up to one common sign: with all three signs turned it would follow these turns "
        "just as well, and show the opposite heading."
    )
    fix = 'Write hemisphere = "north" or "south" in [magnetometer], or give --latitude and --longitude.'
    yield Finding("compass-sign-open", "not shown", text, fix)


def _hemisphere(study: CompassStudy) -> Iterator[Finding]:
    model, declared = study.place_field, study.compass.hemisphere
    if model is None or declared is None or abs(model.dip) <= LEAST_DIP:
        return
    here = "north" if model.dip > 0 else "south"
    if here != declared:
        text = f"The place lies {here} of the magnetic equator, and the airframe file says {declared}."
        yield Finding("hemisphere-differs", "fail", text, "Correct --latitude, or hemisphere in [magnetometer].")


def _field(study: CompassStudy) -> Iterator[Finding]:
    if study.is_far_out:
        yield from _off_the_earth(study)
    if study.fit is None or study.doubt:
        return
    if UNEVEN * study.unevenness > ENTRY_IRON:
        text = (
            f"The field here is uneven, or the iron is loose: {study.unevenness * 1e6:.1f} µT are explained by no iron "
            "and no turn, over some span."
        )
        fix = "Repeat it in another place, some metres from steel, turning on the spot; both should agree."
        yield Finding("compass-room-uneven", "advice", text, fix)
    if study.place_field is None or field_untold(study):
        yield from _off_the_earth(study)
    elif not study.is_reversed:
        yield from _off_the_model(study, study.fit, study.place_field)


def _off_the_earth(study: CompassStudy) -> Iterator[Finding]:
    """Name a field that is no earth's: one too unsure for a number may still be far too small to be one."""
    if study.fit is not None and study.maps is not None and study.is_no_earth:
        size = study.maps.field if study.is_far_out else size_of(study.fit)[0]
        model = study.place_field
        times = f", {_beside(size / model.size)} the World Magnetic Model's" if model is not None else ""
        text = f"The field is {_microtesla(size)}{times}, where the earth's is 22 to 67 µT: its unit or range is wrong."
        fix = "Look at the unit and count of its columns; go away from steel."
        yield Finding("compass-field-differs", "fail", text, fix)


def _microtesla(size: float) -> str:
    value = float(f"{size * 1e6:.2g}")
    return f"{value:.0f} µT" if value >= 1 else f"{value:g} µT" if value >= _LEAST_TOLD else "about 0 µT"


def _off_the_model(study: CompassStudy, fit: IronFit, model: EarthField) -> Iterator[Finding]:
    if Outcome.FAIL in against_the_model(fit, model):
        off, tilt = size_of(fit)[0] / model.size - 1, dip_of(fit)[0] - model.dip
        text = (
            f"The field is {_beside(off + 1)} the World Magnetic Model's in size, and {_signed(np.degrees(tilt))}° off "
            "it in dip: "
        )
        if study.is_no_earth:
            text, fix = text + "its unit or range is wrong.", "Look at the unit and count of its columns."
        else:
            text += "steel or a magnet bends it here, or the compass's unit or the place is wrong."
            fix = "Repeat it out of doors, some metres from steel and cars; then look at the compass's unit and range."
        yield Finding("compass-field-differs", "fail", text, fix)


def _beside(ratio: float) -> str:
    """Say a ratio as a person would: in per cent where it is near one, as a number of times where it is not."""
    if ratio > _TIMES:
        return f"about {ratio:.2g} times"
    return f"about 1/{1 / max(ratio, 1e-9):.2g} of" if ratio < 1 / _TIMES else f"{_signed(100 * (ratio - 1))} % off"


def _signed(value: float) -> str:
    return f"{value:+.0f}".replace("-", "−")


def _coverage(study: CompassStudy) -> Iterator[Finding]:
    seen = study.coverage
    if seen is None or study.doubt or study.is_no_earth:
        return
    _, _, reasons = hard_iron(study)
    untold = [axis for axis, reason in zip("xyz", reasons, strict=True) if reason]
    if not untold:
        return
    turned, leant = np.degrees(seen.level), np.degrees(seen.raised)
    text = (
        f"Hard iron along {' and '.join(untold)} cannot be told: headings over {turned:.0f}° of 360° were seen "
        f"level, and over {leant:.0f}° leaning by 15° to 75°."
    )
    fix = "Add a slow full turn about the vertical" + (
        " with the nose raised by 30°." if seen.level >= _FULL else ", level, and another with the nose raised by 30°."
    )
    severity = "not shown" if len(untold) == len(reasons) else "advice"
    yield Finding("compass-coverage", "advice" if severity == "advice" else "not shown", text, fix)
