"""The derivatives of the prediction are those of the prediction."""

from __future__ import annotations

import numpy as np
import pytest
from turning_bodies import rig, spun, swung, table

from benchrig.capture.recording import Prompt
from benchrig.measure.lever import model
from benchrig.measure.lever.arm import find_stands, readings_of
from benchrig.measure.lever.model import ACCELEROMETER, DELAY, GYRO, OWN, PLACE, SHARED, SQUARENESS
from benchrig.signals.rests import find_rests

ARM = (0.062, -0.034, 0.021)
BLOCKS = {"place": PLACE, "squareness": SQUARENESS, "accelerometer": ACCELEROMETER, "gyro": GYRO, "delay": DELAY}
BLOCKS |= {
    name: slice(SHARED + block.start, SHARED + block.stop)
    for name, block in {
        "holding": model.HOLDING,
        "bias": model.BIAS,
        "bearing": model.BEARING,
        "drift": model.DRIFT,
    }.items()
}


def stand_of(kind):
    even = spun(ARM) if kind == "spin" else swung(ARM)
    read = readings_of(rig(ARM), even, find_rests(even), "the recording")
    prompts = () if kind == "spin" else (Prompt("swing", 3.0, float(even.time[-1]) - 3.0, "x.toml:4"),)
    found, remarks = find_stands(read, table() if kind == "spin" else None, np.zeros(3), prompts)
    assert not remarks
    return found[0]


def predicted(stand, unknowns):
    shared, mine = unknowns[:SHARED], unknowns[SHARED:]
    seen = model.columns(stand, shared[GYRO].reshape(3, 3), mine[model.DRIFT])
    return model.predicted(stand, seen, shared, mine)


@pytest.fixture(scope="module", params=["spin", "swing"])
def slopes(request):
    """Give the derivatives as written and as differences of the prediction, at unknowns away from zero."""
    stand, rng = stand_of(request.param), np.random.default_rng(7)
    unknowns = rng.normal(0, 0.01, SHARED + OWN)
    unknowns[PLACE] = ARM
    unknowns[SHARED : SHARED + 3] = 0.2, -0.1, -9.8
    unknowns[SHARED:][model.BEARING] = 0.0  # what the bearing adds to the gyro's part is of second order
    shared, mine = unknowns[:SHARED], unknowns[SHARED:]
    seen = model.columns(stand, shared[GYRO].reshape(3, 3), mine[model.DRIFT])
    written = np.concatenate(model.jacobian(stand, seen, shared, mine), axis=-1)
    seen_by = np.zeros_like(written)
    for k in range(SHARED + OWN):
        step = np.zeros(SHARED + OWN)
        step[k] = 1e-5
        seen_by[..., k] = (predicted(stand, unknowns + step) - predicted(stand, unknowns - step)) / 2e-5
    return request.param, written, seen_by


@pytest.mark.parametrize("name", BLOCKS)
def test_every_derivative_is_that_of_the_prediction(slopes, name):
    kind, written, seen_by = slopes[0], slopes[1][..., BLOCKS[name]], slopes[2][..., BLOCKS[name]]
    size = np.abs(seen_by).max()
    # what a delay makes of an error of the gyro is of second order, and left out
    assert np.abs(written - seen_by).max() <= 0.02 * size
    # a swing has no rest beside it in which a bearing could have stood otherwise
    assert size > 0 or (kind, name) == ("swing", "bearing")
