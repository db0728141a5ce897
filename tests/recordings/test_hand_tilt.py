"""The verdict on a real board turned by hand, as declared and with every mistake of mounting and sign made on purpose.

Recording: xioTechnologies/Fusion, Examples/Python/sensor_data.csv, MIT licence. Its direction words take the board's
x as forward and z as up. It lies outside the project; where it is absent these tests are skipped.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.geometry.directions import body_from_sensor
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.job import judge
from benchrig.outcome import Outcome

TRUE_MOUNTING = body_from_sensor({"x": "forward", "y": "left", "z": "up"})


@pytest.fixture(scope="module")
def board(outside_data):
    airframe = read_airframe(outside_data("hand-tilt/hand-tilt.airframe.toml"))
    return airframe, read_capture(outside_data("hand-tilt/hand-tilt.toml"), airframe)


def codes(record) -> list[str]:
    return [finding.code for finding in record.findings]


def rewired(recording, sensor, channels):
    """Give the recording with one sensor's readings led through a signed permutation."""
    return replace(recording, **{sensor: getattr(recording, sensor) @ channels.T})


def flips():
    return [np.diag(np.where(np.arange(3) == axis, -1.0, 1.0)) for axis in range(3)]


def swaps():
    return [np.eye(3)[order] for order in ([1, 0, 2], [2, 1, 0], [0, 2, 1])]


def test_the_board_passes_as_it_is_declared(board):
    airframe, recording = board
    record = judge(airframe, recording)
    assert record.verdict is record.sensing is Outcome.PASS
    assert record.wrong_pass_bound < 1e-6
    assert codes(record) == []
    np.testing.assert_array_equal(record.gyro.found, TRUE_MOUNTING)
    np.testing.assert_array_equal(record.accelerometer.found, TRUE_MOUNTING)
    required = [c for c in record.matrix if c.required]
    judged = {(c.motion, c.check) for c in required}
    assert {(motion, check) for motion in REQUIRED_TURNS for check in ("gyro", "attitude")} <= judged
    assert {(motion, "accelerometer") for motion in ("level", *REQUIRED_TURNS[:4])} <= judged
    assert {c.outcome for c in required} == {Outcome.PASS}


def test_every_one_of_the_other_23_mountings_fails_and_the_true_one_is_named(board):
    airframe, recording = board
    declared_wrong = [m for m in SIGNED_PERMUTATIONS[:24] if not np.array_equal(m, TRUE_MOUNTING)]
    assert len(declared_wrong) == 23
    for mounting in declared_wrong:
        record = judge(replace(airframe, sensor=replace(airframe.sensor, body_from_sensor=mounting)), recording)
        assert record.verdict is Outcome.FAIL, mounting
        assert record.wrong_pass_bound is None
        np.testing.assert_array_equal(record.gyro.found, TRUE_MOUNTING)
        np.testing.assert_array_equal(record.accelerometer.found, TRUE_MOUNTING)
        assert min(record.gyro.probability, record.accelerometer.probability) > 1 - 1e-6
        assert codes(record) == ["mounting-differs"], mounting


@pytest.mark.parametrize(
    ("sensor", "other", "name"),
    [("angular_rate", "accelerometer", "gyro"), ("acceleration", "gyro", "accelerometer")],
)
def test_every_sign_flip_of_one_sensor_fails_and_names_that_channel(sensor, other, name, board):
    airframe, recording = board
    for channels in flips():
        record = judge(airframe, rewired(recording, sensor, channels))
        assert record.verdict is Outcome.FAIL, channels
        np.testing.assert_array_equal(getattr(record, name).found, TRUE_MOUNTING @ channels)
        np.testing.assert_array_equal(getattr(record, other).found, TRUE_MOUNTING)
        assert codes(record) == [f"{name}-axis-sign"]
        axis = "xyz"[int(np.argmin(np.diag(channels)))]
        assert f"channel {axis} measures minus {axis}." in record.findings[0].text


@pytest.mark.parametrize(
    ("sensor", "other", "name"),
    [("angular_rate", "accelerometer", "gyro"), ("acceleration", "gyro", "accelerometer")],
)
def test_every_swap_of_two_axes_of_one_sensor_fails_and_names_the_pair(sensor, other, name, board):
    airframe, recording = board
    for channels in swaps():
        record = judge(airframe, rewired(recording, sensor, channels))
        assert record.verdict is Outcome.FAIL, channels
        np.testing.assert_array_equal(getattr(record, name).found, TRUE_MOUNTING @ channels)
        np.testing.assert_array_equal(getattr(record, other).found, TRUE_MOUNTING)
        assert codes(record) == [f"{name}-axes-swapped"]


def test_a_left_handed_unit_fails_and_is_told_from_a_wrong_mounting(board):
    airframe, recording = board
    for channels in flips():
        both = rewired(rewired(recording, "angular_rate", channels), "acceleration", channels)
        record = judge(airframe, both)
        assert record.verdict is Outcome.FAIL, channels
        np.testing.assert_array_equal(record.gyro.found, TRUE_MOUNTING @ channels)
        np.testing.assert_array_equal(record.accelerometer.found, TRUE_MOUNTING @ channels)
        assert codes(record) == ["left-handed-sensor"]


def test_without_its_prompts_the_same_recording_never_passes(board):
    airframe, recording = board
    record = judge(airframe, replace(recording, prompts=()))
    assert record.verdict is Outcome.NOT_SHOWN
    # gravity at the level rest and the two sensors between them leave 8 of the 2304 wirings
    assert record.gyro.outcome is Outcome.NOT_SHOWN
    assert len(record.gyro.also_possible) == 7
