"""Eight units on one rigid board: how far they lie apart, by the same equation that places a sensor on an airframe.

Recordings: hcarlsso/Self-Calibration-Inertial-Sensor-Arrays-BCD.jl, experimental_data/calibration, MIT licence; layout
and mountings from hcarlsso/MIMU-Toolbox-2, board_settings.m, MIT licence, which lie in the same files. They lie outside
the project; where they are absent these tests are skipped.

The board is turned fast by hand: no point of it stands still, but what two units feel differs only by the lever between
them, and by their scales, which are solved for beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pytest

from benchrig.measure.lever.window import lever_matrix, windows
from benchrig.signals.time_base import clipped

UNITS = range(8)
GYRO_RANGE = np.radians(2000.0)


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """Rates and forces of every unit, turned into the board's axes; which samples clipped; the makers' layout, m."""

    step: float
    rate: np.ndarray
    force: np.ndarray
    clipped: np.ndarray
    layout: np.ndarray


@pytest.fixture(scope="module", params=["exp_1_all8", "exp_3_all8"])
def board(request, outside_data) -> Board:
    with np.load(outside_data(f"imu-array/{request.param}.npz")) as file:
        time, rate, force = file["t_s"], file["gyr_rad_s"].astype(float), file["acc_m_s2"].astype(float)
        mounting = [file["C_nom_top" if k % 2 == 0 else "C_nom_bottom"] for k in UNITS]
        layout = file["imu_pos_m"]
    still = np.linalg.norm(rate[:, 0] - np.median(rate[:, 0], axis=0), axis=1) < np.radians(5)
    spoilt = np.zeros(len(time), dtype=np.bool_)
    for k in UNITS:
        spoilt |= clipped(rate[:, k], GYRO_RANGE) | clipped(force[:, k], None)
    return Board(
        step=float(np.median(np.diff(time))),
        rate=np.array([(rate[:, k] - rate[still, k].mean(axis=0)) @ mounting[k].T for k in UNITS]),
        force=np.array([force[:, k] @ mounting[k].T for k in UNITS]),
        clipped=spoilt,
        layout=layout,
    )


def lever_between(board: Board, first: int, second: int, usable: np.ndarray) -> np.ndarray:
    """Solve for the lever from one unit to another by the rates of the first unit alone, and for their scales."""
    where = windows(usable, board.step, 0.064)
    near, far = where.means(board.force[first]), where.means(board.force[second])
    rows = np.zeros((len(near), 3, 15))
    rows[:, :, :3] = lever_matrix(board.rate[first], where)
    for axis in range(3):
        rows[:, axis, 3 + 3 * axis : 6 + 3 * axis] = near
    rows[:, :, 12:] = np.eye(3)
    return np.linalg.lstsq(rows.reshape(-1, 15), (far - near).ravel(), rcond=None)[0][:3]


def test_every_lever_between_two_units_is_the_layouts(board):
    assert 0.005 < board.clipped.mean() < 0.05, "some of the fast turning clips"
    off = []
    for first, second in combinations(UNITS, 2):
        lever = lever_between(board, first, second, ~board.clipped)
        off.append(np.linalg.norm(lever - (board.layout[second] - board.layout[first])))
    assert len(off) == 28
    assert max(off) < 2.5e-3  # measured: 1.1 mm and 0.9 mm


def test_clipped_samples_would_spoil_the_levers(board):
    """The gate is not for show: with them the levers are worse by several times."""
    with_them = np.ones_like(board.clipped)
    clean, spoilt = (
        np.linalg.norm(lever_between(board, 0, 6, usable) - (board.layout[6] - board.layout[0]))
        for usable in (~board.clipped, with_them)
    )
    assert spoilt > 2 * clean


def test_no_levers_come_without_turning(board):
    """In the still poses there is nothing to see: the columns of the lever are the noise of the gyro alone."""
    usable = np.linalg.norm(board.rate[0], axis=1) < np.radians(2)
    where = windows(usable & ~board.clipped, board.step, 0.064)
    assert len(where.start) > 500
    assert np.linalg.norm(lever_matrix(board.rate[0], where).mean(axis=0)) < 0.05
