"""Poses: the named part is down, a few degrees off, and the airframe lies still."""

import tomllib

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.geometry.turns import POSES
from benchrig.simulation.bench import simulate
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

G = 9.80665


def laid(airframe, motions, seed=1):
    return simulate(airframe, seed=seed, options=Options(motions=motions, rate_hz=50))


def reading(bench, made):
    rest = (bench.time > made.start + 0.2) & (bench.time < made.released - 0.2)
    return bench.truth.specific_force[rest]


# A12: MathWorks `accelcal`: an axis that points up reads +g, so what is down reads minus g
@pytest.mark.parametrize("seed", [1, 2])
def test_in_every_pose_the_named_part_is_down_and_all_is_still(seed, helicopter):
    words = (*POSES, "on nose", "level", "on tail")
    bench = laid(helicopter, words, seed)
    off = []
    assert [made.asked for made in bench.plan.motions] == list(words)
    for made in bench.plan.motions:
        axis, sign = POSES[made.asked]
        force = reading(bench, made)
        assert np.ptp(force, axis=0).max() < 1e-6
        assert np.linalg.norm(force[0]) == pytest.approx(G, abs=1e-6)
        assert -sign * force[0, axis] / G > np.cos(np.radians(9))
        if made.asked != "level":
            np.testing.assert_allclose(-force[0] / G, made.down, atol=1e-6)
            off.append(np.degrees(np.arccos(-sign * force[0, axis] / G)))
    assert np.median(off) > 0.5


def test_a_pose_lasts_three_seconds(helicopter):
    made = laid(helicopter, ("level", "on nose")).plan.motions[1]
    assert made.released - made.start == pytest.approx(3.0)


def test_rests_last_as_long_as_asked(helicopter):
    bench = simulate(
        helicopter, seed=1, options=Options(motions=("level", "on nose", "level"), rate_hz=20, rest_s=40.0)
    )
    for made in bench.plan.motions:
        assert made.released - made.start == pytest.approx(40.0)


def test_a_recording_of_one_pose_starts_in_it(helicopter):
    bench = laid(helicopter, ("on left side",))
    assert bench.plan.duration == pytest.approx(3.0)
    assert bench.truth.specific_force[0, 1] / G == pytest.approx(1.0, abs=0.02)


def test_after_a_pose_every_hand_motion_starts_level(helicopter):
    bench = laid(helicopter, ("level", "on nose", "nose up", "inverted", "free", "level"))
    for made in (bench.plan.motions[2], bench.plan.motions[4]):
        down = bench.plan.path.attitude(np.array([made.start])).inv().apply([0, 0, 1.0])[0]
        assert down[2] > np.cos(np.radians(4)), made.asked


def test_poses_are_read_back_with_their_prompts_and_stand_in_the_truth(helicopter, tmp_path):
    written = write_capture(laid(helicopter, ("level", *POSES)), tmp_path / "poses")
    assert [prompt.name for prompt in read_capture(written.manifest, helicopter).prompts] == ["level", *POSES]
    motions = tomllib.loads(written.truth.read_text())["motion"]
    assert motions[2]["asked"] == "inverted"
    assert motions[2]["down"][2] < -0.98
