"""The manifest of an exported capture: the old one, with the new streams' names and what was left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import tomlkit

from benchrig.capture.form import LONGEST_NOTE
from benchrig.capture.prompts import SLOPPINESS
from benchrig.declaration.quotation import escape

COMMENT: Final = "# Exported by `benchrig export` from {}; what follows came with it.\n"
_GROUPS_OF_GROUPS: Final = ("actuators", "commands")


@dataclass(frozen=True, slots=True)
class Changes:
    """What an exported capture has otherwise than the one it was made of.

    Attributes
    ----------
    stream, pulse_stream : str
        The new names; the second empty where there is none.
    names, pulse_names : mapping of str to str
        The new name of each column that has one, in either stream.
    notes : tuple of str
    duration : float or None
        s; where rows are missing at the end, motions beyond it are left out.
    """

    stream: str
    pulse_stream: str = ""
    names: Mapping[str, str] = field(default_factory=dict)
    pulse_names: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    duration: float | None = None


def copied(text: str, source: str, changes: Changes) -> tuple[str, tuple[str, ...]]:
    """Give the text of the new manifest, and all that it notes of what was changed or left out.

    Parameters
    ----------
    text : str
        Of the old one, which was read without a fault.
    source : str
        Its file's name.
    changes : Changes
    """
    document: Any = tomlkit.parse(text)
    document["capture"]["stream"] = changes.stream
    _rename(document["columns"], {**changes.pulse_names, **changes.names})
    if changes.pulse_stream:
        document["pulses"]["stream"] = changes.pulse_stream
        _rename(document["pulses"], changes.pulse_names)
    left_out = () if changes.duration is None else _without_what_follows(document, changes.duration)
    notes = (*changes.notes, *left_out)
    _add_notes(document["capture"], notes)
    return COMMENT.format(escape(source)) + tomlkit.dumps(document), notes


def _rename(table: Any, names: Mapping[str, str]) -> None:  # noqa: ANN401 - tomlkit's own kinds of table
    """Put the new names of columns into every group of a table."""
    for key, group in table.items():
        if key in _GROUPS_OF_GROUPS:
            _rename(group, names)
        elif isinstance(group, dict) and any(name in names for name in group["names"]):
            group["names"] = [names.get(name, name) for name in group["names"]]


def _add_notes(capture: Any, notes: Sequence[str]) -> None:  # noqa: ANN401 - as above
    if notes:
        capture["notes"] = [*capture.get("notes", []), *(_shortened(note) for note in notes)]


def _shortened(note: str) -> str:
    return note if len(note) <= LONGEST_NOTE else f"{note[: LONGEST_NOTE - 1]}…"


def _without_what_follows(document: Any, duration: float) -> tuple[str, ...]:  # noqa: ANN401 - as above
    """Leave out motions that lie beyond the rows that are left, and looks at what is then no motion of the capture."""
    motions = document.get("motion", [])
    late = [m for m in motions if m["start_s"] >= duration or m["end_s"] > duration + SLOPPINESS]
    if not late:
        return ()
    kept = [m for m in motions if m not in late]
    looks = document.get("seen", [])
    there = {m["name"] for m in kept}
    for key, entries in (("motion", kept), ("seen", [look for look in looks if look["motion"] in there])):
        document.pop(key, None)
        if entries:
            document[key] = tomlkit.item([dict(entry) for entry in entries])
    named = ", ".join(f"{escape(m['name'])} at {m['start_s']:.1f} s" for m in late)
    return (f"motions after the last row, at {duration:.1f} s, left out: {named}",)
