"""Where a channel stands still and where it moves, however it was logged."""

from __future__ import annotations

import numpy as np
import pytest
from pulse_trains import Output, rows_of

from benchrig.capture.recording import Pulses
from benchrig.measure.pulses.steps import SHORTEST_HOLD, jitter, take_apart

PROGRAM = [(0.0, 1500), (2.0, 1900), (3.0, 1100), (4.0, 1500)]


def logged(rate=200.0, duration=6.0, seed=1, **options):
    rng = np.random.default_rng(seed)
    return Output(PROGRAM, **options).logged(rows_of(duration, rate), rng)


@pytest.mark.parametrize("rate", [50.0, 100.0, 333.0])
@pytest.mark.parametrize("noise", [0.0, 2.0])
def test_every_hold_of_a_program_is_found_at_its_pulse(rate, noise):
    steps = take_apart(logged(rate, jitter=noise))
    assert [round(h.value * 1e6) for h in steps.holds] == pytest.approx([1500, 1900, 1100, 1500], abs=1)
    assert [h.start for h in steps.holds] == pytest.approx([0, 2, 3, 4], abs=0.04)


def test_a_slow_move_is_no_hold():
    steps = take_apart(logged(limit=1600.0))
    assert [round(h.value * 1e6) for h in steps.holds] == [1500, 1900, 1100, 1500]
    assert [m.change * 1e6 for m in steps.moves()] == pytest.approx([400, -800, 400], abs=2)


def test_a_stay_shorter_than_the_least_is_no_hold():
    rows = np.arange(0.0, 3.0, 0.005)
    width = np.where(rows < 1.0, 1500e-6, 1700e-6)
    brief = (rows >= 1.0) & (rows < 1.0 + SHORTEST_HOLD - 0.02)
    steps = take_apart(Pulses(rows, np.where(brief, 1900e-6, width)))
    assert [round(h.value * 1e6) for h in steps.holds] == [1500, 1700]


def test_a_logger_that_writes_only_changes_still_shows_the_holds():
    full = logged()
    changed = np.flatnonzero(np.diff(full.width, prepend=np.nan) != 0)
    sparse = Pulses(np.append(full.time[changed], full.time[-1]), np.append(full.width[changed], full.width[-1]))
    assert [round(h.value * 1e6) for h in take_apart(sparse).holds] == [1500, 1900, 1100, 1500]


def test_jitter_is_measured_and_a_move_is_none():
    rng = np.random.default_rng(3)
    quiet = np.full(1000, 1500e-6) + rng.normal(0, 2e-6, 1000)
    assert jitter(quiet) == pytest.approx(2e-6, rel=0.1)
    assert jitter(np.linspace(1100e-6, 1900e-6, 1000)) < 0.1e-6


def test_a_jittery_hold_is_one_hold():
    assert len(take_apart(logged(jitter=4.0, seed=7)).holds) == 4


@pytest.mark.parametrize("noise", [0.0, 1.5])
def test_the_uncertainty_of_a_hold_is_what_its_errors_are(noise):
    pulls = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        true = rng.uniform(1400, 1600)
        whole = np.round(true + rng.normal(0, noise, 150)) if noise else np.full(150, round(true))
        hold = take_apart(Pulses(np.arange(150) * 0.02, whole * 1e-6)).holds[0]
        pulls.append((hold.value * 1e6 - true) / (hold.uncertainty * 1e6))
    assert 0.6 < np.std(pulls) < 1.4
