"""What counts as a number in a text stream: the same rule for the quick reader and the exact one."""

from __future__ import annotations

import re

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?|[+-]?(?:nan|inf|infinity)", re.ASCII | re.IGNORECASE)


def is_number(field: str, decimal: str = ".") -> bool:
    """Say whether a field is written as a number, with `decimal` as its decimal sign."""
    if decimal != "." and "." in field:
        return False
    return _NUMBER.fullmatch(field.replace(decimal, ".")) is not None


def number(field: str, decimal: str = ".") -> float:
    """Read a field as a number; a blank one is NaN.

    Raises
    ------
    ValueError
        If it is anything else, such as ``0x10``, ``1_000`` or ``n/a``, which `float` and loggers may know.

    Examples
    --------
    >>> number("-1,5", ",")
    -1.5
    """
    if not field:
        return float("nan")
    if not is_number(field, decimal):
        message = f"not a number: {field!r}"
        raise ValueError(message)
    return float(field.replace(decimal, "."))
