"""The whole path from file to verdict on a real recording that pip installs, so that it runs on every machine.

The wheel of scikit-kinematics (BSD) brings a recording of gyro and accelerometer in deg/s and g, at 256 Hz by its own
registers. Nobody was prompted in it, so it can never pass; but the two sensors must be found to agree, and any sign
turned or axes swapped in one of them must be found as just that. Its motions are fast and end without holds: few moves
serve.
"""

from __future__ import annotations

from importlib.metadata import distribution

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.job import judge
from benchrig.outcome import Outcome
from benchrig.verdict.bench import measure_bench
from benchrig.verdict.wirings import weigh_agreement

RATE_HZ = 256
AIRFRAME = """\
[airframe]
name = "strapped unit"
kind = "other"

[sensor]
axes = { x = "forward", y = "left", z = "up" }
"""
MANIFEST = """\
[capture]
stream = "strapped.csv"

[columns]
time          = { names = ["t"], unit = "s" }
gyro          = { names = ["gx", "gy", "gz"], unit = "deg/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "g" }
"""
FLIPS = [np.diag(signs) for signs in ([-1.0, 1, 1], [1.0, -1, 1], [1.0, 1, -1])]
SWAPS = [np.eye(3)[order] for order in ([1, 0, 2], [2, 1, 0], [0, 2, 1])]


@pytest.fixture(scope="module")
def columns():
    """Give the rates and readings as installed, shape (N, 6), deg/s and g."""
    files = distribution("scikit-kinematics").files or []
    wanted = next(f for f in files if f.name == "00033_CalInertialAndMag.csv" and f.parent.name == "data_xio")
    return np.loadtxt(str(wanted.locate()), delimiter=",", skiprows=1)[:, 1:7]


@pytest.fixture
def capture(columns, tmp_path):
    """Write the recording as a capture, with the gyro's channels led through a map, and read it back."""

    def read(channels=None):
        channels = np.eye(3) if channels is None else channels
        values = np.column_stack([np.arange(len(columns)) / RATE_HZ, columns[:, :3] @ channels.T, columns[:, 3:]])
        (tmp_path / "unit.toml").write_text(AIRFRAME, encoding="utf-8")
        (tmp_path / "strapped.toml").write_text(MANIFEST, encoding="utf-8")
        header = "t,gx,gy,gz,ax,ay,az"
        np.savetxt(tmp_path / "strapped.csv", values, delimiter=",", header=header, comments="", fmt="%.9g")
        airframe = read_airframe(tmp_path / "unit.toml")
        return airframe, read_capture(tmp_path / "strapped.toml", airframe)

    return read


def test_the_recording_reads_whole_and_in_the_right_units(capture):
    _, recording = capture()
    assert len(recording.time) == 12_626
    assert recording.rate == pytest.approx(RATE_HZ, rel=1e-6)
    assert np.median(np.linalg.norm(recording.acceleration, axis=1)) == pytest.approx(9.80665, rel=0.05)


def test_gyro_and_accelerometer_agree_in_hand_axes_and_size(capture):
    airframe, recording = capture()
    bench = measure_bench(airframe, recording)
    likelihood, _ = weigh_agreement([m for m in bench.moves if not (m.gap or m.clipped)])
    order = np.argsort(-likelihood)
    assert order[0] == 0
    assert likelihood[order[0]] - likelihood[order[1]] > np.log(1e6)
    assert bench.wirings.residual_rms < 0.09
    assert bench.scale.ratio == pytest.approx(1, abs=0.1)


@pytest.mark.parametrize("channels", [*FLIPS, *SWAPS], ids=["−x", "−y", "−z", "x↔y", "x↔z", "y↔z"])
def test_a_turned_sign_or_swapped_axes_of_the_gyro_are_found_against_the_accelerometer(channels, capture):
    airframe, recording = capture(channels)
    bench = measure_bench(airframe, recording)
    likelihood, _ = weigh_agreement([m for m in bench.moves if not (m.gap or m.clipped)])
    np.testing.assert_array_equal(SIGNED_PERMUTATIONS[int(np.argmax(likelihood))], channels)


def test_without_prompts_it_is_not_shown_and_never_a_pass(capture):
    record = judge(*capture())
    assert record.verdict is Outcome.NOT_SHOWN
    assert record.wrong_pass_bound is None
    assert {record.gyro.outcome, record.accelerometer.outcome} == {Outcome.NOT_SHOWN}


@pytest.mark.parametrize("channels", FLIPS, ids=["−x", "−y", "−z"])
def test_one_gyro_sign_turned_fails_even_without_a_prompt_to_believe(channels, capture):
    record = judge(*capture(channels))
    # rates are an axial vector: whichever way the accelerometer sits, this gyro's set is left-handed
    assert record.gyro.outcome is Outcome.FAIL
    assert record.verdict is not Outcome.PASS
