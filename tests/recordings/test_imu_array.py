"""Eight units on one rigid board: each unit's mounting found from its readings is the one its makers declare.

Recordings: hcarlsso/Self-Calibration-Inertial-Sensor-Arrays-BCD.jl, experimental_data/calibration, MIT licence;
mountings from hcarlsso/MIMU-Toolbox-2, board_settings.m, MIT licence, which lie in the same files: units 1, 3, 5 and 7
on the top of the board, 2, 4, 6 and 8 on the bottom. They lie outside the project; where they are absent these tests
are skipped.

What the tests rely on: the board is rigid, so all units turn alike; the units are 3 mm to 19 mm apart, so at rest all
feel the same force; and the makers' two matrices are each their own inverse, so it does not matter which way they map.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.signals.body import EvenRecording
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import find_rests
from benchrig.verdict.scale import gyro_scale
from benchrig.verdict.wirings import weigh_agreement, weigh_wirings

UNITS = range(8)
GYRO_RANGE = np.radians(2000.0)  # the largest value in the files is 1998°/s, and it repeats
NOISY = 3  # unit 4: 12 mg at rest, where the others have 5 mg


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """Every unit as a recording of its own, and the mounting its makers declare, board from unit."""

    units: tuple[EvenRecording, ...]
    declared: tuple[np.ndarray, ...]


@pytest.fixture(scope="module", params=["exp_1_all8", "exp_3_all8"])
def board(request, outside_data, even_recording) -> Board:
    with np.load(outside_data(f"imu-array/{request.param}.npz")) as file:
        arrays = {name: file[name] for name in file.files}
    streams = zip(arrays["gyr_rad_s"].swapaxes(0, 1), arrays["acc_m_s2"].swapaxes(0, 1), strict=True)
    units = tuple(even_recording(arrays["t_s"], rate, force, GYRO_RANGE) for rate, force in streams)
    declared = tuple(arrays["C_nom_top" if k % 2 == 0 else "C_nom_bottom"] for k in UNITS)
    return Board(units, declared)


def nearest_map(mine, reference) -> tuple[int, float]:
    """Give the one of the 48 maps that carries `mine` onto `reference` best, and its lead over the second best.

    Both are shape (N, 3); the score is the cosine between all of one and all of the other.
    """
    size = np.linalg.norm(mine) * np.linalg.norm(reference)
    scores = np.einsum("kij,ij->k", SIGNED_PERMUTATIONS, reference.T @ mine) / size
    order = np.argsort(-scores)
    return int(order[0]), float(scores[order[0]] - scores[order[1]])


def test_the_makers_matrices_are_square_mountings_that_undo_themselves(board):
    top, bottom = board.declared[0], board.declared[1]
    assert np.linalg.det(top) == np.linalg.det(bottom) == pytest.approx(1)
    assert not np.array_equal(top, bottom)
    for mounting in (top, bottom):
        np.testing.assert_array_equal(mounting @ mounting, np.eye(3))


def test_the_rates_show_the_declared_mounting_of_every_unit(board):
    whole = ~np.any([unit.gyro_clipped for unit in board.units], axis=0)
    assert 0.95 < whole.mean() < 1, "some of the fast turning clips"
    rates = [unit.angular_rate[whole] - find_rests(unit).bias.value for unit in board.units]
    for k in UNITS:
        found, lead = nearest_map(rates[k], rates[0] @ board.declared[0].T)
        np.testing.assert_array_equal(SIGNED_PERMUTATIONS[found], board.declared[k], err_msg=f"unit {k + 1}")
        assert lead > 0.3  # measured: 0.43 or more


def test_gravity_at_the_rests_shows_the_same_mounting_of_every_unit(board):
    rests = [r for r in find_rests(board.units[0]).rests if r.grade == "bench"]
    assert len(rests) >= 20
    means = [np.array([unit.acceleration[r.start : r.stop].mean(axis=0) for r in rests]) for unit in board.units]
    for k in UNITS:
        found, lead = nearest_map(means[k], means[0] @ board.declared[0].T)
        np.testing.assert_array_equal(SIGNED_PERMUTATIONS[found], board.declared[k], err_msg=f"unit {k + 1}")
        assert lead > 0.3  # measured: 0.63


def test_the_twenty_poses_are_found_alike_by_every_unit(board):
    for k, unit in enumerate(board.units):
        long = [r for r in find_rests(unit).rests if r.samples * unit.step > 15]
        assert len(long) == 20, f"unit {k + 1}"
        assert sum(r.grade == "bench" for r in long) >= (10 if k == NOISY else 20), f"unit {k + 1}"


def test_gyro_and_accelerometer_of_one_unit_tell_one_story(board):
    for unit in board.units:
        stillness = find_rests(unit)
        moves = [m for m in find_moves(unit, stillness.rests, stillness.bias) if not m.clipped]
        likelihood, residual = weigh_agreement(moves)
        best, second = np.argsort(-likelihood)[:2]
        assert best == 0
        assert likelihood[best] - likelihood[second] > 100  # measured: 229 or more
        assert residual[best] < 0.01  # g; measured: 0.008 or less
        assert gyro_scale(unit, moves, stillness.bias).ratio == pytest.approx(1, abs=0.02)  # measured: 0.989 to 1.005


def test_the_gyro_of_one_unit_against_the_accelerometer_of_another_shows_how_they_are_mounted(board):
    for k in UNITS:
        gyro = board.units[k]
        mixed = replace(board.units[0], angular_rate=gyro.angular_rate, gyro_clipped=gyro.gyro_clipped)
        stillness = find_rests(mixed)
        moves = find_moves(mixed, stillness.rests, stillness.bias)
        posterior = weigh_wirings((), moves, None, np.eye(3))
        # no prompt and no level: every pair of maps with the right relation stays, and none other
        left = np.flatnonzero(posterior.log_probability.ravel() > np.log(1e-6))
        assert len(left) == 48
        for gyro_map, accelerometer_map in zip(*np.unravel_index(left, (48, 48)), strict=True):
            accelerometer = SIGNED_PERMUTATIONS[accelerometer_map]
            relative = np.linalg.det(accelerometer) * accelerometer.T @ SIGNED_PERMUTATIONS[gyro_map]
            np.testing.assert_allclose(relative, board.declared[0].T @ board.declared[k], atol=1e-9)
