"""The errors of accelerometers and gyros as the standards write them (section 8, rows I2 to I5, I21 to I23, K7 to K9).

I2: IEEE 1293, 8.3, model equation of a linear accelerometer (from memory). I3: Titterton & Weston, ch. 8; Aggarwal et
al. (both from memory); the method with six orientations is public. I4: IEEE 1431 and 952, scale factor on a rate table
(from memory). I5: Tedaldi et al., ICRA 2014 (from memory). I21: PS-MPU-6000A-00 rev. 3.4 (confirmed) and arithmetic.
I22, I23: GUM 4.3.7 and 4.2.3 (from memory). K7 to K9: IEC 60098:2020, table 1 and clauses 5.4 and 5.6 (confirmed).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from still_benches import Unit, read

from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.sensor.accelerometer import fit_accelerometer
from benchrig.measure.sensor.counting import Channel
from benchrig.measure.sensor.poses import Pose, find_poses
from benchrig.measure.sensor.table_turns import STATED, Spin, both_senses
from benchrig.signals.rests import find_rests

G = STANDARD_GRAVITY


def pose(reading) -> Pose:
    return Pose(0.0, 2.0, np.asarray(reading, dtype=np.float64), 1e-4 * G, by_hand=False, rate=np.zeros(3))


def fit(gain, bias, directions):
    return fit_accelerometer([pose(gain @ (G * d) + bias) for d in directions])


FACES = np.vstack([np.eye(3), -np.eye(3)])
MANY = np.vstack([FACES, Rotation.random(12, random_state=1).apply([0.0, 0.0, 1.0])])


def test_i2_bias_scale_and_misalignment_are_those_of_the_model_equation():
    # I2: read / K1 = K0 + a_i + d_o a_p - d_p a_o; here K1 = 1.01, K0 = 5 mg, misalignments 4 and -3 mrad, on x alone
    gain = np.eye(3)
    gain[0] = 1.01 * np.array([1.0, 0.004, -0.003])
    found = fit(gain, np.array([1.01 * 5e-3 * G, 0.0, 0.0]), MANY)
    assert found.scale[0] == pytest.approx(1.01, abs=5e-5)
    assert found.bias[0] / found.scale[0] / G == pytest.approx(5e-3, abs=2e-5)
    # one axis askew by 4 mrad against two others is half that on either side, the common rotation taken out
    assert 2 * found.gain[0, 1] / found.gain.trace() * 3 == pytest.approx(0.004, abs=1e-4)
    assert 2 * found.gain[0, 2] / found.gain.trace() * 3 == pytest.approx(-0.003, abs=1e-4)


def test_i3_two_opposite_faces_give_the_bias_and_the_scale():
    # I3: 1.07 g up and -0.97 g down: bias (f+ + f-) / 2 = 0.050 g, scale (f+ - f-) / 2 g - 1 = 2.0 %
    found = fit(np.diag([1.02, 1.0, 1.0]), np.array([0.05 * G, 0.0, 0.0]), FACES)
    assert found.poses == 6
    assert found.bias[0] / G == pytest.approx(0.050, abs=1e-6)
    assert found.scale[0] - 1 == pytest.approx(0.020, abs=1e-6)


def test_i4_a_rate_table_turned_both_ways_gives_scale_and_bias():
    # I4: 270 deg/s, readings +278.4 and -272.4 deg/s: K = 1.0200, bias 3.000 deg/s
    there, back = (Spin(np.radians([0.0, 0.0, r]), np.radians(270.0), STATED, 0.1, "stated") for r in (278.4, -272.4))
    spin, bias = both_senses(there, back)
    assert spin.rate[2] / spin.speed == pytest.approx(1.0200, abs=5e-5)
    assert np.degrees(bias[2]) == pytest.approx(3.000, abs=5e-4)


def test_i5_three_small_angles_are_left_of_six_once_the_frame_is_chosen():
    # I5: y = S (I + M) u + b with six misalignments; the same seen from a turned frame gives the same answer
    askew = np.eye(3) + np.array([[0, 0.006, -0.004], [0.002, 0, 0.005], [-0.003, 0.001, 0]])
    gain, bias = np.diag([1.01, 0.99, 1.02]) @ askew, np.array([0.02, -0.01, 0.03]) * G
    straight = fit(gain, bias, MANY)
    turned = fit(gain @ Rotation.from_rotvec([0.1, -0.2, 0.3]).as_matrix(), bias, MANY)
    assert turned.gain == pytest.approx(straight.gain, abs=2e-5)
    assert straight.gain @ straight.gain == pytest.approx(gain @ gain.T, abs=2e-5)
    assert straight.bias == pytest.approx(bias, abs=1e-4)


def test_i21_the_noise_of_a_gyro_behind_a_filter_of_100_hz_is_ten_times_its_density():
    # I21: 0.005 deg/s/sqrt Hz over 100 Hz is 0.050 deg/s; a stream of 200 Hz holds 100 Hz of noise
    still = np.zeros((20000, 3))
    even = read(still, still - [0, 0, G], Unit(gyro_noise=np.radians(0.005)), 200.0, 0)
    assert np.degrees(find_rests(even).gyro_noise) == pytest.approx(0.0500, rel=0.1)


@pytest.mark.parametrize(("count", "rms"), [(0.0610352, 0.0176), (0.488281, 0.141)])
def test_i22_rounding_adds_a_count_over_the_root_of_twelve(count, rms):
    # I22: 2000 deg/s in 16 bits and 16 g in 16 bits (mg)
    assert Channel("x", count, None, 0, 0).rounding == pytest.approx(rms, abs=5e-4 * max(1, rms * 2))
    rounded = np.round(np.random.default_rng(0).uniform(-50, 50, 20000)) - np.random.default_rng(0).uniform(
        -50, 50, 20000
    )
    assert count * rounded.std() == pytest.approx(rms, rel=0.02)


def test_i23_a_mean_over_a_second_is_ten_times_as_sure_as_a_sample_of_a_hundred():
    # I23: 0.05 deg/s rms, 100 samples: 0.005 deg/s; the same rule for the accelerometer's poses
    noise = 400e-6 * G
    rest = np.tile([0.0, 0.0, -G], (30000, 1))
    even = read(np.zeros_like(rest), rest, Unit(accelerometer_noise=noise), 100.0, 3)
    (found,) = find_poses(even, find_rests(even))
    sample = noise * np.sqrt(50)
    assert found.uncertainty == pytest.approx(sample / np.sqrt(29900), rel=0.6)
    assert 0.05 / np.sqrt(100) == pytest.approx(0.005)


def test_k7_to_k9_a_record_player_tells_the_gyros_scale_to_a_third_of_a_percent():
    # K7: 33 1/3 rpm is 200 deg/s; K9: within 0.5 %, rectangular: 0.289 %
    assert pytest.approx(0.289, abs=5e-4) == 100 * STATED
    assert np.degrees(100 / 3 * np.pi / 30) == pytest.approx(200.0)
