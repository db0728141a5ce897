"""Airframes to simulate, declared in code so that these tests rest on the types alone."""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from benchrig.declaration.actuators import Actuator, plate_effect, rotor_effect, scaled, surface_effect, tail_effect
from benchrig.declaration.airframe import Airframe, Magnetometer, Rotor, Sensor, Source
from benchrig.geometry.directions import body_from_sensor
from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.simulation.mechanics import other_way


def servo(name, drives, word, effect, centre_us=1520, **more):
    effect = scaled(np.asarray(effect, dtype=float))
    moves = {word: effect, other_way(word): -effect} if word else {}
    fields = {"azimuth": None, "position": None, "turns": None, "moves": moves} | more
    return Actuator(name, drives, word, effect, centre_us * 1e-6, **fields)


def declare(kind, actuators=(), *, axes=("aft", "left"), reads="specific force", lever=(-0.18, 0, -0.025), **more):
    sensor = Sensor(
        body_from_sensor(dict(zip("xyz", axes, strict=False))),
        np.array(lever),
        0.005,
        reads,
        np.radians(2000),
        156.9064,
    )
    fields = {"magnetometer": None, "rotor": None} | more
    return Airframe(
        name=f"test {kind}", kind=kind, sensor=sensor, clearances={}, actuators=tuple(actuators),
        required_motions=REQUIRED_TURNS, source=Source(Path("test.toml"), "0" * 64), **fields,
    )  # fmt: skip


def plate_servo(name, azimuth_deg, sense="clockwise", word="plate up", lead_deg=0.0):
    azimuth = np.radians(azimuth_deg)
    effect = plate_effect(azimuth, np.radians(lead_deg), sense) * (1 if word == "plate up" else -1)
    return servo(name, "swashplate", word, effect, azimuth=azimuth)


def rotor(name, place, turns):
    place = np.array(place)
    return servo(name, "rotor", "more thrust", rotor_effect(place, turns), 1200, position=place, turns=turns)


@pytest.fixture(scope="session")
def build():
    """Give the functions above to tests, which cannot import a conftest."""
    return SimpleNamespace(servo=servo, declare=declare, plate_servo=plate_servo, rotor=rotor)


@pytest.fixture(scope="session")
def helicopter():
    tail = servo("tail", "tail rotor", "more thrust", tail_effect("more thrust", "clockwise"), 760)
    plate = [plate_servo("front", 0), plate_servo("left rear", 240), plate_servo("right rear", 120, word="plate down")]
    compass = Magnetometer(np.eye(3), np.array([-0.62, 0.0, -0.04]))
    return declare("helicopter", [*plate, tail], rotor=Rotor("clockwise", 0.0), magnetometer=compass)


@pytest.fixture(scope="session")
def aeroplane():
    words = {"left aileron": "trailing edge up", "right aileron": "trailing edge up", "elevator": "trailing edge down"}
    words["rudder"] = "trailing edge left"
    surfaces = [servo(name, name, word, surface_effect(name, word), 1500) for name, word in words.items()]
    return declare("aeroplane", surfaces, axes=("right", "forward", "up"))


@pytest.fixture(scope="session")
def multirotor():
    corners = {"front right": (0.16, 0.16, 0), "rear right": (-0.16, 0.16, 0)}
    corners |= {"rear left": (-0.16, -0.16, 0), "front left": (0.16, -0.16, 0)}
    senses = ("counter-clockwise", "clockwise", "counter-clockwise", "clockwise")
    rotors = [rotor(name, place, sense) for (name, place), sense in zip(corners.items(), senses, strict=True)]
    return declare("multirotor", rotors, axes=("forward", "right", "down"))
