"""What stands in a manifest before the first motion: who records what, with which columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from benchrig.capture.columns import Meaning
from benchrig.capture.manifest import Manifest


@dataclass(frozen=True, slots=True, eq=False)
class Occasion:
    """What is known of a recording before it begins.

    Attributes
    ----------
    columns : mapping
        ``[columns]`` as it stands in a device file or a manifest.
    source : str
        Where the samples come from, in words, for the store.
    recorded : datetime or None
        With its offset; None for now.
    operator : str
    temperature_c : float or None
    notes : tuple of str
        Worth repeating in every report.
    tables : mapping
        Whole tables of a manifest that is played again: ``turntable``, ``swing``.
    """

    columns: Mapping[str, Any]
    source: str = ""
    recorded: datetime | None = None
    operator: str = ""
    temperature_c: float | None = None
    notes: tuple[str, ...] = ()
    tables: Mapping[str, Any] = field(default_factory=dict)

    @property
    def when(self) -> datetime:
        """When it is recorded, to the second."""
        return self.recorded or datetime.now(UTC).replace(microsecond=0)


def occasion_of(meaning: Meaning, source: str, operator: str = "", temperature_c: float | None = None) -> Occasion:
    """Give the occasion of a recording from a port.

    Parameters
    ----------
    meaning : Meaning
        Of the device file.
    source : str
        Port and device, in words.
    operator : str
    temperature_c : float or None
    """
    return Occasion(meaning.document, source, operator=operator, temperature_c=temperature_c)


def occasion_again(described: Manifest, notes: tuple[str, ...] = ()) -> Occasion:
    """Give the occasion of a stored capture that is played again: its own, with where it came from.

    Parameters
    ----------
    described : Manifest
    notes : tuple of str
        What the source left out or converted on the way in.
    """
    said = described.file.data
    earlier = tuple(said["capture"].get("notes", ()))
    name = described.file.path.name
    return Occasion(
        columns=said["columns"],
        source=f"{name}, played again",
        recorded=described.recorded,
        operator=described.operator or "",
        temperature_c=described.temperature,
        notes=(f"played again from {name}", *earlier, *notes),
        tables={key: said[key] for key in ("turntable", "swing") if key in said},
    )
