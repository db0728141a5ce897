"""Noise and lines hold under another unit, another order of stretches, another turn of the rig, another rate."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.measure.noise.aliases import origins, seen_at
from benchrig.measure.noise.allan import deviation
from benchrig.measure.noise.reading import read_noise
from benchrig.measure.noise.spectrum import spectrum_of
from benchrig.measure.noise.vibration import find_lines

SEEDS = st.integers(0, 2**32 - 1)


def white(seed, count, channels=None):
    rng = np.random.default_rng(seed)
    return rng.normal(size=count if channels is None else (count, channels))


@given(SEEDS, st.floats(1e-6, 1e6), st.floats(-100, 100))
@settings(max_examples=20, deadline=None)
def test_noise_grows_with_its_unit_and_knows_no_bias(seed, scale, bias):
    series = white(seed, 3000)
    one, other = read_noise([series], 0.01), read_noise([scale * (series + bias)], 0.01)
    if one.white.value is None:  # chance alone makes about one white series in three hundred unlike white noise
        assert other.white.value is None
        return
    assert other.white.value == pytest.approx(scale * one.white.value, rel=1e-5)
    assert other.white.uncertainty == pytest.approx(scale * one.white.uncertainty, rel=1e-5)


@given(SEEDS, st.randoms(use_true_random=False))
@settings(max_examples=10, deadline=None)
def test_the_order_of_stretches_does_not_matter(seed, shuffler):
    parts = list(np.split(white(seed, 4000), [700, 1500, 3100]))
    shuffled = shuffler.sample(parts, len(parts))
    assert read_noise(shuffled, 0.01).white.value == pytest.approx(read_noise(parts, 0.01).white.value, rel=1e-9)


@given(SEEDS, st.floats(1e-4, 10.0))
@settings(max_examples=10, deadline=None)
def test_faster_samples_of_one_series_are_its_noise_at_another_time_scale(seed, step):
    series = white(seed, 500)
    assert deviation(series, step, [1, 7]) == pytest.approx(deviation(series, 1.0, [1, 7]))
    assert deviation(series, step, [1, 7], "TDEV") == pytest.approx(step * deviation(series, 1.0, [1, 7], "TDEV"))


@given(SEEDS)
@settings(max_examples=8, deadline=None)
def test_time_run_backwards_has_the_same_noise(seed):
    series = np.cumsum(white(seed, 800)) * 0.1 + white(seed + 1, 800)
    for kind in ("OADEV", "MDEV", "OHDEV", "TOTDEV"):
        back = deviation(series[::-1].copy(), 1.0, [1, 5, 40], kind)
        assert back == pytest.approx(deviation(series, 1.0, [1, 5, 40], kind), rel=1e-7)


@given(SEEDS, st.floats(8.0, 42.0))
@settings(max_examples=10, deadline=None)
def test_a_line_keeps_its_frequency_when_the_rig_is_turned(seed, frequency):
    turn, _ = np.linalg.qr(white(seed, 3, 3))
    time = np.arange(1500) / 100
    shaking = np.outer(np.sin(2 * np.pi * frequency * time), [3.0, -2.0, 1.0]) + white(seed + 1, 1500, 3)
    (still,) = find_lines(spectrum_of([shaking], 0.01, 1.0))
    (turned,) = find_lines(spectrum_of([shaking @ turn.T], 0.01, 1.0))
    assert turned.frequency == pytest.approx(still.frequency, abs=5 * np.hypot(still.uncertainty, turned.uncertainty))


@given(st.floats(0.1, 5000.0), st.floats(20.0, 1000.0))
def test_a_frequency_is_always_among_those_its_line_can_be(frequency, rate):
    seen = seen_at(frequency, rate)
    assert 0 <= seen <= rate / 2 * (1 + 1e-12)
    assert any(origin.frequency == pytest.approx(frequency, abs=1e-6) for origin in origins(seen, 0.0, rate, 5001.0))
