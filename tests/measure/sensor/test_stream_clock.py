"""The clock of a stream: rate, jitter, lost samples, bunches."""

import numpy as np
import pytest

from benchrig.measure.sensor.stream_clock import stream_clock

EVEN = np.arange(5000) / 200


def test_an_even_clock_has_neither_jitter_nor_losses():
    clock = stream_clock(EVEN)
    assert clock.rate == pytest.approx(200)
    assert clock.jitter < 1e-9
    assert (clock.lost, clock.losses, clock.bunched) == (0, 0, False)


def test_jitter_is_the_spread_of_the_steps():
    rng = np.random.default_rng(0)
    clock = stream_clock(EVEN + rng.normal(0, 0.1e-3, len(EVEN)))
    assert clock.jitter == pytest.approx(0.1e-3 * np.sqrt(2), rel=0.05)  # both ends of a step jitter
    assert abs(clock.rate - 200) < 4 * clock.rate * clock.uncertainty + 1e-6


def test_lost_samples_are_counted_and_do_not_change_the_rate():
    kept = np.ones(len(EVEN), dtype=bool)
    kept[[100, 101, 102, 2000, 3000, 3001]] = False
    clock = stream_clock(EVEN[kept])
    assert (clock.lost, clock.losses) == (6, 3)
    assert clock.rate == pytest.approx(200)
    assert clock.worst == pytest.approx(0.020)


def test_samples_stamped_on_arrival_in_bunches_are_recognised_and_claim_no_losses():
    arrived = np.ceil(EVEN / 0.016) * 0.016 + np.arange(len(EVEN)) * 1e-9
    clock = stream_clock(arrived)
    assert clock.bunched
    assert clock.rate == pytest.approx(200, rel=0.01)
    assert clock.lost == 0


def test_stamps_rounded_to_milliseconds_are_no_bunches():
    clock = stream_clock(np.round(np.arange(5000) / 400, 3))
    assert not clock.bunched
    assert clock.rate == pytest.approx(400, rel=1e-3)
    assert clock.lost == 0


def test_the_rate_is_off_by_about_its_uncertainty():
    """Each stamp jitters by itself, so that the steps' errors cancel but for the two ends."""
    pulls = []
    for seed in range(200):
        found = stream_clock(np.arange(400) * 0.01 + np.random.default_rng(seed).normal(0, 0.5e-3, 400))
        pulls.append((found.step / 0.01 - 1) / found.uncertainty)
    assert 0.85 < np.std(pulls) < 1.15
