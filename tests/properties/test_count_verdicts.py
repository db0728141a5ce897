"""Count false passes and false fails of the wiring rule over drawn hands, sensors and wirings.

The draw is of its own: turns with parasitic rotations, gravity carried by scipy, an accelerometer bias and the noise
of a hand-held pose. `BENCHRIG_COUNT` sets how many benches a count draws; the figures in ``docs/explanation.md`` say
theirs.
"""

import os

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from benchrig.capture.recording import Prompt
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.geometry.turns import REQUIRED_TURNS, turn_axis
from benchrig.signals.motions import Motion
from benchrig.signals.moves import Move
from benchrig.signals.rests import Rest
from benchrig.verdict.limits import WRONG
from benchrig.verdict.wirings import weigh_wirings

COUNT = int(os.environ.get("BENCHRIG_COUNT", "150"))
DECLARED = np.diag([-1.0, -1.0, 1.0])
BENCH = Rest(0, 100, "bench", np.zeros(3))


def drawn_bench(rng, gyro_map, accelerometer_map, slop_deg, *, repeats=1, free=False):
    """Draw the moves of one bench as a unit with these maps (body from sensor) would see them."""
    attitude, bias = Rotation.from_euler("y", rng.normal(0, 2), degrees=True), rng.normal(0, 0.03, 3)
    gain = 1 + rng.normal(0, 0.01, 3)

    def read(pose):
        up = pose.inv().apply([0.0, 0.0, -1.0])
        return 9.80665 * (accelerometer_map.T @ up + bias + rng.normal(0, 0.006, 3))

    level, moves, motions = read(attitude), [], []
    names = [*REQUIRED_TURNS * repeats, *(["free"] if free else [])]
    for name in names:
        if name == "free":
            turn = Rotation.random(random_state=rng).as_rotvec() * 0.8
        else:
            turn = np.radians(rng.uniform(25, 45)) * turn_axis(name) + np.radians(rng.normal(0, slop_deg, 3))
        for vector in (turn, None):
            start = attitude
            # the way back ends near the bench, not on it
            end = start * Rotation.from_rotvec(vector) if vector is not None else Rotation.from_rotvec([0, 0, 0.05])
            real = (start.inv() * end).as_rotvec()
            sensed = gain * (gyro_map.T @ real)
            move = Move(
                before=BENCH,
                after=BENCH,
                start=0,
                stop=100,
                turn=sensed,
                mirrored_turn=-sensed,
                rotation=sensed,
                mirrored_rotation=-sensed,
                turn_uncertainty=0.01,
                force_before=read(start),
                force_after=read(end),
                gap=False,
                clipped=False,
            )
            moves.append(move)
            if vector is not None and name != "free":
                motions.append(Motion(Prompt(name, 0.0, 1.0, "drawn"), move, ""))
            attitude = end
    return motions, moves, level


def verdict(rng, gyro_index, accelerometer_index, slop_deg, **more):
    maps = DECLARED @ SIGNED_PERMUTATIONS
    motions, moves, level = drawn_bench(rng, maps[gyro_index], maps[accelerometer_index], slop_deg, **more)
    posterior = weigh_wirings(motions, moves, level, DECLARED)
    wrong = max(posterior.gyro[1:].sum(), posterior.accelerometer[1:].sum())
    right = min(posterior.gyro[0], posterior.accelerometer[0])
    return "pass" if wrong < WRONG else "fail" if right < WRONG else "not shown"


@pytest.mark.parametrize("slop_deg", [6.0, 12.0])
def test_no_wrong_wiring_passes(slop_deg):
    rng = np.random.default_rng(int(slop_deg))
    outcomes = []
    for _ in range(COUNT):
        gyro_index, accelerometer_index = divmod(int(rng.integers(1, 48 * 48)), 48)
        outcomes.append(verdict(rng, gyro_index, accelerometer_index, slop_deg))
    print(f"\nwrong wirings, hand {slop_deg}°: {count(outcomes)}")  # noqa: T201 - the count is what `pytest -s` is asked for
    assert "pass" not in outcomes
    assert outcomes.count("fail") > 0.9 * len(outcomes)


@pytest.mark.parametrize(
    "more", [{}, {"free": True}, {"repeats": 2}], ids=["six moves", "six and a wave", "each twice"]
)
@pytest.mark.parametrize("slop_deg", [6.0, 12.0])
def test_no_right_rig_fails_and_most_pass(slop_deg, more):
    rng = np.random.default_rng(100 + int(slop_deg))
    outcomes = [verdict(rng, 0, 0, slop_deg, **more) for _ in range(COUNT)]
    print(f"\nright rigs, hand {slop_deg}°, {more or 'six moves'}: {count(outcomes)}")  # noqa: T201 - as above
    assert "fail" not in outcomes
    assert outcomes.count("pass") > 0.7 * len(outcomes)


def count(outcomes):
    return {word: outcomes.count(word) for word in ("pass", "fail", "not shown")}
