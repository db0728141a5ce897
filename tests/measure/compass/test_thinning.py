"""A long recording is thinned before the fit: the results stay, the minutes do not."""

from dataclasses import replace

import numpy as np
import pytest

from benchrig.measure.compass import thinning
from benchrig.measure.compass.iron import fit_iron
from benchrig.measure.compass.thinning import thinned

STEP = 0.002


@pytest.fixture(autouse=True)
def _counts_as_long(monkeypatch):
    monkeypatch.setattr(thinning, "LONG", 10_000)


@pytest.fixture(scope="module")
def fast(turned):
    """Give two turns at 500 Hz with a noisy compass and a unit that is not exact: 14,000 rows."""
    gyro = np.eye(3) + np.array([[0.01, 0.005, 0], [0, -0.008, 0.004], [0.003, 0, 0.006]])
    return turned(gyro=gyro, offset=(0.1, -0.2, 0.15), delay=0.01, noise=0.6e-6, step=STEP).stretch


def test_hard_iron_of_a_thinned_recording_is_the_same_within_a_tenth_of_its_uncertainty(fast, monkeypatch):
    short = thinned(fast)
    assert short.step == pytest.approx(1 / thinning.RATE)
    assert len(short.time) < len(fast.time) / 9
    monkeypatch.setattr(thinning, "LONG", len(fast.time) + 1)
    # all readings of both: so that the noise is the same
    monkeypatch.setattr(thinning, "SAMPLES", len(fast.time))
    whole, few = fit_iron([thinned(fast)]), fit_iron([short])
    spread = np.hypot(np.sqrt(np.diag(whole.hard_covariance)), 0.1e-6)
    assert (np.abs(few.hard - whole.hard) < 0.1 * spread).all()
    assert (np.abs(few.earth - whole.earth) < 0.1 * np.sqrt(np.diag(whole.earth_covariance))).all()
    assert few.delay == pytest.approx(whole.delay, abs=3e-4)


def test_readings_that_come_slower_than_the_nodes_are_moved_to_them(turned):
    exact = turned(step=STEP).stretch
    # 30 readings a second: between the nodes, never on all of them
    slow = exact.chosen[7::17]
    sparse = replace(exact, chosen=slow, reading=exact.reading[slow])
    short = thinned(sparse)
    assert np.abs(short.reading - exact.reading[short.chosen * 10]).max() < 0.05e-6


def test_a_short_recording_is_taken_as_it_is(turned):
    stretch = turned().stretch
    kept = thinned(stretch)
    assert kept.step == stretch.step
    assert np.array_equal(kept.rate, stretch.rate)
    assert np.array_equal(kept.reading, stretch.reading)
    assert np.array_equal(kept.felt, stretch.felt)


def test_gravity_at_rests_is_never_thinned_away(turned, monkeypatch):
    stretch = turned().stretch
    monkeypatch.setattr(thinning, "SAMPLES", 5)
    kept = thinned(stretch)
    assert kept.force_spread.tolist() == [0.03, 0.5, 0.5, 0.5, 0.5, 0.5, 0.03]
    assert len(kept.chosen) == 5
