"""The form of a manifest: which keys there are and what kind of value each takes.

Only the form is checked here. What the words mean, and whether they agree with each other, is `manifest`'s to say.
"""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import AwareDatetime, BaseModel, ConfigDict, Discriminator, Field, Tag

WORD_TAG, COUNTS_TAG = "one of the unit words", "a table of counts"
"""How pydantic marks the two ways to write a unit in the path of an error."""

LONGEST_NOTE: Final = 400
"""Characters of what may be noted at recording."""


class _Form(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class Counts(_Form):
    """Raw counts: so many to one `lsb_per`."""

    lsb_per: str
    count: float = Field(gt=0)


def _way_of_unit(value: object) -> str:
    return COUNTS_TAG if isinstance(value, dict) else WORD_TAG


UnitForm = Annotated[
    Annotated[str, Tag(WORD_TAG)] | Annotated[Counts, Tag(COUNTS_TAG)],
    Discriminator(_way_of_unit),
]
Name = Annotated[str, Field(min_length=1)]


class OneColumn(_Form):
    """A column of its own."""

    names: list[Name] = Field(min_length=1, max_length=1)
    unit: UnitForm


class ThreeColumns(_Form):
    """The columns of a sensor's x, y and z, or of roll, pitch and yaw."""

    names: list[Name] = Field(min_length=3, max_length=3)
    unit: UnitForm


class Columns(_Form):
    """``[columns]``."""

    time: OneColumn
    gyro: ThreeColumns
    accelerometer: ThreeColumns
    magnetometer: ThreeColumns | None = None
    unit_attitude: ThreeColumns | None = None
    temperature: OneColumn | None = None
    actuators: dict[str, OneColumn] = {}
    commands: dict[str, OneColumn] = {}


class Capture(_Form):
    """``[capture]``."""

    stream: str
    recorded: AwareDatetime | None = None
    operator: str | None = None
    temperature_c: float | None = Field(default=None, ge=-90, le=90)
    routine: list[str] | None = Field(default=None, min_length=1)
    notes: list[Annotated[str, Field(max_length=LONGEST_NOTE)]] = []


class Motion(_Form):
    """``[[motion]]``."""

    name: str
    start_s: float
    end_s: float
    label: Annotated[str, Field(max_length=60)] = ""


class TakenBack(_Form):
    """``[[taken_back]]``: a motion that the operator took back while recording."""

    name: str
    start_s: float
    end_s: float


class SeenForm(_Form):
    """``[[seen]]``."""

    motion: str
    actuator: str
    moved: str


PivotForm = dict[str, Annotated[float, Field(ge=0, le=10_000)]]


class TurntableForm(_Form):
    """``[turntable]``."""

    rpm: float | None = Field(default=None, gt=0, le=1000)
    pivot_mm: PivotForm | None = None


class SwingForm(_Form):
    """``[swing]``: the fixed point that the airframe swings about."""

    pivot_mm: PivotForm


class PulsesForm(_Form):
    """``[pulses]``: a second stream, with a clock of its own."""

    stream: str
    time: OneColumn
    offset_s: float = Field(ge=-86_400, le=86_400)
    offset_uncertainty_s: float = Field(ge=0, le=0.5)
    fast_ppm: float = Field(default=0.0, ge=-20_000, le=20_000)


class ManifestForm(_Form):
    """A whole manifest."""

    capture: Capture
    columns: Columns
    motion: list[Motion] = []
    seen: list[SeenForm] = []
    taken_back: list[TakenBack] = []
    turntable: TurntableForm | None = None
    swing: SwingForm | None = None
    pulses: PulsesForm | None = None
