"""The compass's fit under changes that must not matter, or must matter in just one way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import turned_compass
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.compass.axes import heading_sense
from benchrig.measure.compass.iron import fit_iron, gyro_attitudes

MADE = turned_compass.turn(noise=0.2e-6, step=0.05)
FIT = fit_iron([MADE.stretch])
MICROTESLA = st.floats(-300.0, 300.0)


@given(st.tuples(MICROTESLA, MICROTESLA, MICROTESLA))
@settings(max_examples=10, deadline=None)
def test_added_iron_is_added_to_the_iron_found_and_to_nothing_else(iron):
    added = np.array(iron) * 1e-6
    fit = fit_iron([replace(MADE.stretch, reading=MADE.stretch.reading + added)])
    assert fit.hard - FIT.hard == pytest.approx(added, abs=0.05e-6)
    assert fit.earth == pytest.approx(FIT.earth, abs=0.05e-6)
    assert fit.misfit == pytest.approx(FIT.misfit, rel=1e-2)


@given(st.integers(0, 23))
@settings(max_examples=10, deadline=None)
def test_a_rotated_rig_has_rotated_iron(k):
    turn = SIGNED_PERMUTATIONS[k]
    old = MADE.stretch
    rig = replace(
        old,
        rate=old.rate @ turn.T,
        force=old.force @ turn.T,
        anchor_force=turn @ old.anchor_force,
        reading=old.reading @ turn.T,
    )
    fit = fit_iron([rig])
    assert fit.hard == pytest.approx(turn @ FIT.hard, abs=0.05e-6)
    assert fit.hard_covariance == pytest.approx(turn @ FIT.hard_covariance @ turn.T, rel=0.05, abs=1e-15)
    assert np.linalg.norm(fit.earth) == pytest.approx(np.linalg.norm(FIT.earth), rel=1e-3)


@given(st.floats(0.0, 360.0))
@settings(max_examples=10, deadline=None)
def test_where_north_lies_does_not_matter(north):
    earth = Rotation.from_euler("z", north, degrees=True).apply(turned_compass.EARTH)
    fit = fit_iron([turned_compass.turn(earth=earth, step=0.05).stretch])
    # without noise, which would fall otherwise on another circle
    assert fit.hard == pytest.approx(turned_compass.HARD, abs=0.1e-6)
    assert np.linalg.norm(fit.earth) == pytest.approx(np.linalg.norm(FIT.earth), rel=0.01)


@given(st.integers(1, 4))
@settings(max_examples=4, deadline=None)
def test_a_stretch_given_as_two_gives_the_same_iron_less_surely(cut):
    old = MADE.stretch
    # both parts keep the whole of gyro and gravity: only the readings are shared out
    early = np.arange(len(old.chosen)) < cut * len(old.chosen) // 5
    parts = [replace(old, chosen=old.chosen[one], reading=old.reading[one]) for one in (early, ~early)]
    for pair in (parts, parts[::-1]):
        fit = fit_iron(pair)
        spread = np.sqrt(np.diag(fit.hard_covariance))
        assert (np.abs(fit.hard - FIT.hard) < 3 * spread).all()


@given(st.booleans(), st.sampled_from([1.0, 1e-2, 7.0]))
@settings(max_examples=6, deadline=None)
def test_the_headings_sense_does_not_depend_on_the_size_of_the_field(backwards, factor):
    reading = factor * MADE.stretch.reading * ([1.0, -1.0, 1.0] if backwards else 1.0)
    stretch = replace(MADE.stretch, reading=reading)
    sense = heading_sense(gyro_attitudes([stretch]), [stretch])
    assert sense.slope == pytest.approx(-1.0 if backwards else 1.0, abs=0.01)
