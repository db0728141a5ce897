"""Samples that a range cut off, told from the ends of a vibration."""

import numpy as np
import pytest

from benchrig.measure.noise.as_sampled import cut_off

SECONDS = np.arange(5000) / 1000


def counted(amplitude, largest=np.inf):
    """Sample a vibration in whole counts, in one channel of three."""
    values = np.zeros((len(SECONDS), 3))
    values[:, 0] = np.round(np.clip(amplitude * np.sin(2 * np.pi * 37.31 * SECONDS), -largest, largest))
    return values


@pytest.mark.parametrize("amplitude", [30.0, 100.3, 400.0])
def test_a_vibration_that_ends_by_itself_is_not_cut_off(amplitude):
    """Its largest values are met more often than those next to them, but not by so much."""
    assert not cut_off(counted(amplitude)).any()


@pytest.mark.parametrize("share", [0.8, 0.95])
def test_a_vibration_that_meets_the_end_of_a_range_is_marked_there(share):
    values = counted(400.0, largest=round(share * 400.0))
    assert (cut_off(values) == (np.abs(values[:, 0]) == np.abs(values[:, 0]).max())).all()


def test_noise_is_not_cut_off():
    assert not cut_off(np.round(np.random.default_rng(2).normal(0, 20.0, (5000, 3)))).any()
