"""Noise of every kind, made by other means than it is read by: sizes, uncertainties, and what cannot be told."""

from __future__ import annotations

import os

import numpy as np
import pytest
from scipy.signal import butter, lfilter

from benchrig.measure.noise.reading import read_noise

COUNT = int(os.environ.get("BENCHRIG_COUNT", "25"))
STEP = 0.01
WARM_UP = 200
"""Samples dropped, so that a filter starts within its noise."""


def white(size, count, rng):
    """Make white noise whose two-sided spectrum is size²."""
    return rng.normal(size=count) * size / np.sqrt(STEP)


def flicker(size, count, rng):
    """Make noise whose two-sided spectrum is size²/(2πf), from a spectrum four times as long."""
    frequency = np.fft.rfftfreq(4 * count, STEP)
    frequency[0] = np.inf
    phases = rng.normal(size=len(frequency)) + 1j * rng.normal(size=len(frequency))
    return np.fft.irfft(phases * size * np.sqrt(count / (np.pi * frequency * STEP)))[:count]


def walk(size, count, rng):
    """Make a random walk that strays by size·√t."""
    return np.cumsum(rng.normal(size=count)) * size * np.sqrt(STEP)


def series(seconds, rng, *, n=1.0, b=0.0, k=0.0, drift=0.0, cut_off=None):
    count = round(seconds / STEP) + WARM_UP
    values = white(n, count, rng)
    if cut_off:
        values = lfilter(*butter(2, 2 * cut_off * STEP), values)
    values = values + drift * STEP * np.arange(count)
    if b:
        values = values + flicker(b, count, rng)
    if k:
        values = values + walk(k, count, rng)
    return values[WARM_UP:]


def pulls(level, true, readings):
    found = [getattr(reading, level) for reading in readings]
    return np.array([(one.value - true) / one.uncertainty for one in found if one.value is not None])


@pytest.mark.parametrize(
    ("stretches", "noise"),
    [
        ([3.0] * 6, {}),
        ([30.0], {}),
        ([30.0], {"cut_off": 20.0}),
        ([300.0], {"cut_off": 5.0}),
        ([300.0], {"b": 0.5}),
        ([300.0], {"k": 0.1}),
    ],
    ids=["six poses", "30 s", "filter of 20 Hz", "filter of 5 Hz", "with flicker", "with random walk"],
)
def test_the_density_is_off_by_about_its_uncertainty(stretches, noise):
    rng = np.random.default_rng(11)
    readings = [read_noise([series(s, rng, **noise) for s in stretches], STEP) for _ in range(COUNT)]
    found = pulls("white", 1.0, readings)
    assert len(found) >= 0.95 * COUNT
    assert abs(found.mean()) < 0.8 + 3 / np.sqrt(COUNT)
    assert 0.4 < np.sqrt(np.mean(found**2)) < 1.4


def test_three_seconds_behind_a_low_filter_give_a_wide_uncertainty_or_none():
    rng = np.random.default_rng(3)
    readings = [read_noise([series(3.0, rng, cut_off=20.0)], STEP) for _ in range(COUNT)]
    found = pulls("white", 1.0, readings)
    assert np.sqrt(np.mean(found**2)) < 1.4
    assert np.mean(np.abs(found) > 3) < 0.05
    assert all(
        r.white.value is not None or "too few to tell the noise from the unit's own filter" in r.white.reason
        for r in readings
    )


def test_the_bias_instability_is_off_by_about_its_uncertainty():
    rng = np.random.default_rng(7)
    readings = [read_noise([series(300.0, rng, b=1.0)], STEP) for _ in range(COUNT)]
    found = pulls("flicker", 1.0, readings)
    assert len(found) >= 0.9 * COUNT
    assert 0.5 < np.sqrt(np.mean(found**2)) < 1.4


def test_the_random_walk_is_off_by_about_its_uncertainty():
    rng = np.random.default_rng(9)
    readings = [read_noise([series(600.0, rng, k=1.0)], STEP) for _ in range(COUNT)]
    found = pulls("walk", 1.0, readings)
    assert len(found) >= 0.5 * COUNT
    assert 0.5 < np.sqrt(np.mean(found**2)) < 1.5


@pytest.mark.parametrize(
    "noise", [{}, {"k": 0.1}, {"drift": 0.02}, {"drift": 0.2}], ids=["white", "walk", "drift", "strong drift"]
)
def test_no_bias_instability_is_read_where_there_is_none(noise):
    rng = np.random.default_rng(13)
    readings = [read_noise([series(200.0, rng, **noise)], STEP) for _ in range(COUNT)]
    assert [reading.flicker.value for reading in readings] == [None] * COUNT


@pytest.mark.parametrize("noise", [{}, {"b": 0.5}, {"drift": 0.02}, {"drift": 0.2}], ids=str)
def test_no_random_walk_is_read_where_there_is_none(noise):
    rng = np.random.default_rng(17)
    readings = [read_noise([series(200.0, rng, **noise)], STEP) for _ in range(COUNT)]
    assert [reading.walk.value for reading in readings] == [None] * COUNT


def test_what_cannot_be_told_has_a_bound_and_a_time_that_shows_it():
    rng = np.random.default_rng(19)
    short = [read_noise([series(60.0, rng, b=0.5)], STEP).flicker for _ in range(10)]
    assert all(level.value is None and "outweighs" in level.reason for level in short)
    assert np.mean([level.bound > 0.5 for level in short]) >= 0.8
    level = short[0]
    long = read_noise([series(level.needed, rng, b=level.bound)], STEP).flicker
    assert long.value == pytest.approx(level.bound, rel=0.5)


def test_several_stretches_are_never_averaged_across():
    rng = np.random.default_rng(23)
    parts = [series(10.0, rng) for _ in range(6)]
    apart = read_noise([part + 50.0 * k for k, part in enumerate(parts)], STEP)
    together = read_noise(parts, STEP)
    assert apart.white.value == pytest.approx(together.white.value, rel=1e-9)


def test_a_recording_of_two_seconds_shows_nothing_and_says_how_long_it_takes():
    reading = read_noise([series(2.0, np.random.default_rng(1))], STEP)
    assert reading.white.value is None
    assert reading.white.reason == "only 2.0 s lie still; it takes 3 s, and 30 s are better"
    assert len(reading.tau) == 0


def test_no_stretch_at_all_shows_nothing():
    assert read_noise([], STEP).white.reason.startswith("only 0.0 s lie still")


def test_a_channel_that_never_changes_has_no_noise_to_read():
    assert read_noise([np.full(1000, 3.2)], STEP).white.reason == "the channel never changes"


def test_noise_below_half_a_count_is_not_read():
    values = np.round(series(30.0, np.random.default_rng(4)) / 60.0) * 60.0
    reading = read_noise([values], STEP)
    assert reading.white.value is None
    assert "smaller than half a count" in reading.white.reason


def test_a_hum_is_not_taken_for_noise():
    rng = np.random.default_rng(6)
    values = series(100.0, rng) + 40.0 * np.sin(2 * np.pi * 0.31 * np.arange(10000) * STEP)
    reading = read_noise([values], STEP)
    assert reading.white.value is None
    assert "not that of noise alone" in reading.white.reason


def test_the_curve_has_uncertainties_that_grow_with_the_averaging_time():
    reading = read_noise([series(100.0, np.random.default_rng(8))], STEP)
    relative = reading.spread / reading.deviation
    assert relative[0] < 0.02
    assert 0.1 < relative[-1] < 0.5


@pytest.mark.parametrize("samples", [3000, 60000])
def test_a_filter_of_the_unit_leaves_every_uncertainty_above_zero(samples):
    """Averaging over 80 ms takes more from the shortest times than a white curve has there."""
    values = np.convolve(np.random.default_rng(9).normal(size=samples + 7), np.full(8, 1 / 8), "valid")
    reading = read_noise([values], STEP)
    assert reading.white.value is not None
    assert (reading.spread > 0).all()


def test_a_channel_that_flips_between_two_values_has_no_noise_to_read():
    reading = read_noise([-9.8 + 0.001 * np.tile([1.0, -1.0], 500)], STEP)
    assert reading.white.reason == "the channel repeats one pattern, and no noise does that"


def test_stretches_of_a_few_samples_show_nothing():
    reading = read_noise([np.random.default_rng(1).normal(size=5)] * 4, 0.2)
    assert reading.white.value is None
    assert "record more of them a second" in reading.white.reason
