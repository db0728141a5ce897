"""Numbers as people read them: no more digits than the uncertainty deserves, and odds in words."""

from __future__ import annotations

from math import floor, isfinite, log10
from typing import Final

NOT_TOLD: Final = "not told"
"""What stands where the motions cannot tell a number."""

_CLOSE_UNITS: Final = {"deg": "°", "%": " %"}
_UNIT_WORDS: Final = {"m/s2": "m/s²", "1": ""}
_UNIT_BEGINNINGS: Final = {"deg/": "°/", "us": "µs", "uT": "µT", "ug": "µg"}
_MOST_CERTAIN: Final = 1e12
"""Odds beyond this say more about the model than about the bench, so they are not printed."""


def minus(text: str) -> str:
    """Write the sign of a number or of axes as a minus, not as a hyphen.

    Examples
    --------
    >>> minus("-fx")
    '−fx'
    >>> minus("+mx -my")
    '+mx −my'
    """
    return " ".join(f"−{word[1:]}" if word.startswith("-") else word for word in text.split(" "))


def _place(size: float, digits: int) -> int:
    """Give the decimal place, for `round`, that keeps `digits` significant digits of `size`."""
    return digits - 1 - floor(log10(size))


def _fixed(value: float, place: int) -> str:
    rounded = round(value, place)
    return minus(f"{rounded + 0.0:.{max(0, place)}f}")


def _unit(unit: str) -> str:
    if unit in _CLOSE_UNITS:
        return _CLOSE_UNITS[unit]
    word = _UNIT_WORDS.get(unit, unit)
    for plain, proper in _UNIT_BEGINNINGS.items():
        if word.startswith(plain):
            word = proper + word.removeprefix(plain)
    return f" {word}" if word else ""


def number(value: float | None, unit: str = "", digits: int = 3) -> str:
    """Write a number that has no stated uncertainty, to a few significant digits.

    Examples
    --------
    >>> number(-0.0123456, "g")
    '−0.0123 g'
    >>> number(None)
    'not told'
    """
    if value is None or not isfinite(value):
        return NOT_TOLD
    if value == 0:
        return f"0{_unit(unit)}"
    place = _place(abs(value), digits)
    text = _fixed(value, place)
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text}{_unit(unit)}"


def measured(value: float | None, uncertainty: float | None, unit: str = "") -> str:
    """Write a value with its uncertainty, both to the last digit that the uncertainty leaves standing.

    The uncertainty keeps one significant digit, or two if the first is a 1 (common practice in metrology).

    Parameters
    ----------
    value : float or None
        None, or a value that is not finite, is 'not told'.
    uncertainty : float or None
        One standard deviation, in the same unit.
    unit : str

    Examples
    --------
    >>> measured(24.137, 0.42, "deg")
    '24.1 ± 0.4°'
    >>> measured(-178.21, 12.3, "mm")
    '−178 ± 12 mm'
    """
    if value is None or not isfinite(value):
        return NOT_TOLD
    if uncertainty is None or not isfinite(uncertainty) or uncertainty <= 0:
        return number(value, unit)
    digits = 2 if f"{uncertainty:.1e}"[0] == "1" else 1
    place = _place(uncertainty, digits)
    return f"{_fixed(value, place)} ± {_fixed(uncertainty, place)}{_unit(unit)}"


def odds(bound: float) -> str:
    """Put a bound on a probability in words, rounded towards the less certain side.

    Examples
    --------
    >>> odds(3.1e-8)
    '1 in 30 million'
    >>> odds(0.01)
    '1 in 100'
    """
    count = _MOST_CERTAIN if bound * _MOST_CERTAIN <= 1 else 1 / bound
    step = 10.0 ** floor(log10(count) + 1e-9)
    whole = round(floor(count / step + 1e-9) * step)
    for size, word in ((10**9, "billion"), (10**6, "million")):
        if whole >= size:
            return f"1 in {whole // size} {word}"
    return f"1 in {whole:,}".replace(",", "\N{NO-BREAK SPACE}")
