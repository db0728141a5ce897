"""Stillness: on the bench and in the hand, never across a gap, never in a steady spin; and the bias it gives."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.signals.rests import LARGEST_BIAS, SHORTEST_REST, find_rests
from benchrig.signals.time_base import uniform

REST, TURN = ((0, 0, 0), 2.0), ((0, 40, 0), 1.0)
BACK = ((0, -40, 0), 1.0)


@pytest.fixture
def noisy(exact_stream):
    """Make an exact stream with the noise of a sensor on the bench, and of a hand in the spans given (s)."""

    def make(legs, hand=(), gyro_sd=0.1, seed=0, **wiring):
        even = exact_stream(legs, **wiring)
        rng = np.random.default_rng(seed)
        rate_sd, force_sd = np.full(len(even.time), gyro_sd), np.full(len(even.time), 0.004)
        for start, end in hand:
            inside = (even.time >= start) & (even.time < end)
            rate_sd[inside], force_sd[inside] = 1.8, 0.012
        rate = even.angular_rate + np.radians(rate_sd)[:, None] * rng.normal(size=even.angular_rate.shape)
        force = even.acceleration + 9.80665 * force_sd[:, None] * rng.normal(size=even.acceleration.shape)
        return replace(even, angular_rate=rate, acceleration=force)

    return make


def test_the_rests_between_moves_are_found_with_their_grades(noisy):
    even = noisy([REST, TURN, REST, BACK, REST], hand=[(3.0, 5.0)])
    rests = find_rests(even).rests
    assert [r.grade for r in rests] == ["bench", "hand", "bench"]
    spans = [(even.time[r.start], even.time[r.stop - 1]) for r in rests]
    for (start, end), (begins, ends) in zip(spans, [(0, 2), (3, 5), (6, 8)], strict=True):
        assert start == pytest.approx(begins, abs=0.3)
        assert end == pytest.approx(ends, abs=0.3)


def test_the_bias_comes_from_the_bench_and_covers_the_truth(noisy):
    true = np.radians([1.5, -2.0, 0.7])
    stillness = find_rests(noisy([REST, TURN, REST, BACK, REST], hand=[(3.0, 5.0)], bias=true))
    assert stillness.bias.value == pytest.approx(true, abs=np.radians(0.05))
    assert (np.abs(stillness.bias.value - true) < 4 * stillness.bias.uncertainty).all()
    assert (stillness.bias.uncertainty > 0).all()
    assert (stillness.bias.uncertainty < np.radians(0.3)).all()


@settings(max_examples=20, deadline=None)
@given(st.tuples(*[st.floats(-20, 20)] * 3), st.integers(0, 1000))
def test_any_bias_a_unit_may_have_is_found(exact_stream, degrees, seed):
    even = exact_stream([REST, TURN, REST, BACK, REST], bias=np.radians(degrees))
    noise = np.radians(0.1) * np.random.default_rng(seed).normal(size=even.angular_rate.shape)
    stillness = find_rests(replace(even, angular_rate=even.angular_rate + noise))
    if np.linalg.norm(np.radians(degrees)) < 0.95 * LARGEST_BIAS:
        assert np.degrees(stillness.bias.value) == pytest.approx(degrees, abs=0.1)


def test_the_bias_is_less_certain_where_the_rests_disagree(noisy):
    even = noisy([REST, TURN, REST, BACK, REST])
    drifting = replace(even, angular_rate=even.angular_rate + np.radians(0.05) * np.floor(even.time / 3.0)[:, None])
    steady, uneasy = (find_rests(stream).bias.uncertainty[[0, 2]] for stream in (even, drifting))
    assert (uneasy > 2 * steady).all()
    assert (uneasy > np.radians(0.02)).all()


@pytest.mark.parametrize("degrees_a_second", [12.0, 33.0, 200.0])
def test_a_steady_spin_is_not_a_rest(noisy, degrees_a_second):
    even = noisy([REST, REST, ((0, 0, 0), 5.0), REST, REST])
    spinning = (even.time > 4.0) & (even.time < 9.0)
    rate = even.angular_rate + np.where(spinning, np.radians(degrees_a_second), 0.0)[:, None] * [0, 0, 1]
    stillness = find_rests(replace(even, angular_rate=rate))
    assert len(stillness.rests) == 2
    assert even.time[stillness.rests[0].stop - 1] < 4.3
    assert even.time[stillness.rests[1].start] > 8.7
    assert np.degrees(stillness.bias.value) == pytest.approx([0, 0, 0], abs=0.1)


def test_no_rest_reaches_across_a_gap(noisy):
    even = noisy([REST, REST])
    segment = (even.time > 1.7).astype(np.int64)
    rests = find_rests(replace(even, segment=segment)).rests
    assert len(rests) == 2
    assert all(segment[r.start] == segment[r.stop - 1] for r in rests)
    assert len(find_rests(even).rests) == 1


def test_a_hold_shorter_than_the_shortest_is_none(noisy):
    short = ((0, 0, 0), SHORTEST_REST - 0.15)
    even = noisy([REST, ((0, 40, 0), 0.6), short, ((0, -40, 0), 0.6), REST], hand=[(2.0, 3.5)])
    assert len(find_rests(even).rests) == 2


def test_a_recording_that_never_lies_still_has_no_bias(exact_stream):
    even = exact_stream([((100, 60, 90), 3.0)])
    middle = slice(70, 230)  # the turn is under way from the first sample to the last
    fields = ("time", "segment", "angular_rate", "acceleration", "gyro_clipped", "accelerometer_clipped")
    stillness = find_rests(replace(even, **{name: getattr(even, name)[middle] for name in fields}))
    assert stillness.bias is None
    assert stillness.rests == ()


def test_too_few_samples_are_no_rest(exact_stream):
    even = exact_stream([((0, 0, 0), 0.03)])
    assert find_rests(even).rests == ()
    assert find_rests(even).bias is None


@pytest.mark.parametrize("factor", [np.pi / 180, 180 / np.pi])
def test_a_wrong_unit_of_the_gyro_does_not_hide_the_rests(noisy, factor):
    legs = [REST, TURN, REST, BACK, REST, ((150, 0, 0), 1.0), REST, ((-150, 0, 0), 1.0), REST]
    even = noisy(legs)
    wrong = replace(even, angular_rate=factor * even.angular_rate)
    assert len(find_rests(wrong).rests) == len(find_rests(even).rests) == 5


def test_a_noisy_gyro_raises_its_own_gate_and_says_so(noisy):
    quiet, loud = (find_rests(noisy([REST, TURN, REST, BACK, REST], gyro_sd=sd)) for sd in (0.1, 0.6))
    assert loud.bench_gyro_gate > quiet.bench_gyro_gate == pytest.approx(np.radians(0.5))
    assert len(loud.rests) == 3
    assert np.degrees(loud.gyro_noise) == pytest.approx(0.6, rel=0.3)


def test_a_simulated_bench_shows_a_rest_before_and_after_every_motion(simulated_recording, demo_airframe):
    recording = simulated_recording("knot", seed=4)
    even = uniform(recording, demo_airframe("knot").sensor)
    rests = find_rests(even).rests
    for prompt in recording.prompts:
        if prompt.name in ("level", "free"):
            continue
        assert any(even.time[r.start] < prompt.start + 0.6 for r in rests)
        assert any(even.time[r.stop - 1] > prompt.end - 0.6 for r in rests)
