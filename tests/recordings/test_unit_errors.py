"""The errors of three real units, from their own still poses and turns.

Recordings: tomisuarez2/ImuCalibration (static-and-poses), MIT licence: a cheap unit with a large bias of the
accelerometer. mad-lab-fau/imucal, example_data (six-face-and-turns), MIT licence. Kyle-ak/imu_tk, bin/test_data
(scale-fault), BSD licence: not calibrated, with the calibrated means of its poses beside it. They lie outside the
project; where they are absent these tests are skipped.
"""

from __future__ import annotations

import csv
from collections.abc import Callable

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.measure.measurement import Measurement
from benchrig.measure.sensor.measure import measure_sensor
from benchrig.measure.sensor.study import UnitStudy, study_unit

AIRFRAME = """\
[airframe]
name = "board"
kind = "other"

[sensor]
axes = { x = "forward", y = "left", z = "up" }
"""
MANIFEST = """\
[capture]
stream = "board.csv"

[columns]
time          = { names = ["t_s"], unit = "s" }
gyro          = { names = ["gx", "gy", "gz"], unit = "rad/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "m/s2" }
"""
NAMES = "t_s,gx,gy,gz,ax,ay,az"
MG = 9.80665e-3


@pytest.fixture(scope="module")
def read(outside_data, tmp_path_factory) -> Callable:
    """Read a real stream as a capture, the gyro's numbers divided by a number of one's choice."""

    def make(name, divisor=1.0):
        columns = np.loadtxt(outside_data(name), delimiter=",", skiprows=1)[:, :7]
        columns[:, 1:4] /= divisor
        folder = tmp_path_factory.mktemp("board")
        (folder / "board-airframe.toml").write_text(AIRFRAME, encoding="utf-8")
        (folder / "board.toml").write_text(MANIFEST, encoding="utf-8")
        np.savetxt(folder / "board.csv", columns, delimiter=",", header=NAMES, comments="", fmt="%.9g")
        airframe = read_airframe(folder / "board-airframe.toml")
        return airframe, read_capture(folder / "board.toml", airframe)

    return make


@pytest.fixture(scope="module")
def study(read) -> Callable[..., UnitStudy]:
    def make(name, divisor=1.0):
        airframe, recording = read(name, divisor)
        return study_unit(airframe, [recording])

    return make


@pytest.fixture(scope="module")
def cheap(read) -> Measurement:
    airframe, recording = read("static-and-poses/mpu6050_calibration.csv")
    return measure_sensor(airframe, [recording])


def quantity(measurement, name):
    return next(q for q in measurement.quantities if q.name == name)


def test_a_cheap_units_bias_of_more_than_100_mg_is_found_to_3_mg_and_named(cheap):
    bias = quantity(cheap, "accelerometer bias, z")
    assert bias.value == pytest.approx(-112, abs=3)  # level it reads 8.90, upside down -11.09 m/s²
    assert bias.uncertainty < 3
    assert "accelerometer-bias-large" in {f.code for f in cheap.findings}
    assert {e.key for e in cheap.entries} >= {"accelerometer_bias_mg", "accelerometer_matrix"}


def test_a_cheap_units_poses_agree_to_a_milli_g_after_calibration(cheap):
    # ten poses leave too few to spare over nine unknowns for a misfit to prove anything, and none is told
    assert "poses after calibration, off by" not in {q.name for q in cheap.quantities}
    sizes = next(f for f in cheap.figures if "each pose" in f.title)
    before, after = sizes.curves
    assert np.ptp(before.y) > 0.2
    assert np.ptp(after.y) < 0.002


def test_its_clock_and_its_counts_are_those_of_a_16_bit_unit_of_250_deg_s_and_8_g(cheap):
    assert quantity(cheap, "sample rate").value == pytest.approx(100, rel=1e-4)
    assert quantity(cheap, "one count, gyro").value == pytest.approx(250 / 32768, rel=1e-3)
    assert quantity(cheap, "one count, accelerometer").value == pytest.approx(8000 / 32768, rel=1e-3)
    assert quantity(cheap, "lost samples").value == 0


def test_a_long_rest_has_the_noise_that_allan_deviations_of_others_show(read):
    airframe, recording = read("static-and-poses/mpu6050_static_449s.csv")
    measurement = measure_sensor(airframe, [recording])
    # overlapping Allan deviation at 1 s by allantools: 0.0075, 0.0112, 0.0092 deg/s; white noise: N = that, and 60 N
    for name, deviation in zip("xyz", (0.0075, 0.0112, 0.0092), strict=True):
        walk = quantity(measurement, f"gyro angle random walk, {name}").value / 60
        assert 0.4 * deviation < walk < 1.1 * deviation  # what is not white in it is not in N
    assert quantity(measurement, "accelerometer bias, x").value is None
    assert measurement.entries == ()


def test_the_turns_by_hand_come_to_360_degrees_once_the_gyro_is_calibrated(study, outside_data):
    unit = study("six-face-and-turns/stream.csv")
    (session,) = unit.sessions
    with outside_data("six-face-and-turns/labels.csv").open(encoding="utf-8", newline="") as file:
        turns = [row for row in csv.DictReader(file) if row["label"].endswith("_rot")]
    for axis, row in enumerate(turns):
        start, stop = (session.even.index(float(row[key]) + d) for key, d in (("t_start_s", -1.5), ("t_end_s", 1.5)))
        rate = session.even.angular_rate[start:stop] - session.stillness.bias.value
        turned = np.degrees(rate[:, axis].sum() * session.even.step)
        # a hand's full turn ends within some degrees; uncalibrated, x comes to -370
        assert turned * unit.gyro.scale[axis] == pytest.approx(-360, abs=6)
    assert unit.gyro.scale[0] == pytest.approx(0.974, abs=0.006)


def test_six_faces_give_bias_and_scale_and_no_cross_talk(study):
    fit = study("six-face-and-turns/stream.csv").accelerometer
    assert fit.bias / MG == pytest.approx([54.5, -63, 40.5], abs=2)
    assert fit.misfit < 0.5 * MG
    assert fit.cross_uncertainty.min() > 0.005


def test_38_poses_agree_with_the_published_bias_and_scale_and_among_themselves_30_times_better(study, outside_data):
    unit = study("scale-fault/stream.csv")
    published = np.loadtxt(outside_data("scale-fault/rests.csv"), delimiter=",", skiprows=1)
    pairs = []
    for pose in unit.poses:
        shared = np.minimum(pose.end, published[:, 1]) - np.maximum(pose.start, published[:, 0])
        if shared.max() > 0.5 * (pose.end - pose.start):
            pairs.append((pose.reading, published[int(np.argmax(shared)), 2:5]))
    assert len(pairs) > 30
    readings, theirs = (np.array(column) for column in zip(*pairs, strict=True))
    # the published means are the readings with bias and scale taken out, axis by axis, and no cross-talk
    for axis in range(3):
        slope, offset = np.polyfit(readings[:, axis], theirs[:, axis], 1)
        assert unit.accelerometer.bias[axis] == pytest.approx(-offset / slope, abs=3 * MG)
        assert 1 / unit.accelerometer.scale[axis] == pytest.approx(slope, abs=0.003)
    ours = (readings - unit.accelerometer.bias) @ unit.accelerometer.matrix.T
    spread = np.linalg.norm(ours, axis=1).std()
    assert spread < np.linalg.norm(theirs, axis=1).std() / 30
    assert spread < 0.2 * MG


@pytest.mark.parametrize("divisor", [1.0, 1.311])
def test_a_real_31_percent_error_of_the_gyros_scale_is_found_to_half_a_percent(study, divisor):
    unit = study("scale-fault/stream.csv", divisor)
    assert unit.gyro.fits
    assert unit.gyro.scale == pytest.approx(np.full(3, divisor), rel=0.005)
    assert unit.gyro.uncertainty.max() < 0.005


def test_a_real_31_percent_error_fails_and_goes_into_no_file(read):
    airframe, recording = read("scale-fault/stream.csv", 1.311)
    measurement = measure_sensor(airframe, [recording])
    assert measurement.outcome == "fail"
    (finding,) = [f for f in measurement.findings if f.code == "gyro-size"]
    assert finding.text.startswith("The gyro reads 0.763 times what it turns by; ")
    assert "gyro_scale" not in {e.key for e in measurement.entries}
    assert "accelerometer_matrix" in {e.key for e in measurement.entries}
