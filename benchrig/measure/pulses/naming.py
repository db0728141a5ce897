"""How actuators are called at the beginning of a sentence: a name out of a file keeps its own letters."""

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
