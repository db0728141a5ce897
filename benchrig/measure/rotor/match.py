"""Which vibration lines the turning parts explain, at which speed, and how easily chance would do the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Rotor
from benchrig.measure.noise.aliases import origins, seen_at
from benchrig.measure.noise.vibration import Line

SPEED_MARGIN: Final = 0.10
"""Of the declared speed: how far from it the rotor may really turn (common practice, without a published source)."""

LARGEST_CHANCE: Final = 0.01
"""A speed is taken from the lines only if lines of chance would fit as well less often than this."""

DEVIATIONS: Final = 3.0
"""A line fits a source within this many standard deviations."""

_FEWEST_LINES: Final = 2


@dataclass(frozen=True, slots=True)
class Source:
    """Something that shakes `multiple` times in each turn of the main rotor."""

    name: str
    multiple: float


@dataclass(frozen=True, slots=True)
class Match:
    """A line, the source that explains it, the source's true frequency, Hz, and how often sampling folded it."""

    line: Line
    source: Source
    frequency: float
    folds: int


@dataclass(frozen=True, slots=True)
class Speed:
    """The main rotor's speed that explains most lines.

    Attributes
    ----------
    frequency, uncertainty : float, Hz
        Of the main rotor, once a turn.
    matches : tuple of Match
        From the lowest line.
    chance : float
        An upper bound of how often lines of no meaning would be explained as well.
    """

    frequency: float
    uncertainty: float
    matches: tuple[Match, ...]
    chance: float

    @property
    def is_sure(self) -> bool:
        """Whether chance would hardly do the same."""
        return len(self.matches) >= _FEWEST_LINES and self.chance < LARGEST_CHANCE


def sources_of(rotor: Rotor) -> tuple[Source, ...]:
    """List what shakes, by how often it does so in each turn of the main rotor; the motor needs the gears."""
    found = [Source("once a turn of the main rotor", 1.0), Source("twice a turn of the main rotor", 2.0)]
    if rotor.blades is not None and rotor.blades > 2:  # noqa: PLR2004 - one and two are there already
        found.append(Source(f"{rotor.blades} blades in a turn of the main rotor", float(rotor.blades)))
    if rotor.gear_ratio is not None and rotor.gear_ratio not in {source.multiple for source in found}:
        found.append(Source("once a turn of the motor", rotor.gear_ratio))
    return tuple(found)


def could_be(line: Line, sources: Sequence[Source], declared: float, rate: float) -> tuple[Match, ...]:
    """List the sources that could stand behind a line at some speed within `SPEED_MARGIN` of the declared one.

    Parameters
    ----------
    line : Line
    sources : sequence of Source
    declared : float, Hz
        Of the main rotor.
    rate : float, Hz
        Samples a second.
    """
    found: list[Match] = []
    for source in sources:
        lowest, highest = (source.multiple * declared * (1 + side * SPEED_MARGIN) for side in (-1, 1))
        known = origins(line.frequency, line.uncertainty, rate, highest)
        found += [Match(line, source, origin.frequency, origin.folds) for origin in known if origin.frequency >= lowest]
    return tuple(found)


def find_speed(
    lines: Sequence[Line], sources: Sequence[Source], declared: float, rate: float, lowest: float = 0.0
) -> Speed | None:
    """Find the speed, within `SPEED_MARGIN` of the declared one, at which the sources explain most lines.

    Parameters
    ----------
    lines : sequence of Line
    sources : sequence of Source
    declared : float, Hz
        Of the main rotor.
    rate : float, Hz
        Samples a second.
    lowest : float, Hz
        Below this no line was looked for.

    Returns
    -------
    Speed or None
        None where no line could be one of the sources.
    """
    seeds = [match for line in lines for match in could_be(line, sources, declared, rate)]
    tried = [_explained(seed, lines, sources, rate) for seed in seeds]
    if not tried:
        return None
    best = max(tried, key=lambda matches: (len(matches), -_misfit(matches)))
    frequency, uncertainty = _speed(best)
    chance = sum(_by_chance(seed, lines, sources, rate / 2 - lowest, len(best) - 1) for seed in seeds)
    ordered = tuple(sorted(best, key=lambda match: match.line.frequency))
    return Speed(frequency, uncertainty, ordered, min(chance, 1.0))


def _by_chance(seed: Match, lines: Sequence[Line], sources: Sequence[Source], band: float, more: int) -> float:
    """Bound how often lines of chance, anywhere in a band, Hz, meet so many sources beside the seed's own.

    The sums of products of the chances of single sources are largest where all are alike (Maclaurin's inequality).
    """
    spans = [2 * DEVIATIONS * _doubt(line, source, seed) for line in lines for source in sources]
    hit = sum(spans) / len(sources) / band
    return float(comb(len(sources) - 1, more) * hit**more)


def _explained(seed: Match, lines: Sequence[Line], sources: Sequence[Source], rate: float) -> list[Match]:
    """Take the speed from one line, and see which sources then meet which lines; each line serves once."""
    matches = [seed]
    for source in sources:
        frequency = seed.frequency / seed.source.multiple * source.multiple
        folds = round(frequency / rate)
        free = [line for line in lines if all(line is not match.line for match in matches)]
        if source == seed.source or not free:
            continue
        near = min(free, key=lambda line: abs(line.frequency - seen_at(frequency, rate)))
        off = near.frequency - seen_at(frequency, rate)
        if abs(off) <= DEVIATIONS * _doubt(near, source, seed):
            side = 1.0 if frequency >= folds * rate else -1.0
            matches.append(Match(near, source, folds * rate + side * near.frequency, folds))
    return matches


def _doubt(line: Line, source: Source, seed: Match) -> float:
    """Give one standard deviation of a line against where a source is expected by the seed's speed, Hz."""
    return float(np.hypot(line.uncertainty, seed.line.uncertainty * source.multiple / seed.source.multiple))


def _speed(matches: Sequence[Match]) -> tuple[float, float]:
    """Join what the lines say of the speed. Lines of one rotor wander together: none is surer than the least sure."""
    speeds = [match.frequency / match.source.multiple for match in matches]
    return float(np.mean(speeds)), max(match.line.uncertainty / match.source.multiple for match in matches)


def _misfit(matches: Sequence[Match]) -> float:
    frequency, _ = _speed(matches)
    return sum(((m.frequency - frequency * m.source.multiple) / m.line.uncertainty) ** 2 for m in matches)
