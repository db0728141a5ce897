"""Something magnetic that comes or goes is found, with its time and size; an even field shows none."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.measure.compass.iron import fit_iron
from benchrig.measure.compass.iron_change import LEAST_CHANGE, SURE, find_change

ADDED = np.array([4.0, -5.0, 3.0]) * 1e-6
SIZE = float(np.linalg.norm(ADDED))


def found(made):
    return find_change(fit_iron([made.stretch]), [made.stretch])


@pytest.mark.parametrize("seed", range(4))
def test_an_even_field_shows_no_change(turned, seed):
    gyro = np.eye(3) + np.random.default_rng(seed).normal(0.0, 0.008, (3, 3))
    change = found(turned(gyro=gyro, noise=0.5e-6, seed=seed))
    assert change.sureness < SURE
    assert change.strength == 0.0


def test_iron_that_was_added_in_the_middle_is_found_with_its_time_and_size(turned):
    change = found(turned(noise=0.4e-6, added=lambda time, _: (time > 16.0)[:, None] * ADDED))
    edge = change.start if change.to_the_end else change.end
    assert edge == pytest.approx(16.0, abs=1.5)
    assert change.strength == pytest.approx(SIZE, rel=0.2)


def test_a_current_that_flowed_for_four_seconds_is_found(turned):
    change = found(turned(noise=0.4e-6, added=lambda time, _: ((time > 6.0) & (time < 10.0))[:, None] * ADDED))
    assert change.start == pytest.approx(6.0, abs=1.5)
    assert change.end == pytest.approx(10.0, abs=1.5)
    assert not change.to_the_end
    assert change.strength > LEAST_CHANGE


def test_a_magnet_beside_the_airframe_is_told_from_one_on_it(turned):
    def near(time, pose):
        inside = ((time > 4.0) & (time < 9.0))[:, None]
        return inside * pose.inv().apply(3 * ADDED)

    assert found(turned(noise=0.4e-6, added=near)).kind == "room"
    on_it = found(turned(noise=0.4e-6, added=lambda time, _: ((time > 4.0) & (time < 9.0))[:, None] * 3 * ADDED))
    assert on_it.kind == "iron"
