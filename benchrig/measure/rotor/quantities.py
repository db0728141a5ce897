"""The numbers of rotor frequencies and vibration lines, for a reader."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.measurement import Quantity
from benchrig.measure.noise.aliases import seen_at
from benchrig.measure.noise.spectrum import SHORTEST, Spectrum
from benchrig.measure.noise.vibration import CHANNELS, FALSE_ALARM, LEAST_RISE, Line
from benchrig.measure.rotor.match import LARGEST_CHANCE, SPEED_MARGIN
from benchrig.measure.rotor.run import HANDLED, LOWEST, Run, Turning

MOST_LINES: Final = 12
"""The strongest lines are listed; more than that is a rattle."""

_DEGREE: Final = 180 / np.pi
_MILLI_G: Final = 1e3 / STANDARD_GRAVITY
_GYROS: Final = 3


def shown_in(channel: int) -> tuple[str, float]:
    """Give the unit in which a channel's amplitudes are shown, and the factor from SI."""
    return ("°/s", _DEGREE) if channel < _GYROS else ("mg", _MILLI_G)


def declared_quantities(turning: Turning) -> list[Quantity]:
    """Give the frequencies that follow from the declaration; none of them is measured.

    Parameters
    ----------
    turning : Turning
        With a declared speed.
    """
    turn = turning.declared or float("nan")
    reason = "worked out from the declared motor speed and gears, and no surer than they are"
    found = [Quantity("main rotor speed, declared", 60 * turn, None, "rpm", reason)]
    return found + [Quantity(s.name, s.multiple * turn, None, "Hz", reason) for s in turning.sources]


def recorded_quantities(run: Run, *, has_gears: bool) -> list[Quantity]:
    """Give what a recording shows: the speed, if there are gears, what was large enough to be seen, and the lines."""
    if run.spectrum is None:
        return [Quantity("vibration lines", None, None, "", why_nothing(run))]
    return [*_folded(run), *(_speed(run) if has_gears else ()), *_least(run.spectrum), *_lines(run)]


def why_nothing(run: Run) -> str:
    """Say why a recording has no spectrum."""
    if run.moved > HANDLED:
        return f"a hand turns the airframe in {run.moved:.0%} of the recording; bind it to the bench"
    if run.clipped > 0:
        return f"{run.clipped:.0%} of the samples stand at the end of a range, and what is left is too short"
    return f"it takes {SHORTEST:g} s without a gap, at more than {3 * LOWEST:g} samples a second"


def strongest(lines: tuple[Line, ...]) -> tuple[Line, ...]:
    """Give the lines to be listed, from the lowest: those that stand out most."""
    ranked = sorted(lines, key=lambda line: -max(peak.rise for peak in line.peaks))
    return tuple(sorted(ranked[:MOST_LINES], key=lambda line: line.frequency))


def _folded(run: Run) -> Iterator[Quantity]:
    for source in run.turning.sources if run.turning.declared is not None else ():
        frequency = source.multiple * (run.turning.declared or 0.0)
        seen = seen_at(frequency, run.rate)
        if abs(seen - frequency) > 1e-9 * frequency:
            reason = f"{frequency:.4g} Hz is more than half of {run.rate:.4g} samples a second, and folds"
            yield Quantity(f"{source.name}, as seen here", round(seen, 2), None, "Hz", reason)


def _speed(run: Run) -> Iterator[Quantity]:
    name, speed = "main rotor speed, from the lines", run.speed
    if run.turning.declared is None:
        reason = "the motor's speed and gears are not declared"
        yield Quantity(name, None, None, "rpm", reason)
    elif speed is None:
        reason = f"no line could be the rotor's or the motor's within {SPEED_MARGIN:.0%} of the declared speed"
        yield Quantity(name, None, None, "rpm", reason)
    elif not speed.is_sure:
        reason = (
            f"at best {len(speed.matches)} of {len(run.lines)} lines fit one speed; lines of chance would do as "
            f"well in {speed.chance:.0%} of all cases, where less than {LARGEST_CHANCE:.0%} is wanted"
        )
        yield Quantity(name, None, None, "rpm", reason)
    else:
        reason = f"{len(speed.matches)} lines fit; lines of chance would hardly do as well (below {LARGEST_CHANCE:.0%})"
        yield Quantity(name, 60 * speed.frequency, 60 * speed.uncertainty, "rpm", reason)


def _least(spectrum: Spectrum) -> Iterator[Quantity]:
    rise = max(spectrum.threshold(FALSE_ALARM), LEAST_RISE)
    floors = np.median(spectrum.floor, axis=1)
    reason = "of a steady vibration, in the noisiest channel; half of peak to peak"
    for name, first in (("gyro", 0), ("accelerometer", _GYROS)):
        unit, factor = shown_in(first)
        size = float(np.sqrt(2 * rise * floors[first : first + _GYROS].max() * spectrum.width))
        yield Quantity(f"smallest line that shows, {name}", size * factor, None, unit, reason)


def _lines(run: Run) -> Iterator[Quantity]:
    known = {} if run.speed is None or not run.speed.is_sure else {id(m.line): m for m in run.speed.matches}
    for line in strongest(run.lines):
        match = known.get(id(line))
        what = "as the samples show it" if match is None else f"{match.source.name}, {match.frequency:.2f} Hz in truth"
        name = f"line at {line.frequency:.1f} Hz"
        yield Quantity(name, line.frequency, line.uncertainty, "Hz", what)
        for group in (range(_GYROS), range(_GYROS, len(CHANNELS))):
            peaks = [peak for peak in line.peaks if peak.channel in group]
            if peaks:
                top = max(peaks, key=lambda peak: peak.amplitude)
                unit, factor = shown_in(top.channel)
                reason = "half of peak to peak, in the channel that shows most"
                size, doubt = top.amplitude * factor, top.amplitude_uncertainty * factor
                yield Quantity(f"{name}, {CHANNELS[top.channel]}", size, doubt, unit, reason)
