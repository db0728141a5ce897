"""Real recordings described as if nothing were known of them: names taken away, columns shuffled, signs turned.

The recordings are those of the other tests here, which name their sources; the wheel of scikit-kinematics installs
more. Truth is what their makers name the columns; a file that shows too little may be left unsure, never wrong.
"""

from __future__ import annotations

from importlib.metadata import distribution

import numpy as np
import pytest

from benchrig.measure.describe.describe import describe

SURE = {
    # file: unit of the gyro, unit of the accelerometer
    "hand-tilt/hand-tilt.csv": ("deg/s", "g"),
    "six-face-and-turns/stream.csv": ("rad/s", "m/s2"),
    "scale-fault/stream.csv": ("rad/s", "m/s2"),
    "static-and-poses/mpu6050_calibration.csv": ("rad/s", "m/s2"),
    "optical-truth/02_undisturbed_slow_rotation_B_90s.csv": ("rad/s", "m/s2"),
    "optical-truth/05_undisturbed_slow_rotation_with_breaks_B_90s.csv": ("rad/s", "m/s2"),
}


def shuffled(values, names, path, seed=0, flip=None):
    """Write columns in another order under names that mean nothing; give what each was called."""
    order = np.random.default_rng(seed).permutation(len(names))
    plain = [f"c{i}" for i in range(len(names))]
    if flip is not None:
        values = values.copy()
        values[:, names.index(flip)] *= -1
    np.savetxt(path, values[:, order], delimiter=",", header=",".join(plain), comments="", fmt="%.9g")
    return dict(zip(plain, [names[i] for i in order], strict=True))


def read(path):
    names = path.read_text(encoding="utf-8").partition("\n")[0].split(",")
    values = np.genfromtxt(path, delimiter=",", skip_header=1)
    return values, names


def called(description, group, was):
    return [was[name] for name in description.group(group).names]


@pytest.mark.parametrize("name", SURE)
def test_a_real_stream_is_described_rightly_and_surely(name, outside_data, tmp_path):
    values, names = read(outside_data(name))
    was = shuffled(values, names, tmp_path / "unknown.csv")
    found = describe(tmp_path / "unknown.csv")
    gyro, accelerometer = called(found, "gyro", was), called(found, "accelerometer", was)
    assert (set(gyro), set(accelerometer)) == ({"gx", "gy", "gz"}, {"ax", "ay", "az"})
    assert [n[1] for n in gyro] == [n[1] for n in accelerometer]
    assert (found.group("gyro").unit, found.group("accelerometer").unit) == SURE[name]
    assert (found.is_sure, found.agree) == (True, True)
    if "mx" in names:
        assert set(called(found, "magnetometer", was)) == {"mx", "my", "mz"}
        assert found.group("magnetometer").unit == "uT"


def test_the_names_orders_axes_where_they_say_it(outside_data):
    found = describe(outside_data("hand-tilt/hand-tilt.csv"))
    assert found.group("gyro").names == ("gx", "gy", "gz")
    assert found.group("magnetometer").names == ("mx", "my", "mz")


@pytest.mark.parametrize("flip", ["gx", "gy", "gz"])
def test_a_turned_sign_is_told_and_not_mended(flip, outside_data, tmp_path):
    values, names = read(outside_data("hand-tilt/hand-tilt.csv"))
    values[:, names.index(flip)] *= -1
    np.savetxt(tmp_path / "turned.csv", values, delimiter=",", header=",".join(names), comments="", fmt="%.9g")
    found = describe(tmp_path / "turned.csv")
    assert found.is_sure
    assert found.agree is False
    assert f"{flip} has the wrong sign" in found.agreement
    assert found.group("gyro").names == ("gx", "gy", "gz")


def test_a_gyro_that_reads_31_percent_too_little_fits_no_unit(outside_data, tmp_path):
    values, names = read(outside_data("scale-fault/stream.csv"))
    values[:, [names.index(n) for n in ("gx", "gy", "gz")]] /= 1.311
    np.savetxt(tmp_path / "wrong.csv", values, delimiter=",", header=",".join(names), comments="", fmt="%.9g")
    found = describe(tmp_path / "wrong.csv")
    assert not found.is_sure
    assert "no usual unit" in found.group("gyro").why


def test_a_still_recording_is_proposed_by_its_names_alone(outside_data):
    found = describe(outside_data("static-and-poses/mpu6050_static_449s.csv"))
    assert not found.is_sure
    assert found.group("gyro").names == ("gx", "gy", "gz")
    assert "by its names alone" in found.group("gyro").why


@pytest.mark.parametrize("recording", ["exp_1_all8", "exp_3_all8"])
@pytest.mark.parametrize("unit", range(0, 8, 3))
def test_every_unit_of_a_board_is_described(recording, unit, outside_data, tmp_path):
    with np.load(outside_data(f"imu-array/{recording}.npz")) as file:
        values = np.column_stack([file["t_s"], file["gyr_rad_s"][:, unit], file["acc_m_s2"][:, unit]])
    was = shuffled(values, ["t", "gx", "gy", "gz", "ax", "ay", "az"], tmp_path / "unit.csv", seed=unit)
    found = describe(tmp_path / "unit.csv")
    assert (found.is_sure, found.agree) == (True, True)
    assert set(called(found, "gyro", was)) == {"gx", "gy", "gz"}
    assert (found.group("gyro").unit, found.group("accelerometer").unit) == ("rad/s", "m/s2")


def installed(name):
    files = distribution("scikit-kinematics").files or []
    return next(f for f in files if str(f).endswith(name)).locate()


def test_a_stream_with_a_counter_for_a_clock_and_fast_moves_is_proposed_rightly_though_not_surely():
    found = describe(installed("data_xio/00033_CalInertialAndMag.csv"), 256.0)
    for group, word in (("gyro", "Gyroscope"), ("accelerometer", "Accelerometer")):
        assert [name.split()[:2] for name in found.group(group).names] == [[word, axis] for axis in "XYZ"]
    assert (found.group("gyro").unit, found.group("accelerometer").unit) == ("deg/s", "g")
    assert found.group("time") is None
    assert not found.is_sure


@pytest.mark.parametrize(
    ("name", "rate_hz"),
    [
        ("data_ngimu/sensors.csv", None),
        ("data_xio3/Inertial.csv", None),
        ("data_yei.txt", None),
        ("data_xsens.txt", 50.0),
        ("data_xsens2.txt", 120.0),
        ("walking_xsens_upperLeg.txt", 120.0),
    ],
)
def test_a_hurried_or_still_recording_is_proposed_by_its_names_and_never_surely(name, rate_hz):
    found = describe(installed(name), rate_hz)
    assert not found.is_sure
    for group, part in (("gyro", "gyr"), ("accelerometer", "acc")):
        assert all(part in name.lower() for name in found.group(group).names)


def test_a_stream_without_names_that_shows_nothing_is_given_no_guess():
    found = describe(installed("data_polulu.txt"))
    assert found.group("gyro") is None
    assert "put `c1 c2 c3" in found.notes[0]
