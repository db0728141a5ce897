"""A good airframe file of each kind, and a way to read a changed one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_file import read_airframe
from benchrig.errors import AirframeFileError

HELICOPTER = """\
[airframe]
name = "Dunlin 450"
kind = "helicopter"

[sensor]
axes = { x = "aft", y = "left", z = "down" }
position_mm = { aft = 180, up = 25 }
position_tolerance_mm = 5
accelerometer_reads = "specific force"
gyro_range_deg_s = 2000
accelerometer_range_g = 16

[magnetometer]
axes = { x = "forward", y = "right", z = "down" }
position_mm = { aft = 620, up = 40 }

[clearances_mm]
magnetometer_to_tail_rotor = 240
magnetometer_to_motor = 520

[rotor]
turns = "clockwise"
plate_lead_deg = 0

[[actuator]]
name = "front"
drives = "swashplate"
azimuth_deg = 0
longer_pulse = "plate up"
centre_us = 1520

[[actuator]]
name = "tail"
drives = "tail rotor"
longer_pulse = "nose left"
centre_us = 760
"""

AEROPLANE = """\
[airframe]
name = "Wheatear"
kind = "aeroplane"
[sensor]
axes = { x = "forward", y = "right" }
"""

MULTIROTOR = """\
[airframe]
name = "Plover"
kind = "multirotor"
[sensor]
axes = { x = "forward", z = "up" }
"""

OTHER = AEROPLANE.replace("aeroplane", "other")


@pytest.fixture
def declare(tmp_path) -> Callable[[str], Airframe]:
    """Read a text as an airframe file called dunlin.toml."""
    path = tmp_path / "dunlin.toml"

    def read(text: str | bytes) -> Airframe:
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_airframe(path)

    return read


@pytest.fixture
def refusal(declare) -> Callable[[str], str]:
    """Give the whole message with which a text is refused."""

    def refuse(text: str | bytes) -> str:
        with pytest.raises(AirframeFileError) as caught:
            declare(text)
        assert all(problem.place.startswith("dunlin.toml") for problem in caught.value.problems)
        return str(caught.value)

    return refuse


@pytest.fixture
def missing_file(tmp_path) -> Path:
    """Name a file that is not there."""
    return tmp_path / "dunlin.toml"


@pytest.fixture
def helicopter() -> str:
    """Give the text of the helicopter's file."""
    return HELICOPTER


@pytest.fixture
def aeroplane() -> str:
    """Give the text of an aeroplane's file, up to its actuators."""
    return AEROPLANE


@pytest.fixture
def multirotor() -> str:
    """Give the text of a multirotor's file, up to its actuators."""
    return MULTIROTOR


@pytest.fixture
def other() -> str:
    """Give the text of another kind's file, up to its actuators."""
    return OTHER
