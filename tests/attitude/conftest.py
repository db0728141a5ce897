"""A bench whose true attitude is known: rests, and turns about all axes between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from benchrig.geometry.rotations import body_rates, matrix_from_angles

STEP = 0.005


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """Rates (rad/s), specific force (m/s²) and world-from-body matrices of each sample, and the rests."""

    rate: np.ndarray
    force: np.ndarray
    truth: np.ndarray
    rests: tuple[tuple[int, int], ...]
    step: float = STEP


@pytest.fixture(scope="session")
def bench() -> Bench:
    """20 s at 200 Hz: rest, roll, pitch and yaw by smooth moves with rests between, then level again."""
    marks = np.array([0.0, 3.0, 4.5, 6.0, 7.5, 9.0, 10.5, 12.0, 13.5, 15.0, 16.5, 20.0])
    poses = np.radians(
        [[8, -5, 0]] * 2
        + [[50, -5, 0]] * 2
        + [[50, 40, 30]] * 2
        + [[-30, 10, 80]] * 2
        + [[10, 10, -20]] * 2
        + [[0, 0, 0]] * 2
    )
    time = np.arange(0.0, 20.0, STEP)
    angles, rates = _smooth(time, marks, poses)
    truth = matrix_from_angles(angles)
    # rates at the middle of each step: the filter holds a sample's rate over the step that ends with it
    middle = body_rates(*_smooth(time - STEP / 2, marks, poses))
    force = np.einsum("nji,j->ni", truth, [0.0, 0.0, -9.81])
    still = [(round(a / STEP), round(b / STEP)) for a, b in zip(marks[:-1:2], marks[1::2], strict=True)]
    assert not rates[still[1][0] + 2 : still[1][1] - 2].any()
    return Bench(middle, force, truth, tuple(still))


def _smooth(time, marks, poses):
    """Minimum-jerk moves from pose to pose, and their rates."""
    k = np.clip(np.searchsorted(marks, time, side="right") - 1, 0, len(marks) - 2)
    span = (marks[k + 1] - marks[k])[:, None]
    s = np.clip((time - marks[k])[:, None] / span, 0.0, 1.0)
    change = poses[k + 1] - poses[k]
    return poses[k] + change * s**3 * (10 - 15 * s + 6 * s**2), change * 30 * s**2 * (1 - s) ** 2 / span
