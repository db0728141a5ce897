"""Which parts of a recording are still enough for noise, and the samples as they came."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.measure.noise.as_sampled import as_sampled, cut_off
from benchrig.measure.noise.still_stretches import still_stretches
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import find_rests

STEP = 0.01


def recording(rng, parts):
    """Join parts of (seconds, deg/s of sway of a few Hz) to an even recording of a level unit."""
    rates, forces = [], []
    for seconds, sway in parts:
        count = round(seconds / STEP)
        hand = np.apply_along_axis(np.convolve, 0, rng.normal(size=(count, 3)), np.hanning(20), mode="same")
        hand = hand / hand.std(axis=0)
        # in a hand, 1 deg/s of sway comes with about 0.01 g
        forces.append(rng.normal(size=(count, 3)) * 0.03 + [0.0, 0.0, 9.81] + 0.1 * sway * hand)
        rates.append(np.radians(rng.normal(size=(count, 3)) * 0.08 + sway * hand))
    rate = np.concatenate(rates)
    acceleration = np.concatenate(forces)
    clear = np.zeros(len(rate), dtype=np.bool_)
    return EvenRecording(
        np.arange(len(rate)) * STEP, STEP, clear.astype(np.int64), rate, acceleration, None, None, clear, clear
    )


def seconds_of(even):
    return [(a * STEP, b * STEP) for a, b in still_stretches(even, find_rests(even))]


def test_a_recording_left_alone_is_one_stretch_to_its_end():
    assert seconds_of(recording(np.random.default_rng(1), [(20.0, 0.0)])) == [(0.0, pytest.approx(20.0, abs=0.25))]


def test_the_hand_before_and_after_is_left_out():
    found = seconds_of(recording(np.random.default_rng(2), [(3.0, 20.0), (6.0, 0.0), (3.0, 20.0)]))
    assert len(found) == 1
    assert found[0][0] >= 3.0
    assert found[0][1] <= 9.0
    assert found[0][1] - found[0][0] > 5.0


def test_a_stretch_that_sways_a_little_is_dropped_beside_a_quiet_one():
    # 0.15 deg/s of sway still pass for lying on the bench
    even = recording(np.random.default_rng(3), [(10.0, 0.0), (1.0, 30.0), (4.0, 0.15), (1.0, 30.0), (4.0, 0.0)])
    assert len([rest for rest in find_rests(even).rests if rest.grade == "bench"]) == 3
    found = seconds_of(even)
    assert [round(start) for start, _ in found] == [0, 16]


def test_poses_of_three_seconds_all_serve():
    parts = [(3.0, 0.0), (1.0, 30.0)] * 6
    kept = [len(seconds_of(recording(np.random.default_rng(seed), parts))) for seed in range(20)]
    assert min(kept) >= 5
    assert np.mean(kept) > 5.7


def test_nothing_is_still_in_a_hand():
    assert seconds_of(recording(np.random.default_rng(4), [(20.0, 3.0)])) == []


def test_a_stretch_that_clips_is_cut_there():
    even = recording(np.random.default_rng(5), [(10.0, 0.0)])
    clipped = np.zeros(len(even.time), dtype=np.bool_)
    clipped[300:310] = True
    cut = EvenRecording(
        even.time,
        STEP,
        even.segment,
        even.angular_rate,
        even.acceleration,
        None,
        None,
        clipped,
        even.accelerometer_clipped,
    )
    assert seconds_of(cut) == [(pytest.approx(3.25, abs=0.26), pytest.approx(10.0, abs=0.26))]


def test_samples_stay_as_they_came_at_their_mean_step(simulated_recording, demo_airframe):
    recorded = simulated_recording("dunlin", motions=("level", "level"), jitter=0.05)
    even = as_sampled(recorded, demo_airframe("dunlin").sensor)
    assert even.angular_rate is recorded.angular_rate
    assert even.step == pytest.approx(0.01, rel=5e-4)
    assert not even.segment.any()


def test_a_lost_sample_begins_a_new_segment(simulated_recording, demo_airframe):
    recorded = simulated_recording("dunlin", "gaps=2", motions=("level", "nose up", "nose down", "level"))
    even = as_sampled(recorded, demo_airframe("dunlin").sensor)
    assert even.segment[-1] == 2
    assert even.step == pytest.approx(0.01, rel=1e-3)


def shaking(size, noise, count=1.0):
    rng = np.random.default_rng(6)
    wave = size * np.sin(2 * np.pi * 31.0 * np.arange(4000) / 200)
    return np.round((wave[:, None] + noise * rng.normal(size=(4000, 3))) / count) * count


def test_a_vibration_that_meets_the_end_of_a_range_for_single_samples_is_seen():
    whole = shaking(3000.0, 8.0)
    cut = np.clip(whole, -2000.0, 2000.0)
    assert not cut_off(whole).any()
    assert cut_off(cut).tolist() == (np.abs(cut) == 2000.0).any(axis=1).tolist()


@pytest.mark.parametrize(
    ("size", "noise"), [(0.0, 0.4), (0.0, 1.0), (0.0, 30.0), (300.0, 0.2), (300.0, 5.0), (20.0, 0.1)]
)
def test_coarse_and_clean_channels_are_not_taken_for_cut_off(size, noise):
    assert not cut_off(shaking(size, noise)).any()


def test_a_channel_that_never_changes_is_not_cut_off():
    assert not cut_off(np.full((500, 3), 7.0)).any()
