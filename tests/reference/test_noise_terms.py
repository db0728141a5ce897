"""What each kind of noise makes of the Allan deviation, where it is read, and how data sheets say it (I19 to I22).

Sources, with what is known of each:

- IEEE Std 952-1997, annex C: slopes -1, -1/2, 0, +1/2, +1; the read points Q at √3 s, N at 1 s, B at the flat part
  divided by 0.664, K at 3 s (read points confirmed through quotations; the annex's formulas from memory). A widely
  copied text reads K at 3000 s, which is wrong by √1000.
- Degrees of freedom: C. A. Greenhall, W. J. Riley, 2003, and the simple formulas of NIST SP 1065, 5.4.1, both as coded
  in the public library allantools 2024.6 (confirmed through it).
- A data sheet's white noise, PS-MPU-6000A-00 rev. 3.4: 0.005 deg/s/√Hz (confirmed); conversions by arithmetic.
"""

from __future__ import annotations

import allantools
import numpy as np
import pytest

from benchrig.measure.noise.allan import deviation
from benchrig.measure.noise.allan_design import TERMS, design
from benchrig.measure.noise.measure import noise_of
from benchrig.measure.noise.reading import read_noise
from benchrig.signals.body import EvenRecording

STEP = 0.05
SIZE = 0.7
KINDS = {"quantisation": -2.0, "white": -1.0, "flicker": 0.0, "random walk": 1.0, "ramp": 2.0}
"""Slope of the variance."""


def made(kind, count, rng):
    """Make a series of one kind of noise of size SIZE, by its spectrum or by its definition."""
    white = rng.normal(size=count + 1)
    if kind == "white":
        return white[:count] * SIZE / np.sqrt(STEP)
    if kind == "random walk":
        return np.cumsum(white[:count]) * SIZE * np.sqrt(STEP)
    if kind == "quantisation":
        # white errors of the angle: 3 Q²/τ² is 3 var/τ² of the second difference's 6 var/(2 τ²)
        return np.diff(white) * SIZE / STEP
    if kind == "ramp":
        return SIZE * STEP * np.arange(count)
    frequency = np.fft.rfftfreq(8 * count, STEP)
    frequency[0] = np.inf
    phases = rng.normal(size=len(frequency)) + 1j * rng.normal(size=len(frequency))
    return np.fft.irfft(phases * SIZE * np.sqrt(2 * count / (np.pi * frequency * STEP)))[:count]


READ_AT = {
    "quantisation": (np.sqrt(3.0), 1.0),
    "white": (1.0, 1.0),
    "flicker": (4.0, np.sqrt(2 * np.log(2) / np.pi)),
    "random walk": (3.0, 1.0),
    "ramp": (np.sqrt(2.0), 1.0),
}
"""Averaging time at which the deviation is the size, times the factor."""


@pytest.mark.parametrize("kind", TERMS)
def test_i19_each_noise_reads_its_size_at_its_read_point(kind):
    at, factor = READ_AT[kind]
    factor_count = round(at / STEP)
    rng = np.random.default_rng(31)
    series = [made(kind, 40_000, rng) for _ in range(4)]
    squares = [deviation(one, STEP, [factor_count])[0] ** 2 for one in series]
    # the read point falls between two samples: the slope carries it there
    read = np.sqrt(np.mean(squares)) * (at / (factor_count * STEP)) ** (KINDS[kind] / 2)
    assert read == pytest.approx(factor * SIZE, rel=0.04)


def test_i19_the_flat_part_is_0_664_of_the_bias_instability():
    assert READ_AT["flicker"][1] == pytest.approx(0.6642825, abs=5e-8)
    assert design([1000], STEP).columns[:, 2] == pytest.approx(0.6642825**2)


@pytest.mark.parametrize("kind", TERMS)
def test_i19_the_slopes_are_the_published_ones(kind):
    plan = design([100_000], STEP)
    column = plan.columns[:, TERMS.index(kind)]
    assert np.diff(np.log2(column)) == pytest.approx(KINDS[kind])


@pytest.mark.parametrize("kind", TERMS)
def test_i19_each_noise_has_its_slope(kind):
    series = made(kind, 60_000, np.random.default_rng(37))
    factors = np.array([2, 8, 32]) * (8 if kind in {"flicker", "random walk"} else 1)
    slope = np.polyfit(np.log(factors), np.log(deviation(series, STEP, factors)), 1)[0]
    assert slope == pytest.approx(KINDS[kind] / 2, abs=0.06)


def test_i20_a_data_sheets_density_is_root_two_of_the_random_walk():
    # 0.005 deg/s/√Hz, one-sided, over 50 Hz at 100 samples a second: 0.0354 deg/s; the deviation at 1 s is n/√2
    noise = np.random.default_rng(41).normal(size=200_000) * 0.005 * np.sqrt(50.0)
    reading = read_noise([noise], 0.01)
    assert reading.white.value == pytest.approx(0.003536, rel=0.01)
    assert reading.white.value * np.sqrt(2.0) == pytest.approx(0.005, rel=0.01)
    assert deviation(noise, 0.01, [100])[0] == pytest.approx(0.003536, rel=0.05)


def test_i20_an_angle_random_walk_of_0_005_deg_by_root_second_is_0_300_by_root_hour():
    # N itself, whose square is a two-sided spectrum: × 60
    rng = np.random.default_rng(42)
    rate = np.radians(rng.normal(size=(30_000, 3)) * 0.005 / np.sqrt(0.01))
    clear = np.zeros(len(rate), dtype=np.bool_)
    even = EvenRecording(
        np.arange(len(rate)) * 0.01,
        0.01,
        clear.astype(np.int64),
        rate,
        rng.normal(size=rate.shape),
        None,
        None,
        clear,
        clear,
    )
    said = {quantity.name: quantity for quantity in noise_of(even, [(0, len(rate))]).quantities}
    assert said["gyro angle random walk, x"].value == pytest.approx(0.300, rel=0.03)
    assert said["gyro angle random walk, x"].unit == "°/√h"
    assert said["gyro noise density, x"].value == pytest.approx(0.005 * np.sqrt(2.0), rel=0.03)


def test_i21_a_density_over_a_band_gives_the_published_rms():
    # 0.005 deg/s/√Hz over 100 Hz: 0.05 deg/s, as the data sheet says beside it
    noise = np.random.default_rng(43).normal(size=100_000) * 0.05
    assert read_noise([noise], 0.005).white.value * np.sqrt(2.0) == pytest.approx(0.005, rel=0.01)


@pytest.mark.parametrize(("kind", "alpha"), [("white", 0), ("flicker", -1), ("random walk", -2)])
def test_the_degrees_of_freedom_are_the_published_ones(kind, alpha):
    count = 20_000
    plan = design([count], STEP)
    squares = np.zeros(5)
    squares[TERMS.index(kind)] = 1.0
    expected = [
        allantools.edf_greenhall(alpha, 2, int(m), count + 1, overlapping=True, modified=False) for m in plan.factors
    ]
    assert plan.freedom(squares)[2:] == pytest.approx(np.array(expected)[2:], rel=0.14)


def test_the_degrees_of_freedom_of_neighbouring_white_samples_are_the_simple_formulas():
    plan = design([20_000], STEP)
    squares = np.array([0.0, 1.0, 0.0, 0.0, 0.0])
    assert plan.freedom(squares)[0] == pytest.approx(allantools.edf_simple(20_001, 1, 0), rel=0.02)
