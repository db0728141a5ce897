"""How far each figure may move from one bench to the next, and how well two benches can be told apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from benchrig.keeping.figures import Kind

SURE: Final = 3.0
"""Standard deviations beyond which a figure has moved. A bench has some thirty figures: at the usual two, one of them
would seem to move in most comparisons of one unit with itself; at three, in about one of twelve (normal numbers)."""

DEFAULT_TOLERANCE: Final = 10.0
"""mm of the unit's place, where the airframe file declares no tolerance (common practice, no published source)."""

Measure = Literal["difference", "ratio", "share"]


@dataclass(frozen=True, slots=True)
class Allowance:
    """What one kind of figure may do between two benches of one airframe.

    Attributes
    ----------
    limit : float
        Beyond it, a figure that has surely moved matters.
    measure : {"difference", "ratio", "share"}
        Whether `limit` is in the figure's own unit, the larger over the smaller, or a share of the largest figure of
        the same actuator and kind at both benches.
    repeat : float
        Standard deviation that one bench of the same, unchanged unit adds to what it states of itself; in the measure
        of `limit`.
    replaces : bool
        Whether `repeat` stands in place of the stated uncertainty, most of which both benches share.
    why, act : str
        What a move beyond the limit means, and what to do.
    """

    limit: float
    measure: Measure
    repeat: float
    why: str
    act: str
    replaces: bool = False


_GYRO: Final = "Let the unit warm up as it did the first time, on a table that does not shake, and run the bench again"
_AGAIN: Final = "Run the bench again"

ALLOWANCES: Final[Mapping[Kind, Allowance]] = {
    "gyro bias": Allowance(
        5.0,
        "difference",
        0.0,
        "a unit's bias moves by some °/s with warmth and from one start to the next; more speaks of a knock, a failing "
        "sensor, or another unit",
        f"{_GYRO}; if it stays, measure the unit (benchrig measure sensor) or replace it",
    ),
    "gyro scale": Allowance(
        0.05,
        "difference",
        0.011,
        "a unit's scale does not move by itself: another range, another unit, or a failing sensor",
        "Compare the unit's range setting and its serial number with the first bench, then run the bench again",
    ),
    "gyro noise": Allowance(
        2.0,
        "ratio",
        0.0,
        "another filter setting, a loose mount, or a table that shook",
        f"Look at the mount and the unit's filter setting. {_AGAIN} on a table that does not shake",
    ),
    "accelerometer size": Allowance(
        0.04,
        "difference",
        0.0,
        "a scale or a bias moved: a hard knock, another range, or another unit",
        "Measure the unit in six poses (benchrig measure sensor); replace it if it has moved there too",
    ),
    "accelerometer delay": Allowance(
        20.0,
        "difference",
        4.0,
        "another filter setting, or another way of the readings to the stream",
        f"Compare the unit's filter settings and its program's version with the first bench. {_AGAIN}",
    ),
    "sample rate": Allowance(
        0.05,
        "share",
        0.001,
        "another setting or another logger: delays and noise are not like for like",
        "Set the rate as it was the first time, and run the bench again",
    ),
    "lean": Allowance(
        5.0,
        "difference",
        1.0,
        "the unit, its mount or the level it is trimmed to has moved",
        f"Look at the mount, and at the level of the table that both benches were made on. {_AGAIN}",
        replaces=True,
    ),
    "heading": Allowance(
        10.0,
        "difference",
        6.0,
        "the unit has turned on its mount: roll leaks into pitch",
        f"Lay a straight edge along the unit and the airframe's long axis. {_AGAIN}",
    ),
    "place": Allowance(
        DEFAULT_TOLERANCE,
        "difference",
        0.0,
        "the unit or the centre of gravity has moved",
        "Measure both places again (benchrig measure cg, benchrig measure lever), and correct position_mm",
    ),
    "latency": Allowance(
        20.0,
        "difference",
        3.0,
        "it answers later or sooner by more than one frame of 50 pulses a second: another filter, frame rate or "
        "program in the unit",
        f"Compare the unit's settings and its program's version with the first bench. {_AGAIN}",
    ),
    "response": Allowance(
        0.25,
        "share",
        0.02,
        "the unit answers the same turn with another pulse: gains or settings were changed, or it no longer answers",
        f"Compare the unit's settings with the first bench. If nobody meant to change them, set them back. {_AGAIN}",
    ),
}
"""The limits are common practice without a published source: about half of what the verdict itself allows.
What a bench adds to its stated uncertainty (`repeat`) is from simulation: 2 units each of a helicopter, an aeroplane
and a multirotor, ten benches a unit at 100 Hz and at 250 Hz; real hands may differ."""


def allowance_of(kind: Kind, tolerance_mm: float | None = None) -> Allowance | None:
    """Give what a kind may do; None for what only explains the others, as the temperature does.

    Parameters
    ----------
    kind : str
    tolerance_mm : float, optional
        Declared for the unit's place.
    """
    allowed = ALLOWANCES.get(kind)
    if allowed is None or kind != "place" or tolerance_mm is None:
        return allowed
    return Allowance(tolerance_mm, allowed.measure, allowed.repeat, allowed.why, allowed.act)


def declared_tolerance(declaration: Mapping[str, Any] | None) -> float | None:
    """Give the tolerance of the unit's place that was declared, mm; None where none was, or nothing is known."""
    sensor = (declaration or {}).get("sensor")
    tolerance: Any = sensor.get("position_tolerance_mm") if isinstance(sensor, Mapping) else None
    return float(tolerance) if isinstance(tolerance, int | float) else None
