"""Centre, ends and speed of one sweep: as they were made, or not at all."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pulse_trains import Output, rows_of, sweep

from benchrig.measure.pulses.steps import take_apart
from benchrig.measure.pulses.sweep import measure_sweep

US = 1e6


def taken(program, *, rate=200.0, seed=0, duration=8.0, **options):
    rng = np.random.default_rng(seed)
    return take_apart(Output(program, phase=rng.uniform(0, 0.02), **options).logged(rows_of(duration, rate), rng))


def usual(hold=0.9, **options):
    return taken([(0.0, 1520), *sweep(2.0, 1520, 1110, 1925, hold)], **options)


@pytest.mark.parametrize("noise", [0.0, 1.0, 2.5])
@pytest.mark.parametrize("rate", [100.0, 333.0])
def test_centre_and_ends_are_found(noise, rate):
    found = measure_sweep(usual(jitter=noise, rate=rate, limit=3000), 1.5, 6.0)
    assert found.centre.value * US == pytest.approx(1520, abs=2)
    assert found.lowest.value * US == pytest.approx(1110, abs=2)
    assert found.highest.value * US == pytest.approx(1925, abs=2)
    assert found.first * US == pytest.approx(405, abs=3)


@pytest.mark.parametrize("limit", [900.0, 2000.0, 4500.0])
@pytest.mark.parametrize("rate", [100.0, 250.0])
def test_the_speed_is_that_of_a_limited_pulse(limit, rate):
    found = measure_sweep(usual(limit=limit, rate=rate, hold=1.4), 1.5, 7.5)
    assert found.speed.value * US == pytest.approx(limit, rel=0.02)


def test_the_speeds_uncertainty_is_what_its_errors_are():
    pulls = []
    for seed in range(30):
        steps = usual(limit=2000, rate=150.0, seed=seed, jitter=1.0)
        speed = measure_sweep(steps, 1.5, 6.0).speed
        pulls.append((speed.value * US - 2000) / (speed.uncertainty * US))
    assert 0.3 < np.sqrt(np.mean(np.square(pulls))) < 2.0


def test_a_pulse_that_jumps_has_no_speed_and_says_how_fast_it_went():
    speed = measure_sweep(usual(), 1.5, 6.0).speed
    assert speed.value is None
    assert "too few pulses on the way to show a speed" in speed.reason


def test_a_hands_sweep_has_no_speed_of_its_own():
    times = np.arange(2.0, 5.0, 0.02)
    waved = 1520 + 400 * np.sin(2 * np.pi * (times - 2.0) / 3.0) ** 3
    program = [(0.0, 1520), *zip(times, waved, strict=True), (5.0, 1520)]
    found = measure_sweep(taken(program), 1.5, 6.0)
    assert found.speed.value is None
    assert found.centre.value * US == pytest.approx(1520, abs=0.1)
    assert "did not stay there" in found.lowest.reason


def test_a_move_of_uneven_speed_is_a_hands():
    times = np.arange(2.0, 3.0, 0.02)
    eased = 1520 + 200 * (1 - np.cos(np.pi * (times - 2.0)))
    program = [(0.0, 1520), *zip(times, eased, strict=True), (3.0, 1920), (4.5, 1120), (6.0, 1520)]
    assert "it does not move evenly, as by hand" in measure_sweep(taken(program), 1.5, 7.5).speed.reason


def test_moves_of_unlike_speeds_are_a_hands():
    ramps = [(2.0 + 0.02 * k, 1520 + 8 * k) for k in range(51)] + [(4.0 + 0.02 * k, 1920 - 16 * k) for k in range(51)]
    program = [(0.0, 1520), *ramps, (6.0, 1520)]
    assert "unlike speeds" in measure_sweep(taken(program), 1.5, 7.5).speed.reason


def test_a_sweep_as_slow_as_its_command_shows_no_limit_of_the_unit():
    times = np.arange(2.0, 3.0, 0.005)
    program = [(0.0, 1520), *zip(times, 1520 + 400 * (times - 2.0), strict=True), (3.0, 1920), (5.0, 1520)]
    command = taken(program, rate=200.0)
    followed = measure_sweep(taken(program), 1.5, 4.0, command=command)
    assert followed.speed.reason == "the command itself moved no faster, so the pulse's own limit is not shown"


def test_an_end_that_was_only_touched_is_not_told():
    found = measure_sweep(taken([(0.0, 1520), (2.0, 1900), (2.08, 1100), (3.0, 1520)]), 1.5, 5.0)
    assert found.highest.value is None
    assert "it went to 1900 µs and did not stay there" in found.highest.reason
    assert found.lowest.value * US == pytest.approx(1100)


def test_a_sweep_to_one_side_shows_one_end():
    found = measure_sweep(taken([(0.0, 1520), (2.0, 1900), (3.0, 1520)]), 1.5, 5.0)
    assert found.lowest.value is None
    assert "never held a pulse 50 µs shorter than where it began" in found.lowest.reason


def test_a_sweep_that_does_not_come_back_has_no_centre():
    found = measure_sweep(taken([(0.0, 1520), (2.0, 1900), (3.0, 1100), (4.0, 1565)]), 1.5, 6.0)
    assert found.centre.value is None
    assert "it began at 1520 µs and ended at 1565 µs" in found.centre.reason


def test_a_motor_rests_at_its_lowest_pulse():
    found = measure_sweep(taken([(0.0, 1050), (2.0, 1900), (4.0, 1050)]), 1.5, 6.0, is_motor=True)
    assert found.lowest.value * US == pytest.approx(1050)
    assert found.centre.reason == "a motor rests at its lowest pulse, so a sweep shows no centre"


def test_a_still_channel_was_not_swept():
    assert measure_sweep(taken([(0.0, 1520)]), 1.5, 6.0) is None


def test_a_slow_creep_back_to_the_centre_widens_the_uncertainty():
    found = measure_sweep(taken([(0.0, 1520), (2.0, 1900), (3.0, 1100), (4.0, 1528)]), 1.5, 6.0)
    assert found.centre.value * US == pytest.approx(1524, abs=0.5)
    assert found.centre.uncertainty * US > 2.3
    assert found.centre.reason == "1520 µs before and 1528 µs after: a unit that levels itself adds to it"
    assert math.isfinite(found.centre.uncertainty)
