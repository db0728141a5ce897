"""The published hand-tilt recording carries a compass: its printed axes are the ones that its field singles out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe import Magnetometer
from benchrig.declaration.airframe_file import read_airframe
from benchrig.geometry.directions import body_from_sensor
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.outcome import Outcome
from benchrig.verdict.bench import measure_bench
from benchrig.verdict.compass import weigh_compass
from benchrig.verdict.compass_judgement import judge_compass
from benchrig.verdict.limits import WRONG

# taken as the board's own axes, and as recorded north of the magnetic equator: the field found is the witness to both
COMPASS = Magnetometer(body_from_sensor({"x": "forward", "y": "left", "z": "up"}), np.zeros(3), "north")


@pytest.fixture(scope="module")
def bench(outside_data):
    airframe = read_airframe(outside_data("hand-tilt/hand-tilt.airframe.toml"))
    airframe = replace(airframe, magnetometer=COMPASS)
    return measure_bench(airframe, read_capture(outside_data("hand-tilt/hand-tilt.toml"), airframe))


def test_the_boards_axes_are_singled_out_with_a_field_of_the_earths_size(bench):
    weighed = weigh_compass(bench, COMPASS)
    assert weighed.probability[0] > 1 - WRONG
    assert 22e-6 < weighed.field < 67e-6
    assert weighed.residual < 0.06 * weighed.field


def test_every_other_wiring_of_the_real_compass_is_named_and_never_passes(bench):
    for k, wiring in enumerate(SIGNED_PERMUTATIONS):
        field = bench.even.magnetic_field @ wiring
        judged = judge_compass(replace(bench, even=replace(bench.even, magnetic_field=field)), ("nose up", "yaw left"))
        assert np.array_equal(judged.wiring.found, COMPASS.body_from_sensor @ wiring), k
        assert judged.wiring.outcome is (Outcome.FAIL if k else Outcome.PASS)
