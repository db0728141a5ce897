"""The joint fit: exact where the readings are, and honest about what it does not know."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from turning_bodies import CONSUMER, Errors, measured, prompt, rig, spun, swung, table

from benchrig.declaration.airframe import Calibration
from benchrig.measure.lever.arm import solve
from benchrig.measure.lever.fit import table_speed

ARM = np.array([0.062, -0.034, 0.021])
SWING = (prompt("swing", 3.0, 14.8),)


def drawn_errors(rng, seed):
    """Draw a consumer unit: scales of 1 %, cross-axis of 0.7 %, biases."""

    def gain():
        cross = rng.normal(0.0, 0.007, (3, 3))
        np.fill_diagonal(cross, 1 + rng.normal(0.0, 0.01, 3))
        return cross

    return replace(
        CONSUMER,
        seed=seed,
        gyro_gain=gain(),
        accelerometer_gain=gain(),
        accelerometer_bias=tuple(rng.normal(0.0, 0.2, 3)),
    )


def test_a_spin_without_errors_gives_the_place_across_the_axis_exactly():
    place = measured(spun(ARM), rig(ARM), turntable=table())
    np.testing.assert_allclose(place.value[:2], ARM[:2], atol=1e-5)
    assert np.isnan(place.value[2])


def test_a_swing_without_errors_gives_the_whole_place_exactly():
    place = measured(swung(ARM), rig(), pivot=(0, 0, 0), prompts=SWING)
    np.testing.assert_allclose(place.value, ARM, atol=1e-5)


def test_the_declared_place_does_not_pull_the_measured_one():
    for declared in (ARM, -ARM, ARM + 0.2):
        place = measured(spun(ARM, errors=CONSUMER), rig(declared), turntable=table())
        np.testing.assert_allclose(place.value[:2], ARM[:2], atol=1.5e-3)


def test_the_covariance_is_the_sum_of_its_budget():
    fit = measured(spun(ARM, errors=CONSUMER), rig(ARM), turntable=table()).fit
    np.testing.assert_allclose(sum(fit.budget.values()), fit.covariance, rtol=1e-3, atol=1e-10)


def test_the_uncertainty_grows_with_the_distance_from_the_axis():
    near, far = (
        measured(spun(scale * ARM, errors=CONSUMER), rig(), turntable=table()).uncertainty[:2] for scale in (0.3, 2.0)
    )
    assert (far > 3 * near).all()


def test_a_calibrated_accelerometer_leaves_less_open():
    declared = rig(ARM)
    calibration = Calibration(np.ones(3), np.zeros(3), np.eye(3), None, None)
    plain = measured(spun(ARM, errors=CONSUMER), declared, turntable=table())
    known = measured(spun(ARM, errors=CONSUMER), replace(declared, calibration=calibration), turntable=table())
    assert known.fit.budget["accelerometer"][0, 0] < 0.2 * plain.fit.budget["accelerometer"][0, 0]
    assert (known.uncertainty[:2] < plain.uncertainty[:2]).all()


def test_a_reading_at_rest_that_is_not_one_g_widens_the_uncertainty():
    """A reading at rest that is 6 % off may be a bias, or a scale of every axis."""
    biased = replace(CONSUMER, accelerometer_bias=(0.0, 0.0, -0.6))
    plain, wide = (measured(spun(ARM, errors=e), rig(ARM), turntable=table()) for e in (CONSUMER, biased))
    assert wide.uncertainty[0] > 1.5 * plain.uncertainty[0]


@pytest.mark.parametrize("stated", [None, 100 / 3])
def test_the_speed_is_told_with_the_gyros_scale_taken_out(stated):
    errors = replace(CONSUMER, gyro_gain=1.02 * np.eye(3))
    place = measured(spun(ARM, errors=errors), rig(ARM), turntable=table(rpm=stated))
    speed, spread = table_speed(place.fit, place.stands[0])
    assert speed == pytest.approx(np.radians(200), abs=4 * spread)
    assert spread < 0.004 * speed


def test_residuals_that_are_alike_count_for_fewer():
    rng = np.random.default_rng(3)
    even = spun(ARM, seconds=20.0, errors=CONSUMER)
    slow = np.cumsum(rng.normal(size=even.acceleration.shape), axis=0)
    slow = 0.02 * (slow - slow.mean(axis=0)) / slow.std(axis=0)
    white = measured(even, rig(ARM), turntable=table()).fit
    coloured = measured(replace(even, acceleration=even.acceleration + slow), rig(ARM), turntable=table())
    fit = coloured.fit if coloured.fit is not None else solve(rig(ARM), coloured.stands)
    assert fit.correlation[0] > 2 * white.correlation[0]
    assert fit.budget["noise"][0, 0] > 4 * white.budget["noise"][0, 0]


def test_a_knock_is_left_out():
    even = spun(ARM, errors=CONSUMER)
    knocked = even.acceleration.copy()
    knocked[780:800] += [4.0, -3.0, 2.0]
    quiet, loud = (
        measured(replace(even, acceleration=force), rig(ARM), turntable=table())
        for force in (even.acceleration, knocked)
    )
    np.testing.assert_allclose(loud.value[:2], quiet.value[:2], atol=3e-4)
    assert len(loud.fit.stands[0].where.start) < len(quiet.fit.stands[0].where.start)


def test_a_long_spin_with_a_gyro_of_three_percent_finds_its_turns():
    """Over 60 s the error adds up to more than a turn."""
    errors = replace(CONSUMER, gyro_gain=np.diag([1.0, 1.0, 0.97]))
    place = measured(spun(ARM, seconds=60.0, errors=errors), rig(ARM), turntable=table())
    assert place.fit.gyro[2, 2] == pytest.approx(1 / 0.97 - 1, abs=5e-4)
    assert (np.abs(place.value[:2] - ARM[:2]) < 3 * place.uncertainty[:2]).all()


@pytest.mark.parametrize("kind", ["spin", "swing"])
def test_the_uncertainty_is_honest(kind):
    """Pulls, (measured - true) / uncertainty, scatter by about one, over drawn units that sit a little askew."""
    pulls = []
    for seed in range(30):
        rng = np.random.default_rng(seed)
        arm = rng.uniform(-0.1, 0.1, 3)
        askew = Rotation.from_rotvec(np.radians(rng.normal(0.0, 1.0, 3)))
        errors = drawn_errors(rng, seed)
        turned = replace(
            errors,
            gyro_gain=errors.gyro_gain @ askew.inv().as_matrix(),
            accelerometer_gain=errors.accelerometer_gain @ askew.inv().as_matrix(),
        )
        if kind == "spin":
            even = spun(arm, tilt_deg=rng.uniform(0.1, 1.0), errors=turned)
            place = measured(even, rig(arm), turntable=table())
        else:
            place = measured(swung(arm, seed=seed, errors=turned), rig(), pivot=(0, 0, 0), prompts=SWING)
        pulls.append((place.value - arm) / place.uncertainty)
    told = np.array(pulls)[:, : 2 if kind == "spin" else 3]
    assert np.isfinite(told).all()
    assert 0.75 < np.sqrt(np.mean(told**2)) < 1.25  # measured: spin 0.97, swing 0.95
    assert np.abs(told).max() < 4


def test_noise_alone_leaves_less_than_half_a_millimetre():
    """10 s at 33⅓ rpm: most of the uncertainty is what a data sheet leaves open."""
    errors = Errors(accelerometer_noise=0.028)
    values = [
        measured(spun(ARM, errors=replace(errors, seed=k)), rig(ARM), turntable=table()).value[:2] for k in range(12)
    ]
    assert np.std(values, axis=0).max() < 5e-4  # measured: 0.40 mm and 0.29 mm
