"""The form of a device file: which keys there are and what kind of value each takes.

Only the form is checked here; what the words mean, and whether they agree, is `device_file`'s to say.
"""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, Field

from benchrig.capture.form import Name, OneColumn, ThreeColumns

USUAL_BAUD: Final = 115_200


class _Form(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class DeviceTable(_Form):
    """``[device]``."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    baud: int = Field(default=USUAL_BAUD, ge=300, le=12_000_000)
    sends: str
    start: Annotated[str, Field(max_length=1000)] = ""


class LinesTable(_Form):
    """``[lines]``."""

    separator: str | None = None
    order: list[str] | None = Field(default=None, min_length=1, max_length=500)
    comment: Annotated[str, Field(min_length=1, max_length=10)] = "#"
    decimal: str = "."
    check: str = "none"


class FieldTable(_Form):
    """An entry of ``fields``: a value with its name and type, or bytes to skip."""

    name: Name | None = None
    type: str | None = None
    skip: int | None = Field(default=None, ge=1, le=1000)


class FramesTable(_Form):
    """``[frames]``."""

    marked_by: str
    sync: str | None = None
    byte_order: str
    check: str
    check_covers_sync: bool = False
    fields: list[FieldTable] = Field(min_length=1, max_length=500)


class CounterTable(_Form):
    """``[counter]``."""

    name: Name
    bits: int | None = Field(default=None, ge=2, le=64)


class DeviceColumns(_Form):
    """``[columns]``, as in a manifest; but the time may be left out, and all sensors where only pulses are sent."""

    time: OneColumn | None = None
    gyro: ThreeColumns | None = None
    accelerometer: ThreeColumns | None = None
    magnetometer: ThreeColumns | None = None
    unit_attitude: ThreeColumns | None = None
    temperature: OneColumn | None = None
    actuators: dict[str, OneColumn] = {}
    commands: dict[str, OneColumn] = {}


class DeviceForm(_Form):
    """A whole device file."""

    device: DeviceTable
    lines: LinesTable | None = None
    frames: FramesTable | None = None
    counter: CounterTable | None = None
    columns: DeviceColumns
