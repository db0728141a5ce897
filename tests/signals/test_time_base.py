"""An even time base: losses bridged, gaps left open, even data left alone; and samples at the end of a range marked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.signals.time_base import FLAT_TOP, LONGEST_BRIDGE, clipped, uniform

STEP = 0.01


@pytest.fixture(scope="module")
def recorded(simulated_recording, demo_airframe):
    """Make a recording whose channels are straight lines of time, at given times."""
    recording, sensor = simulated_recording("knot", seed=4), demo_airframe("knot").sensor

    def make(time, **changes):
        line = np.outer(time, [1.0, -2.0, 0.5])
        fields = {
            "time": time,
            "angular_rate": line,
            "acceleration": line + 3.0,
            "magnetic_field": None,
            "unit_attitude": None,
            "gyro_full_scale": None,
            "accelerometer_full_scale": None,
        }
        bare = replace(sensor, gyro_range=None, accelerometer_range=None)
        return uniform(replace(recording, **fields | changes), bare)

    return make


def without(time, first, last):
    return time[(time < first) | (time > last)]


def test_even_data_are_not_touched(recorded):
    rng = np.random.default_rng(2)
    time, rate = np.arange(500) * STEP, rng.normal(size=(500, 3))
    even = recorded(time, angular_rate=rate)
    assert np.array_equal(even.angular_rate, rate)
    assert even.step == pytest.approx(STEP)
    assert not even.segment.any()


def test_what_comes_out_cannot_be_written_to(recorded):
    even = recorded(np.arange(100) * STEP)
    with pytest.raises(ValueError, match="read-only"):
        even.angular_rate[0] = 0.0


def test_nothing_is_invented_across_a_gap(recorded):
    time = without(np.arange(600) * STEP, 2.0, 2.2)
    even = recorded(time)
    inside = (even.time > time[time < 2.0][-1] + STEP) & (even.time < time[time > 2.2][0] - STEP)
    assert not inside.any()
    assert sorted(set(even.segment.tolist())) == [0, 1]
    assert len(even.time) == len(time)
    later = even.time[even.segment == 1]
    assert later[0] == time[time > 2.2][0]  # the second segment begins with its own first sample


def test_a_short_loss_is_bridged_by_a_straight_line(recorded):
    time = without(np.arange(600) * STEP, 2.0, 2.025)
    even = recorded(time)
    assert not even.segment.any()
    assert np.diff(even.time) == pytest.approx(np.full(599, STEP))
    assert even.angular_rate == pytest.approx(np.outer(even.time, [1.0, -2.0, 0.5]), abs=1e-9)


@pytest.mark.parametrize(("lost", "segments"), [(0.045, 1), (0.060, 2)])
def test_the_longest_bridge_is_the_one_that_the_limits_name(recorded, lost, segments):
    assert pytest.approx(0.050) == LONGEST_BRIDGE
    step = 0.002
    time = np.arange(3000) * step
    kept = without(time, 2.0 + step / 2, 2.0 + lost - step / 2)
    even = recorded(kept)
    assert even.segment[-1] + 1 == segments


def test_a_slow_logger_has_no_gaps_because_its_step_is_long(recorded):
    assert not recorded(np.arange(200) * 0.06).segment.any()


@given(st.integers(0, 2**32 - 1))
def test_jitter_moves_a_straight_line_nowhere(recorded, seed):
    rng = np.random.default_rng(seed)
    time = np.sort(np.arange(300) * STEP + rng.uniform(-0.4, 0.4, 300) * STEP)
    even = recorded(time - time[0])
    assert np.ptp(np.diff(even.time)) < 1e-9
    inside = even.time <= time[-1] - time[0]
    assert even.angular_rate[inside] == pytest.approx(np.outer(even.time[inside], [1.0, -2.0, 0.5]), abs=1e-9)


def test_an_attitude_that_jumps_at_half_a_turn_does_not_run_backwards(recorded):
    time = np.arange(400) * STEP
    time[1::2] += 0.003  # uneven, so that it is resampled
    turned = 1.0 * time + 2.0
    angles = np.column_stack([np.zeros(400), np.zeros(400), (turned + np.pi) % (2 * np.pi) - np.pi])
    even = recorded(time, unit_attitude=angles)
    assert np.diff(even.unit_attitude[:, 2]).max() < 0.02
    assert np.diff(even.unit_attitude[:, 2]).min() > -1e-6


def test_rows_without_a_new_attitude_are_bridged_and_a_long_silence_is_not(recorded):
    time = np.arange(400) * STEP
    angles = np.outer(time, [0.1, 0.2, 2.0])
    sparse = np.where((np.arange(400) % 4 == 0)[:, None], (angles + np.pi) % (2 * np.pi) - np.pi, np.nan)
    sparse[(time > 2.0) & (time < 3.0)] = np.nan
    read = recorded(time, unit_attitude=sparse).unit_attitude
    spoken = (time <= 2.0) | ((time >= 3.0) & (time <= 3.96))
    assert np.diff(read[spoken & (time < 2.5), 2]) == pytest.approx(2.0 * STEP, abs=1e-9)
    assert np.isfinite(read).all(axis=1).tolist() == spoken.tolist()


def test_an_attitude_that_was_never_given_stays_unknown(recorded):
    time = np.arange(400) * STEP
    assert np.isnan(recorded(time, unit_attitude=np.full((400, 3), np.nan)).unit_attitude).all()


def test_a_value_at_the_declared_full_scale_is_clipped_there_and_nowhere_else():
    values = np.zeros((100, 3))
    values[40:43, 1] = 500.0
    assert np.flatnonzero(clipped(values + np.random.default_rng(0).normal(0, 0.01, (100, 3)), 500.0)).tolist() == [
        40,
        41,
        42,
    ]


@pytest.mark.parametrize("end", [1, -1])
def test_a_flat_top_shows_clipping_where_no_range_is_known(end):
    rng = np.random.default_rng(1)
    wave = np.column_stack([100 * np.sin(np.arange(1000) / 40 + k) for k in range(3)]) + rng.normal(0, 0.1, (1000, 3))
    cut = wave.copy()
    cut[:, 2] = np.minimum(cut[:, 2], 70.0) if end > 0 else np.maximum(cut[:, 2], -70.0)
    assert not clipped(wave, None).any()
    assert np.array_equal(clipped(cut, None), cut[:, 2] == end * 70.0)


def test_a_flat_top_shows_in_a_channel_that_repeats_itself_at_rest():
    # a bump of 100 counts cut at 40, in noise of half a count: at rest half of the samples repeat
    rng = np.random.default_rng(2)
    bump = np.concatenate([np.zeros(800), 100 * np.sin(np.linspace(0, np.pi, 20)), np.zeros(800)])
    channel = np.minimum(np.round(bump + rng.normal(0, 0.5, len(bump))), 40)
    values = np.column_stack([channel, -channel, np.zeros(len(bump))])
    assert np.array_equal(clipped(values, None), channel == 40)
    assert np.array_equal(clipped(values, 2000.0), channel == 40)


def test_a_smooth_peak_of_a_coarse_channel_is_not_clipped():
    # a turn of 60 deg/s at its peak, counted in whole deg/s at 100 Hz, reads 60 for five samples
    peak = np.round(60 * np.sin(np.pi * np.arange(0, 1, 0.01)) ** 2)
    rest = np.round(np.random.default_rng(4).normal(0, 0.5, 300))
    channel = np.concatenate([rest, peak, rest])
    assert (channel == 60).sum() >= FLAT_TOP
    assert not clipped(np.column_stack([channel] * 3), None).any()


def test_a_coarse_channel_at_rest_is_not_clipped():
    rng = np.random.default_rng(3)
    coarse = np.round(rng.normal(0, 0.3, (2000, 3)))
    assert not clipped(coarse, None).any()


def test_a_constant_channel_is_not_clipped():
    assert not clipped(np.zeros((100, 3)), None).any()


def test_clipping_survives_the_new_time_base(simulated_recording, demo_airframe):
    recording = simulated_recording("knot", "gyro-clip=40", seed=4)
    even = uniform(recording, demo_airframe("knot").sensor)
    assert even.gyro_clipped.any()
    assert not even.accelerometer_clipped.any()
    assert not uniform(simulated_recording("knot", seed=4), demo_airframe("knot").sensor).gyro_clipped.any()
