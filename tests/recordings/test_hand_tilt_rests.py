"""The gates of stillness on a real board held in the hand, and the moves between its rests.

Recording: xioTechnologies/Fusion, Examples/Python/sensor_data.csv, MIT licence: at rest for 13 s, then three turns
about each axis with holds between, then a free spin. It lies outside the project; where it is absent these tests are
skipped.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.signals.motions import match_motions
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import BENCH_ACCELERATION_SD, BENCH_GYRO_SD, SHORTEST_REST, find_rests
from benchrig.signals.time_base import uniform

# About the board's own axes, as the recording's description has them: measured once by hand from its columns.
TURNS_DEG = [(0, 64), (0, -115), (0, 52), (1, 68), (1, -113), (1, 52), (2, 66), (2, -132), (2, 69)]
SPIN_S = (66.0, 72.5)


@pytest.fixture(scope="module")
def board(outside_data):
    airframe = read_airframe(outside_data("hand-tilt/hand-tilt.airframe.toml"))
    recording = read_capture(outside_data("hand-tilt/hand-tilt.toml"), airframe)
    even = uniform(recording, airframe.sensor)
    stillness = find_rests(even)
    moves = find_moves(even, stillness.rests, stillness.bias)
    return recording, even, stillness, match_motions(even, moves, recording.prompts).motions, moves


def span(even, rest) -> tuple[float, float]:
    return float(even.time[rest.start]), float(even.time[rest.stop - 1])


def test_the_rest_before_the_first_turn_is_a_bench_rest_of_13_s(board):
    _, even, stillness, _, _ = board
    first = stillness.rests[0]
    assert first.grade == "bench"
    assert span(even, first) == pytest.approx((0.0, 13.6), abs=0.5)


def test_the_bias_is_below_a_tenth_of_a_degree_a_second_and_known_better_than_a_fortieth(board):
    _, _, stillness, _, _ = board
    assert np.degrees(np.abs(stillness.bias.value)).max() < 0.1  # measured: 0.007
    assert np.degrees(stillness.bias.uncertainty).max() < 0.025  # measured: 0.012


def test_every_prompted_turn_is_found_between_two_still_poses(board):
    _, even, _, motions, _ = board
    assert len(motions) == 9
    for motion in motions:
        assert motion.gate == "", motion.name
        for rest in (motion.move.before, motion.move.after):
            first, last = span(even, rest)
            assert last - first >= SHORTEST_REST - even.step


def test_the_turns_are_those_of_the_recordings_description(board):
    *_, motions, _ = board
    for motion, (axis, degrees) in zip(motions, TURNS_DEG, strict=True):
        turn = np.degrees(motion.move.turn)
        assert turn[axis] == pytest.approx(degrees, abs=5), motion.name
        assert np.abs(np.delete(turn, axis)).max() < 8, motion.name


def test_a_hold_in_the_hand_is_told_from_a_rest_on_the_bench(board):
    _, even, stillness, motions, _ = board
    held = [m.move.after for m in motions if m.name.startswith(("roll", "nose"))]
    assert {rest.grade for rest in held[:5]} == {"hand"}
    sd = [even.angular_rate[r.start : r.stop].std(axis=0).max() for r in held[:5]]
    assert min(sd) > BENCH_GYRO_SD, "or the two grades would be one"
    assert sum(rest.grade == "bench" for rest in stillness.rests) >= 3


def test_a_gate_for_the_bench_alone_would_refuse_almost_every_hold(board):
    _, even, _, motions, _ = board
    size = np.linalg.norm(even.acceleration, axis=1).mean()
    refused = 0
    for motion in motions:
        rest = motion.move.after
        part = slice(rest.start, rest.stop)
        gyro, accelerometer = even.angular_rate[part].std(axis=0).max(), even.acceleration[part].std(axis=0).max()
        refused += gyro > BENCH_GYRO_SD or accelerometer > BENCH_ACCELERATION_SD * size
    assert refused >= 7


def test_nothing_in_the_spin_is_taken_for_a_rest_and_its_turns_are_counted(board):
    _, even, stillness, _, moves = board
    assert all(last < SPIN_S[0] or first > SPIN_S[1] for first, last in (span(even, r) for r in stillness.rests))
    spin = [m for m in moves if even.time[m.start] < SPIN_S[0] < even.time[m.stop]]
    assert len(spin) == 1
    assert np.degrees(spin[0].turn[2]) == pytest.approx(1034, abs=5)
