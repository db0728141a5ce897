"""What is sensed while the samples come, held against what the judge finds in the whole recording."""

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.live.watch import Watch
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import find_rests
from benchrig.signals.time_base import uniform
from benchrig.verdict.wirings import turned_under

G = 9.80665


@pytest.fixture(scope="module")
def recorded(captures, demo_airframe):
    recording = read_capture(captures / "dunlin-ok.toml", demo_airframe("dunlin"))
    even = uniform(recording, demo_airframe("dunlin").sensor)
    return even, find_rests(even), np.column_stack([even.angular_rate, even.acceleration])


def feed(watch, time, readings, chunk=7):
    for begin in range(0, len(time), chunk):
        yield from watch.feed(time[begin : begin + chunk], readings[begin : begin + chunk])


def test_it_calls_still_what_the_judge_calls_a_rest_and_nothing_else(recorded):
    even, stillness, readings = recorded
    watch, right, seen = Watch(), 0, 0
    for sensed in feed(watch, even.time, readings):
        if sensed.time > 3.0 and not watch.is_level_known:
            watch.settle(level=True)
        window = slice(even.index(sensed.time - 0.25), even.index(sensed.time) + 1)
        at_rest = any(r.start <= window.start and window.stop <= r.stop for r in stillness.rests)
        seen += 1
        right += at_rest == bool(sensed.grade)
    assert seen > 900
    assert right / seen > 0.97


def test_its_turns_are_those_that_the_judge_integrates(recorded):
    even, stillness, readings = recorded
    moves = find_moves(even, stillness.rests, stillness.bias)
    assert len(moves) > 10
    for move in moves:
        watch = Watch()
        lead = slice(max(move.start - 60, 0), move.start)
        list(feed(watch, even.time[lead], readings[lead] - [*stillness.bias.value, 0, 0, 0]))
        watch.anchor()
        inside = slice(move.start, move.stop)
        *_, last = feed(watch, even.time[inside], readings[inside] - [*stillness.bias.value, 0, 0, 0])
        np.testing.assert_allclose(last.turn, move.turn, atol=np.radians(1.5))
        np.testing.assert_allclose(last.mirrored_turn, move.mirrored_turn, atol=np.radians(1.5))
        # the force of the last quarter second stands for the still edge
        assert last.gravity_angle == pytest.approx(move.gravity_angle, abs=np.radians(5))


def test_how_the_samples_are_cut_into_batches_changes_nothing(recorded):
    even, _, readings = recorded
    ends = []
    for chunk in (1, 3, 50, 5000):
        watch = Watch()
        *_, last = feed(watch, even.time[:900], readings[:900], chunk)
        ends.append((last.time, *last.turn, last.gravity_angle))
    np.testing.assert_allclose(ends, np.broadcast_to(ends[0], (4, 5)), atol=2e-3)


def turning(rate_deg_s, seconds=2.0, rate_hz=100.0):
    """Rest for a second, turn at a constant rate about x, rest for a second."""
    time = np.arange(round((2 + seconds) * rate_hz)) / rate_hz
    rate = np.where((time > 1) & (time <= 1 + seconds), np.radians(rate_deg_s), 0.0)
    angle = np.cumsum(rate) / rate_hz
    force = np.column_stack([np.zeros_like(time), -np.sin(angle), -np.cos(angle)]) * G
    rng = np.random.default_rng(4)
    readings = np.column_stack([rate, 0 * rate, 0 * rate, force])
    return time, readings + rng.normal(0, 1, readings.shape) * [*[1e-3] * 3, *[0.01] * 3]


def test_a_turn_of_more_than_half_a_turn_is_followed_through():
    time, readings = turning(110.0)
    *_, last = Watch().feed(time, readings)
    assert np.degrees(last.turn[0]) == pytest.approx(220, abs=2)


def test_how_long_it_has_been_still_counts_the_window_and_stops_with_the_move():
    time, readings = turning(40.0)
    watch = Watch()
    moments = list(watch.feed(time, readings))
    before = [m for m in moments if m.time < 1.0]
    assert before[-1].still_for == pytest.approx(before[-1].time, abs=0.03)
    assert before[-1].grade == "bench"
    inside = [m for m in moments if 1.3 < m.time < 2.9]
    assert all(not m.grade and m.still_for == 0 for m in inside)
    assert all(m.left_at == pytest.approx(1.05, abs=0.1) for m in inside)
    assert moments[-1].still_for == pytest.approx(1.0, abs=0.1)


def test_what_the_gyro_reads_at_rest_is_taken_off_once_it_lies_still():
    time, readings = turning(0.0, 4.0)
    readings[:, 2] += np.radians(3.0)
    watch = Watch()
    for moment in watch.feed(time, readings):
        if moment.bench_for >= 2.0:
            watch.settle(level=True)
            watch.anchor()
            break
    *_, last = watch.feed(time[300:], readings[300:])
    assert np.degrees(np.linalg.norm(last.turn)) < 0.3


def test_a_gap_is_told_until_turns_are_counted_anew_and_stillness_begins_again():
    time, readings = turning(0.0, 4.0)
    kept = (time < 2.0) | (time > 2.4)
    watch = Watch()
    moments = list(watch.feed(time[kept], readings[kept]))
    after = [m for m in moments if m.time > 2.4]
    assert not any(m.gap for m in moments if m.time < 2.0)
    assert all(m.gap for m in after)
    assert after[0].still_for < 0.3
    watch.anchor()
    *_, last = watch.feed(time[-1:] + 0.01, readings[-1:])
    assert not last.gap


@pytest.mark.parametrize("rate_hz", [20.0, 50.0, 1000.0])
def test_slow_and_fast_units_are_sensed_alike(rate_hz):
    time, readings = turning(40.0, 1.0, rate_hz)
    *_, last = Watch().feed(time, readings)
    assert not last.gap
    assert np.degrees(last.turn[0]) == pytest.approx(40, abs=2.5)
    assert last.still_for == pytest.approx(1.0, abs=0.15)


def test_a_noisy_unit_is_still_by_what_it_shows_at_its_quietest():
    time, readings = turning(0.0, 4.0)
    noisy = readings + np.random.default_rng(1).normal(0, np.radians(1.5), readings.shape) * [1, 1, 1, 0, 0, 0]
    *_, last = Watch().feed(time, noisy)
    assert last.grade == "bench"
    assert last.bench_for > 4.0


def test_a_turn_in_body_axes_is_what_the_judge_makes_of_it_mirrored_or_not():
    time, readings = turning(40.0, 1.0)
    *_, last = Watch().feed(time, readings)
    for index in (0, 5, 30, 47):
        mounting = SIGNED_PERMUTATIONS[index]
        np.testing.assert_allclose(last.in_body(mounting), turned_under(last, np.eye(3))[index], atol=1e-12)


def test_a_gyro_that_reads_degrees_where_radians_were_declared_is_followed_from_the_first_rest_on():
    time, readings = turning(30.0, 1.0)
    readings[:, :3] *= 180 / np.pi
    watch, anchored = Watch(), False
    for moment in watch.feed(time, readings):
        if moment.time > 0.9 and not anchored:
            watch.anchor()
            anchored = True
    assert np.degrees(moment.turn[0]) == pytest.approx(30, abs=1.5)
    assert moment.still_for == pytest.approx(1.0, abs=0.1)


def test_the_size_that_the_judge_finds_holds_from_the_next_anchor_on():
    time, readings = turning(30.0, 1.0)
    readings[:, :3] *= 0.5
    watch = Watch()
    list(watch.feed(time[:50], readings[:50]))
    watch.scale = 2.0
    *_, before = watch.feed(time[50:90], readings[50:90])
    watch.anchor()
    *_, last = watch.feed(time[90:], readings[90:])
    assert np.degrees(last.turn[0]) == pytest.approx(30, abs=1.5)
    assert before.still_for > 0.8
