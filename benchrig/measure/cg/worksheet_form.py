"""The tables of a worksheet as they are written: keys, kinds of value, listed words and ranges."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Final, Literal

from pydantic import Field

from benchrig.declaration.airframe_tables import PositionTable, Table

RANGES: Final[Mapping[str, tuple[float, float]]] = {
    "grams": (0.1, 200_000.0),
    "empty_grams": (0.0, 20_000.0),
    "mass_g": (1.0, 200_000.0),
    "nose_deg": (0.0, 180.0),
    "across_deg": (0.0, 90.0),
    "distance_mm": (0.1, 100.0),
    "angle_deg": (0.05, 10.0),
    "scale_g": (0.01, 1000.0),
}
"""Least and greatest value of each number, in the unit of its key: they catch a slip of the unit or of a digit."""

USUAL: Final[Mapping[str, float]] = {"distance_mm": 2.0, "angle_deg": 1.0, "scale_g": 2.0}
"""What the readings lie within where the worksheet does not say: a ruler, an angle gauge, a kitchen scale (common
practice, no published source)."""


def _within(name: str) -> Any:  # noqa: ANN401 - pydantic's own type for a field
    low, high = RANGES[name]
    return Field(ge=low, le=high)


class WorksheetTable(Table):
    """``[worksheet]``."""

    operator: str | None = None
    mass_g: Annotated[float | None, _within("mass_g")] = None


class ReferenceTable(Table):
    """``[reference]``."""

    point: str


class AccuracyTable(Table):
    """``[accuracy]``: readings lie within this, 19 times in 20."""

    distance_mm: Annotated[float | None, _within("distance_mm")] = None
    angle_deg: Annotated[float | None, _within("angle_deg")] = None
    scale_g: Annotated[float | None, _within("scale_g")] = None


class SpotTable(Table):
    """What every place has: distances, and the point they start from."""

    measured_from: str | None = None


class PointTable(SpotTable):
    """``[[point]]``."""

    name: str
    at_mm: PositionTable


class StandTable(Table):
    """How an airframe hung or stood, by hand."""

    name: str
    angles_by: Literal["pictures", "inclinometer"] | None = None
    nose_down_deg: Annotated[float | None, _within("nose_deg")] = None
    nose_up_deg: Annotated[float | None, _within("nose_deg")] = None
    right_down_deg: Annotated[float | None, _within("across_deg")] = None
    left_down_deg: Annotated[float | None, _within("across_deg")] = None
    way_up: Literal["upright", "upside down"] | None = None


class HangTable(StandTable):
    """``[[hang]]``."""

    point_mm: PositionTable
    plumb_mark_mm: PositionTable | None = None
    capture: str | None = None
    label: str | None = None
    measured_from: str | None = None


class WeighingTable(StandTable):
    """``[[weighing]]``; its supports are read each by itself."""

    support: list[Any] = Field(default_factory=list)


class SupportTable(SpotTable):
    """``[[weighing.support]]``."""

    at_mm: PositionTable
    grams: Annotated[float, _within("grams")]
    empty_grams: Annotated[float, _within("empty_grams")] = 0.0


class PlaceTable(SpotTable):
    """``[[place]]``."""

    name: str
    at_mm: PositionTable


TABLES: Final[Mapping[str, type[Table]]] = {
    "worksheet": WorksheetTable,
    "reference": ReferenceTable,
    "accuracy": AccuracyTable,
}
LISTS: Final[Mapping[str, type[Table]]] = {
    "point": PointTable,
    "hang": HangTable,
    "weighing": WeighingTable,
    "place": PlaceTable,
}
"""The tables that can stand there several times."""
