"""Wide and narrow pulses told apart, and whether a pulse fits in its frame. Nothing is ever scaled.

Neutral and span of wide pulses (1.5 ms, 1 to 2 ms, every 20 ms): a published article on servo control. The other
neutrals (1520 and 1400 µs; 760 µs narrow) and the two windows are common practice, without a published source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from benchrig.declaration.actuators import Actuator

Kind = Literal["wide", "narrow"]

WINDOWS: Final[Mapping[Kind, tuple[float, float]]] = {"wide": (800e-6, 2200e-6), "narrow": (400e-6, 1100e-6)}
"""s: where pulses of each kind lie."""

CENTRES: Final[Mapping[Kind, tuple[float, float]]] = {"wide": (1200e-6, 1800e-6), "narrow": (600e-6, 920e-6)}
"""s: where the centre of each kind lies. Between the two, it could be either."""

SHORTEST_OF_ANY: Final = 400e-6
LONGEST_OF_ANY: Final = 2500e-6
"""s: a servo that rests outside these would stand at its stop, whatever kind it is (common practice, no published
source)."""

DEGREE: Final = 10e-6
"""s of pulse to a degree of a wide servo's arm, about (common practice, no published source)."""

ANALOGUE_PERIOD: Final = 0.015
"""s: the shortest frame that analogue servos are made for, about (common practice, no published source)."""


_ROUNDING: Final = 0.5e-6  # s: of a counter of whole microseconds


def kind_by_centre(centre: float) -> Kind | None:
    """Tell the kind of pulses by where the channel stands at rest; None where it could be either, or neither.

    Parameters
    ----------
    centre : float, s

    Examples
    --------
    >>> kind_by_centre(1520e-6), kind_by_centre(760e-6), kind_by_centre(1050e-6)
    ('wide', 'narrow', None)
    """
    fitting: list[Kind] = [kind for kind, (low, high) in CENTRES.items() if low <= centre <= high]
    return fitting[0] if fitting else None


def kind_of(actuator: Actuator) -> Kind | None:
    """Tell the declared kind: by its centre, or by its two ends where no centre is declared."""
    if actuator.centre is not None:
        return kind_by_centre(actuator.centre)
    if actuator.lowest is not None and actuator.highest is not None:
        return kind_by_centre(0.5 * (actuator.lowest + actuator.highest))
    return None


def lies_within(kind: Kind, lowest: float, highest: float) -> bool:
    """Tell whether a travel lies in the window of a kind.

    Examples
    --------
    >>> lies_within("wide", 920e-6, 2120e-6), lies_within("narrow", 460e-6, 1160e-6)
    (True, False)
    """
    low, high = WINDOWS[kind]
    return low - _ROUNDING <= lowest and highest <= high + _ROUNDING


def fits_frame(longest: float, period: float) -> bool:
    """Tell whether a pulse ends before the next one begins.

    Parameters
    ----------
    longest, period : float, s

    Examples
    --------
    >>> fits_frame(1520e-6 + 600e-6, 1 / 560), fits_frame(760e-6 + 300e-6, 1 / 560)
    (False, True)
    """
    return longest < period
