"""What speaks against a spin or swing by itself."""

from dataclasses import replace

import pytest
from turning_bodies import CONSUMER, measured, rig, spun, table

from benchrig.measure.lever.doubts import STEADY_TABLE, miscount, odd_speed, restless
from benchrig.measure.lever.turn_count import TurnCount


@pytest.fixture(scope="module")
def found():
    arm = (0.062, -0.034, 0.021)
    place = measured(spun(arm, errors=CONSUMER), rig(arm), turntable=table(rpm=100 / 3))
    return place.stands[0], place.fit


def test_a_right_spin_draws_no_doubt(found):
    stand, fit = found
    assert fit.settled
    assert restless(stand, fit) is None


def test_a_fit_that_came_to_no_end_is_no_place(found):
    stand, fit = found
    assert restless(stand, replace(fit, settled=False)).code == "lever-unsettled"


def test_what_is_left_over_is_held_against_the_noise_at_rest(found):
    stand, fit = found
    assert restless(stand, replace(fit, noise=(1.1 * STEADY_TABLE,))).code == "spin-unsteady"
    noisy = spun((0.062, -0.034, 0.021), errors=replace(CONSUMER, accelerometer_noise=0.06))
    loud = measured(noisy, rig(), turntable=table()).stands[0]
    assert restless(loud, replace(fit, noise=(1.1 * STEADY_TABLE,))) is None


@pytest.mark.parametrize(
    ("ratio", "code"), [(1.03, None), (None, None), (0.7, "spin-miscounted"), (-1.0, "spin-miscounted")]
)
def test_only_a_count_that_is_surely_off_is_a_miscount(found, ratio, code):
    remark = miscount(found[0], TurnCount(ratio, 0.001, 0.1))
    assert (remark and remark.code) == code


@pytest.mark.parametrize(
    ("ratio", "spread", "doubted"), [(1.0, 0.001, False), (1.03, 0.001, True), (1.03, 0.05, False), (None, 1.0, False)]
)
def test_a_stated_speed_is_doubted_by_the_surer_of_gyro_and_gravity(found, ratio, spread, doubted):
    assert (odd_speed(found[0], TurnCount(ratio, spread, 0.1)) is not None) == doubted
