"""Parameters of a fit that is not linear, and how sure they are."""

import numpy as np
import pytest

from benchrig.measure.sensor.parameters import Belief, fit_parameters

TRUE = np.array([2.0, 0.7])
AT = np.linspace(0.0, 3.0, 40)


def decay(parameters):
    return parameters[0] * np.exp(-parameters[1] * AT)


def fitted(noise, spread, seed=0):
    seen = decay(TRUE) + np.random.default_rng(seed).normal(0, noise, len(AT))
    prior = Belief.independent(np.array([1.0, 1.0]), np.array([5.0, 5.0]))
    return fit_parameters(lambda p: (decay(p) - seen) / spread, prior)


def test_the_pulls_of_a_fit_have_a_spread_of_one():
    pulls = np.array([(f.value - TRUE) / f.uncertainty for f in (fitted(0.05, 0.05, k) for k in range(150))])
    assert pulls.std(axis=0) == pytest.approx([1, 1], abs=0.2)
    assert np.abs(pulls.mean(axis=0)).max() < 0.3


def test_observations_that_scatter_more_than_was_stated_widen_the_uncertainty():
    honest, hopeful = fitted(0.05, 0.05), fitted(0.05, 0.005)
    assert hopeful.rms == pytest.approx(10, rel=0.3)
    assert hopeful.uncertainty == pytest.approx(honest.uncertainty, rel=0.3)


def test_what_no_observation_tells_stays_as_unsure_as_it_was_before():
    prior = Belief.independent(np.array([0.0, 3.0]), np.array([10.0, 0.5]))
    found = fit_parameters(lambda p: np.array([p[0] - 1.0, p[0] - 1.2]) / 0.1, prior)
    assert found.value[1] == pytest.approx(3.0)
    assert found.uncertainty[1] == pytest.approx(0.5)
    assert found.freedom == pytest.approx(1.0, abs=0.01)


def test_a_start_far_off_is_led_home():
    seen = decay(TRUE)
    prior = Belief.independent(np.array([-4.0, 6.0]), np.array([100.0, 100.0]))
    found = fit_parameters(lambda p: (decay(p) - seen) / 0.001, prior)
    assert found.value == pytest.approx(TRUE, abs=1e-3)
