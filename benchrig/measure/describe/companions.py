"""The columns of an unknown stream that are neither clock nor sensor: pulses, temperatures, counters, constants."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.describe.hints import group_by_name

PULSE: Final = (500.0, 2500.0)
"""µs: servo pulses, with room (common practice)."""

_BLANK_PULSE: Final = 0.0
TEMPERATURE: Final = (-20.0, 95.0)
"""°C: of a unit on a bench or in the sun."""

_SLOW: Final = 15.0  # °C: more than a unit warms up in a recording


def is_pulse(values: Vector) -> bool:
    """Whether a column looks like servo pulses in µs: numbers of their size, in whole steps or halves of them.

    Parameters
    ----------
    values : ndarray, shape (N,)
        NaN and zero where there was no new pulse.
    """
    there = values[np.isfinite(values) & (values != _BLANK_PULSE)]
    if not len(there) or there.min() < PULSE[0] or there.max() > PULSE[1] or np.ptp(there) == 0:
        return False
    return bool(np.all(2 * there == np.rint(2 * there)))


def is_temperature(name: str, values: Vector) -> bool:
    """Whether a column is named for a temperature and could be one; its numbers alone would suit a voltage as well."""
    there = values[np.isfinite(values)]
    if group_by_name(name) != "temperature" or not len(there):
        return False
    return bool(TEMPERATURE[0] <= there.min() and there.max() <= TEMPERATURE[1] and np.ptp(there) <= _SLOW)


def kind_of_rest(values: Vector) -> str:
    """Say what can be said of a column that nothing claims.

    Examples
    --------
    >>> kind_of_rest(np.array([3.0, 3.0, 3.0]))
    'never changes: 3'
    """
    there = values[np.isfinite(values)]
    if not len(there):
        return "blank throughout"
    if np.ptp(there) == 0:
        return f"never changes: {there[0]:g}"
    blank = 1 - len(there) / len(values)
    said = f"{there.min():.4g} to {there.max():.4g}"
    return f"{said}, blank in {100 * blank:.0f} % of the rows" if blank > 0 else said
