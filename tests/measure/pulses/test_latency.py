"""How late a channel answers its command, and when that cannot be told."""

from __future__ import annotations

import numpy as np
import pytest
from pulse_trains import Output, rows_of, sweep

from benchrig.measure.pulses.latency import command_of, latency_of
from benchrig.measure.pulses.steps import take_apart


def pair(latency, *, rate=200.0, seed=0, sweeps=3, frame=0.02):
    rng = np.random.default_rng(seed)
    start = rng.uniform(2.0, 2.1)
    program = [(0.0, 1520)] + [s for k in range(sweeps) for s in sweep(start + 4.013 * k, 1520, 1120, 1920, 0.8137)]
    rows = rows_of(4.0 * sweeps + 4.0, rate)
    command = Output(program, frame=0.004).logged(rows, rng)
    channel = Output(program, frame=frame, latency=latency, phase=rng.uniform(0, frame), limit=4000).logged(rows, rng)
    return take_apart(command), take_apart(channel), 1 / rate


@pytest.mark.parametrize("latency", [0.005, 0.030, 0.120])
def test_the_wait_from_command_to_changed_pulse_is_found_and_its_uncertainty_is_honest(latency):
    # a command is renewed every 4 ms; a pulse waits half a frame on average
    true = latency + 0.010 - 0.002
    pulls = []
    for seed in range(25):
        command, channel, row = pair(latency, seed=seed)
        found = latency_of(command, channel, 0.0, 20.0, row)
        pulls.append((found.value - true) / found.uncertainty)
    assert abs(np.mean(pulls)) < 1.0
    assert 0.4 < np.sqrt(np.mean(np.square(pulls))) < 1.6


def test_rows_too_slow_for_the_latency_give_none_and_say_so():
    command, channel, row = pair(0.02, rate=20.0, sweeps=1)
    found = latency_of(command, channel, 0.0, 20.0, row)
    assert found.value is None
    assert "steps in rows of 50 ms show: sweep more often, or record more rows a second" in found.reason


def test_a_pulse_before_its_command_shows_exchanged_columns():
    command, channel, row = pair(0.03)
    assert "before its command" in latency_of(channel, command, 0.0, 20.0, row).reason


def test_one_step_is_too_few():
    rng = np.random.default_rng(0)
    rows = rows_of(6.0, 200)
    steps = take_apart(Output([(0.0, 1500), (2.0, 1900)]).logged(rows, rng))
    assert latency_of(steps, steps, 0.0, 6.0, 0.005).value is None


def test_the_command_is_the_one_of_the_same_name_or_the_only_one_that_steps():
    command, channel, _ = pair(0.03)
    still = take_apart(Output([(0.0, 1500)]).logged(rows_of(16.0, 200), np.random.default_rng(0)))
    assert command_of("front", channel, {"front": still, "stick": command}, 0.0, 20.0) == "front"
    assert command_of("front", channel, {"other": still, "stick": command}, 0.0, 20.0) == "stick"
    assert command_of("front", channel, {"one": command, "two": command}, 0.0, 20.0) is None
    assert command_of("front", channel, {}, 0.0, 20.0) is None
