"""Deciding with uncertainty: how likely a true value lies within its limits, given what was measured."""

from __future__ import annotations

from math import erfc, inf, isfinite, isnan, sqrt


def tail_probability(z: float) -> float:
    """Give the probability that a standard normal variable exceeds `z`.

    Examples
    --------
    >>> round(tail_probability(2.0), 7)
    0.0227501
    """
    return 0.5 * erfc(z / sqrt(2.0))


def conformance_probability(value: float, uncertainty: float, lower: float | None, upper: float | None) -> float:
    """Give the probability that the true value lies within its limits.

    The measurement's error is taken as normal, and the measurement as all that is known.

    Parameters
    ----------
    value : float
        As measured.
    uncertainty : float
        One standard deviation, in the same unit, above zero.
    lower, upper : float or None
        The limits; None where there is none on that side.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    ValueError
        If the value is not finite, the uncertainty is not above zero, no limit is given, or the limits are crossed.

    References
    ----------
    JCGM 106:2012, 7.2 to 7.4 (the numbers of the clauses are from memory).

    Examples
    --------
    >>> round(conformance_probability(13.6, 1.8, 12.5, 16.3), 4)
    0.6626
    """
    least, most = -inf if lower is None else lower, inf if upper is None else upper
    if not isfinite(value):
        message = f"a conformance needs a measured value, not {value}"
        raise ValueError(message)
    if not (isfinite(uncertainty) and uncertainty > 0):
        message = f"a conformance needs an uncertainty above zero, not {uncertainty}"
        raise ValueError(message)
    if (lower is None and upper is None) or isnan(least) or isnan(most) or least > most:
        message = f"a conformance needs a limit on one side at least, in order, not {lower} and {upper}"
        raise ValueError(message)
    # counted from the nearer limit, a value far outside keeps the digits of its small probability
    if most - value < value - least:
        return tail_probability((value - most) / uncertainty) - tail_probability((value - least) / uncertainty)
    return tail_probability((least - value) / uncertainty) - tail_probability((most - value) / uncertainty)
