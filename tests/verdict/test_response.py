"""Gains and delay recovered from pulses whose law is known, in the frames and steps of a real output."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.capture.recording import Pulses
from benchrig.verdict.response import LONGEST_DELAY, measure_response, real_motion, update_instants

US = 1e-6
FRAME = 0.02  # s
RATE_GAIN = np.degrees(np.array([0.8, -0.5, 0.3])) * US  # s per rad/s
ANGLE_GAIN = np.degrees(np.array([-4.0, 2.5, 1.5])) * US  # s per rad


@pytest.fixture(scope="module")
def bench(measured):
    return measured("knot", seed=4, rate_hz=200.0)


@pytest.fixture(scope="module")
def motion(bench):
    return real_motion(bench)


@pytest.fixture(scope="module")
def answer(bench, motion):
    """Make the pulses of a known law: renewed every 20 ms, held in the rows between, in whole microseconds."""

    def make(rate_gain=RATE_GAIN, angle_gain=ANGLE_GAIN, delay=0.03, *, noise_us=0.0, stops_us=None):
        time = bench.even.time
        acted = np.floor(time / FRAME) * FRAME - delay
        seen = np.column_stack([np.interp(acted, time, column) for column in motion.T])
        move = seen @ np.concatenate([rate_gain, angle_gain])
        move = move + noise_us * US * np.random.default_rng(5).normal(size=len(move)) if noise_us else move
        move = np.clip(move, -stops_us * US, stops_us * US) if stops_us else move
        return Pulses(time, np.round((1520 * US + move) / US) * US)

    return make


def test_gains_and_delay_come_back_from_a_50_hz_frame_held_in_200_hz_rows(bench, motion, answer):
    found = measure_response(bench, motion, answer())
    assert found.delay == pytest.approx(0.030, abs=0.001)
    # where in a row of 5 ms the pulse was renewed is not known
    assert found.delay_uncertainty == pytest.approx(0.005 / np.sqrt(12), rel=0.2)
    assert found.to_rate == pytest.approx(RATE_GAIN, rel=0.03, abs=0.01 * RATE_GAIN.max())
    assert found.to_angle == pytest.approx(ANGLE_GAIN, rel=0.01, abs=0.002 * np.abs(ANGLE_GAIN).max())
    assert found.per_angle == pytest.approx(found.to_angle + found.to_rate)


@settings(max_examples=12, deadline=None)
@given(st.tuples(*[st.floats(-2, 2)] * 3, *[st.floats(-6, 6)] * 3), st.floats(0.005, 0.2))
def test_any_law_is_told_within_a_few_of_its_own_uncertainties(bench, motion, answer, gains_us, delay):
    rate_gain, angle_gain = np.degrees(np.reshape(gains_us, (2, 3))) * US
    found = measure_response(bench, motion, answer(rate_gain, angle_gain, delay, noise_us=1.0))
    # a hundredth on top, for the straight lines between rows
    size = np.abs(np.concatenate([rate_gain, angle_gain])).max() + np.degrees(0.05) * US
    assert (np.abs(found.to_rate - rate_gain) < 6 * found.to_rate_uncertainty + 0.01 * size).all()
    assert (np.abs(found.to_angle - angle_gain) < 6 * found.to_angle_uncertainty + 0.01 * size).all()


@pytest.mark.parametrize("delay", [0.0, 0.006, 0.05, 0.15, 0.29])
def test_the_delay_is_found_wherever_it_lies_in_the_grid(bench, motion, answer, delay):
    assert measure_response(bench, motion, answer(delay=delay)).delay == pytest.approx(delay, abs=0.0015)


def test_pulses_at_an_end_stop_are_left_out_and_counted(bench, motion, answer):
    free, stopped = measure_response(bench, motion, answer()), measure_response(bench, motion, answer(stops_us=60.0))
    assert free.at_ends < 0.01
    assert stopped.at_ends > 0.05
    assert stopped.span == pytest.approx(120 * US)
    # a fit through the stops would find a fraction of the gain
    assert stopped.to_angle == pytest.approx(ANGLE_GAIN, rel=0.05)


@pytest.mark.parametrize("sense", [1, -1])
def test_the_sign_of_a_weak_answer_stands_many_deviations_from_zero(bench, motion, answer, sense):
    # half a microsecond a degree: a twentieth of a degree of a servo, in noise of its own size
    gain = sense * np.degrees(np.array([0.0, 0.5, 0.0])) * US
    found = measure_response(bench, motion, answer(np.zeros(3), gain, noise_us=1.0))
    deviations = found.per_angle / found.per_angle_uncertainty
    assert sense * deviations[1] > 6
    assert np.abs(deviations[[0, 2]]).max() < 5


def test_noise_alone_has_no_sign(bench, motion, answer):
    found = measure_response(bench, motion, answer(np.zeros(3), np.zeros(3), noise_us=5.0))
    assert np.abs(found.per_angle / found.per_angle_uncertainty).max() < 4.5


def test_alike_neighbours_widen_the_uncertainty(bench, motion, answer):
    quiet = answer(noise_us=0.0)
    rng = np.random.default_rng(0)
    white = rng.normal(0, 10 * US, len(quiet.time))
    slow = np.convolve(white, np.ones(100) / 10, mode="same")  # the same power, spread over half a second
    by_white, by_slow = (
        measure_response(bench, motion, Pulses(quiet.time, quiet.width + noise)) for noise in (white, slow)
    )
    assert (by_slow.per_angle_uncertainty > 4 * by_white.per_angle_uncertainty).all()


def test_a_channel_that_never_moves_answers_nothing(bench, motion):
    still = Pulses(bench.even.time, np.full(len(bench.even.time), 1520 * US))
    found = measure_response(bench, motion, still)
    assert np.abs(found.per_angle).max() < 1e-12
    assert found.span == 0
    assert found.at_ends == 0


def test_too_few_pulses_say_nothing(bench, motion):
    few = Pulses(np.linspace(5, 6, 20), np.linspace(1500, 1520, 20) * US)
    assert measure_response(bench, motion, few) is None


def test_pulses_outside_the_recording_are_not_used(bench, motion, answer):
    pulses = answer()
    strange = Pulses(
        np.concatenate([pulses.time, pulses.time[-1] + 1 + np.arange(500) * 0.02]),
        np.concatenate([pulses.width, np.full(500, 900 * US)]),
    )
    found = measure_response(bench, motion, strange)
    assert found.time[-1] <= bench.even.time[-1]
    assert found.to_angle == pytest.approx(measure_response(bench, motion, pulses).to_angle, rel=0.01)
    assert found.time[0] >= LONGEST_DELAY


def test_held_rows_count_once_a_frame_and_a_frame_without_change_counts_too():
    time = np.arange(4000) * 0.005
    frame = np.floor(time / 0.02 + 1e-6)
    width = np.round(1500 + 50 * np.sin(frame * 0.02)) * US  # at its turns the same pulse is sent again
    when, sent, row = update_instants(Pulses(time, width))
    assert row == pytest.approx(0.005)
    assert len(when) == pytest.approx(1000, abs=5)
    assert np.diff(when) == pytest.approx(np.full(len(when) - 1, 0.02), abs=0.004)
    assert sent == pytest.approx(width[np.searchsorted(time, when + 0.5 * row - 1e-9)], abs=1e-12)


def test_rows_that_are_all_new_stay_as_they_are():
    time = np.arange(500) * 0.02
    width = 1500 * US + 20 * US * np.sin(time)
    when, sent, row = update_instants(Pulses(time, width))
    assert row == 0
    assert np.array_equal(when, time)
    assert np.array_equal(sent, width)


def test_the_real_motion_is_that_of_the_airframe_under_a_wrong_mounting(measured):
    right, turned = measured("knot", seed=4), measured("knot", "mounting=aft,left", seed=4)
    assert real_motion(turned) == pytest.approx(real_motion(right), abs=np.radians(5.0))


def test_the_real_motion_is_mended_where_the_gyros_scale_is_off(measured):
    right, doubled = measured("knot", seed=4), measured("knot", "gyro-scale=2", seed=4)
    assert np.ptp(real_motion(doubled), axis=0) == pytest.approx(np.ptp(real_motion(right), axis=0), rel=0.1)


def test_a_bench_without_a_bias_still_gives_a_motion(bench):
    blind = replace(bench, stillness=replace(bench.stillness, bias=None))
    assert np.isfinite(real_motion(blind)).all()


@pytest.mark.parametrize("rate_hz", [100.0, 200.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_simulated_latency_lies_within_what_is_said_of_it(judged, rate_hz, seed):
    # the simulated unit answers after 20 ms; its own attitude and the gyro's see the same motion
    for actuator in judged("knot", seed=seed, rate_hz=rate_hz).actuators:
        assert abs(actuator.latency_ms - 20.0) < 3 * actuator.latency_uncertainty_ms
