"""`benchrig measure magnetometer`: iron, axes and surroundings of the compass."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchrig.cli.measure import place
from benchrig.cli.measure.delivery import delivered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchrig.attitude.earth_field import EarthField
    from benchrig.capture.recording import Recording
    from benchrig.measure.measurement import Measurement


@click.command()
@click.argument("airframe", type=click.Path(path_type=Path))
@click.argument("captures", metavar="CAPTURE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--latitude", type=place.latitude, metavar="DEGREES", help="Of the bench, as 52.1N or 33.9S: for the field there."
)
@click.option("--longitude", type=place.longitude, metavar="DEGREES", help="Of the bench, as 4.9E or 70.7W.")
@click.option("--height-m", type=float, default=0.0, show_default=True, help="Of the bench above the sea.")
@click.option("--date", "day", type=click.DateTime(["%Y-%m-%d"]), help="Of the recording, if its manifest has none.")
@delivered
def magnetometer(
    *,
    airframe: Path,
    captures: tuple[Path, ...],
    latitude: float | None,
    longitude: float | None,
    height_m: float,
    day: datetime | None,
) -> Measurement:
    """Measure the compass by turning the airframe by hand (each CAPTURE is a manifest, NAME.toml).

    Rest level for 3 s, turn once about the vertical, once more with the nose
    raised by 30°, and rest again; some metres away from steel, motors off.
    """
    from benchrig.cli.measure.captures import read_captures  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.compass.measure import measure_magnetometer  # noqa: PLC0415 - keeps the help light

    declared = read_airframe(airframe)
    recordings = read_captures(captures, declared)
    return measure_magnetometer(declared, recordings, _field(latitude, longitude, height_m, day, recordings))


def _field(
    latitude: float | None,
    longitude: float | None,
    height_m: float,
    day: datetime | None,
    recordings: Sequence[Recording],
) -> EarthField | None:
    """Give the earth's field at the place, or None where no place was given.

    Raises
    ------
    UsageError
        If half a place was given, or no day is known.
    """
    from benchrig.attitude.earth_field import Place, earth_field  # noqa: PLC0415 - keeps the help light
    from benchrig.errors import Problem, UsageError  # noqa: PLC0415 - keeps the help light

    if latitude is None and longitude is None:
        return None
    if latitude is None or longitude is None:
        missing = "--latitude" if latitude is None else "--longitude"
        act = "give both, as --latitude 52.1N --longitude 4.9E, or neither"
        raise UsageError(Problem(missing, "is missing beside the other one", act=act))
    known = day or next((r.recorded for r in recordings if r.recorded is not None), None)
    if known is None:
        act = "give it with --date, as --date 2026-11-25: the earth's field wanders"
        raise UsageError(Problem("--date", "the manifest does not say when it was recorded", act=act))
    when = known.astimezone(UTC) if known.tzinfo else known
    return earth_field(Place(latitude, longitude, height_m), when.date())
