"""How far the compass is from what disturbs it, and what the declared current makes there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Airframe

VACUUM_PERMEABILITY: Final = 4e-7 * np.pi
"""T m/A, to 1e-9 (its value before 2019 was exact)."""

ADVISED: Final[Mapping[str, tuple[str, float]]] = {
    "magnetometer_to_tail_rotor": ("tail rotor or its servo", 0.10),
    "magnetometer_to_motor": ("main motor, ignition or power leads", 0.38),
}
"""By clearance: what is meant, and the least distance in m. Common practice; no published source was found."""


def wire_field(current: float, distance: float) -> float:
    """Give the field of one long straight wire: ``µ₀ I / (2π r)``.

    Parameters
    ----------
    current : float, A
    distance : float, m

    Returns
    -------
    float, T

    References
    ----------
    Ampère's law, any textbook of physics (from memory).

    Examples
    --------
    >>> round(wire_field(10.0, 0.10) * 1e6, 3)
    20.0
    """
    return VACUUM_PERMEABILITY * current / (2 * np.pi * distance)


def heading_error(disturbance: float, horizontal: float) -> float:
    """Give by how much a level field can turn the heading at worst, rad: half a turn where it is the larger one.

    Parameters
    ----------
    disturbance, horizontal : float, T
        The disturbance, and the earth's field along the horizon.
    """
    return float(np.arcsin(disturbance / horizontal)) if disturbance < horizontal else float(np.pi)


@dataclass(frozen=True, slots=True)
class Clearance:
    """One declared distance beside the advised one, m."""

    key: str
    meant: str
    declared: float
    advised: float

    @property
    def is_close(self) -> bool:
        """Whether it is less than common practice keeps."""
        return self.declared < self.advised


def clearances(airframe: Airframe) -> tuple[Clearance, ...]:
    """Give the clearances that were declared."""
    return tuple(
        Clearance(key, meant, airframe.clearances[key], advised)
        for key, (meant, advised) in ADVISED.items()
        if key in airframe.clearances
    )
