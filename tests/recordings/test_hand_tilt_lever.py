"""A real board spun by hand is no turntable: no place comes of it.

Recording: xioTechnologies/Fusion, Examples/Python/sensor_data.csv, MIT licence; it turns freely by +1034° about z at 65
to 72 s. It lies outside the project; where it is absent these tests are skipped.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.capture.recording import Prompt, Turntable
from benchrig.declaration.airframe_file import read_airframe
from benchrig.measure.lever.measure import measure_lever


@pytest.fixture(scope="module")
def board(outside_data):
    airframe = read_airframe(outside_data("hand-tilt/hand-tilt.airframe.toml"))
    return airframe, read_capture(outside_data("hand-tilt/hand-tilt.toml"), airframe)


def test_hand_moves_alone_give_no_place_and_no_remark_but_that(board):
    airframe, recording = board
    measurement = measure_lever(airframe, [recording])
    assert [f.code for f in measurement.findings] == ["lever-not-measured"]
    assert [q.value for q in measurement.quantities[:3]] == [None] * 3


def test_a_spin_by_hand_that_is_called_a_turntable_is_refused(board):
    airframe, recording = board
    spin = Prompt("turntable clockwise", 65.0, 72.0, "hand-tilt.toml: spin")
    for prompts in ((), (spin,), (replace(spin, name="turntable counter-clockwise"),)):
        spun = replace(recording, turntable=Turntable(None, np.zeros(3)), prompts=prompts)
        measurement = measure_lever(airframe, [spun])
        assert {f.code for f in measurement.findings} <= {"spin-unsteady", "spin-sense"}
        assert len(measurement.findings) == 1
        assert [q.value for q in measurement.quantities[:3]] == [None] * 3
