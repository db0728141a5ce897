"""Words for actuators and counts: a name out of a file keeps its own letters, even where a sentence begins."""

from __future__ import annotations

from collections.abc import Iterable


def called(names: Iterable[str]) -> str:
    """Call actuators by their names, to begin a sentence with.

    Examples
    --------
    >>> called(["right rear"]), called(["front", "tail"])
    ('Actuator right rear', 'Actuators front, tail')
    """
    listed = list(names)
    return f"Actuator{'' if len(listed) == 1 else 's'} {', '.join(listed)}"


def times(count: int) -> str:
    """Say how often.

    Examples
    --------
    >>> times(1), times(2), times(3)
    ('once', 'twice', '3 times')
    """
    return {1: "once", 2: "twice"}.get(count, f"{count} times")
