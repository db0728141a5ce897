"""A real 31 % error of the gyro's scale is found, named by its size, and never passed.

Recording: Kyle-ak/imu_tk, bin/test_data, BSD licence: 38 still poses over 512 s, the unit not calibrated. As stored,
gyro and accelerometer agree; its raw gyro was scaled by 1.311 to make them. It lies outside the project; where it is
absent these tests are skipped.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.job import judge
from benchrig.outcome import Outcome
from benchrig.signals.rests import find_rests
from benchrig.verdict.record import BenchRecord

SCALE = 1.311
RATIO = "gyro angle over gravity angle"
AIRFRAME = """\
[airframe]
name = "turned board"
kind = "other"

[sensor]
axes = { x = "forward", y = "left", z = "up" }
"""
MANIFEST = """\
[capture]
stream = "turned.csv"

[columns]
time          = { names = ["t"], unit = "s" }
gyro          = { names = ["gx", "gy", "gz"], unit = "rad/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "m/s2" }
"""


@dataclass(frozen=True, slots=True, eq=False)
class Records:
    """The judgement of the stream as stored, and of the same with the gyro's numbers divided by `SCALE`."""

    stored: BenchRecord
    wrong: BenchRecord


@pytest.fixture(scope="module")
def columns(outside_data):
    return np.loadtxt(outside_data("scale-fault/stream.csv"), delimiter=",", skiprows=1)


@pytest.fixture(scope="module")
def records(columns, tmp_path_factory):
    def judged(divisor: float) -> BenchRecord:
        folder = tmp_path_factory.mktemp("scale")
        (folder / "board.toml").write_text(AIRFRAME, encoding="utf-8")
        (folder / "turned.toml").write_text(MANIFEST, encoding="utf-8")
        values = columns / np.array([1, divisor, divisor, divisor, 1, 1, 1])
        np.savetxt(folder / "turned.csv", values, delimiter=",", header="t,gx,gy,gz,ax,ay,az", comments="", fmt="%.9g")
        airframe = read_airframe(folder / "board.toml")
        return judge(airframe, read_capture(folder / "turned.toml", airframe))

    return Records(judged(1.0), judged(SCALE))


def ratio(record):
    return next(h for h in record.health if h.check == RATIO)


def test_as_stored_the_two_sensors_agree_in_size_and_only_the_prompts_are_wanting(records):
    assert ratio(records.stored).outcome is Outcome.PASS
    assert ratio(records.stored).value == pytest.approx(1, abs=0.03)
    assert {f.code for f in records.stored.findings} == {"motion-missing"}
    assert records.stored.verdict is Outcome.NOT_SHOWN


def test_the_wrong_scale_fails_and_is_named(records):
    assert records.wrong.verdict is records.wrong.sensing is Outcome.FAIL
    assert ratio(records.wrong).outcome is Outcome.FAIL
    assert records.wrong.findings[0].code == "gyro-size"
    assert f"the gyro reads {ratio(records.wrong).value:.3g} ±" in records.wrong.findings[0].text


def test_the_size_of_the_fault_is_found_within_3_percent(records):
    assert ratio(records.stored).value / ratio(records.wrong).value == pytest.approx(SCALE, rel=0.03)


def test_the_wrong_scale_hides_neither_the_story_of_the_two_sensors_nor_the_wiring_left(records):
    carried = "gyro and accelerometer, carried from rest to rest"
    for record in (records.stored, records.wrong):
        assert next(h for h in record.health if h.check == carried).outcome is Outcome.PASS
        assert len(record.gyro.also_possible) == 7  # level and two agreeing sensors leave 8 wirings
        assert record.gyro.outcome is Outcome.NOT_SHOWN


def test_every_published_pose_is_found_as_a_rest(columns, outside_data, even_recording):
    even = even_recording(np.arange(len(columns)) * 0.01 + columns[0, 0], columns[:, 1:4], columns[:, 4:7])
    stored = columns[:, 0]
    poses = np.loadtxt(outside_data("scale-fault/rests.csv"), delimiter=",", skiprows=1)
    rests = [r for r in find_rests(even).rests if r.grade == "bench"]
    assert len(poses) == 38
    for start, end in poses[:, :2]:
        shared = [min(end, stored[r.stop - 1]) - max(start, stored[r.start]) for r in rests]
        assert max(shared) > 0.8 * (end - start), f"the pose at {start} s"
