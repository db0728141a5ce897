"""The joint fit: exact data give the exact answer, and the unit's own errors are found and not taken for iron."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from turned_compass import EARTH, HARD, LEVEL_TURN, TWO_TURNS

from benchrig.declaration.airframe import Calibration
from benchrig.measure.compass.iron import fit_iron

SOFT = np.eye(3) + np.array([[0.02, 0.01, -0.008], [0.004, -0.03, 0.006], [-0.01, 0.005, 0.01]])


def worst(difference):
    """Give the largest difference in µT."""
    return float(np.abs(difference).max() * 1e6)


def test_an_exact_recording_gives_the_exact_iron_field_and_gains(two_turns):
    fit = fit_iron([two_turns.stretch])
    assert worst(fit.hard - HARD) < 0.02
    assert worst(fit.earth - EARTH) < 0.05
    assert np.abs(fit.gain - np.eye(3)).max() < 1e-3
    assert fit.misfit < 0.05e-6


def test_soft_iron_is_told_from_hard_iron(turned):
    fit = fit_iron([turned(gain=SOFT).stretch])
    assert worst(fit.hard - HARD) < 0.2
    assert np.abs(fit.gain / np.trace(fit.gain) - SOFT / np.trace(SOFT)).max() < 2e-3


def test_the_errors_of_gyro_and_accelerometer_are_not_taken_for_iron(turned):
    gyro = np.eye(3) + np.array([[0.01, 0.008, 0.0], [0.0, -0.012, 0.01], [0.01, 0.0, 0.015]])
    made = turned(gyro=gyro, offset=(0.2, -0.15, 0.1), noise=0.3e-6)
    fit = fit_iron([made.stretch])
    spread = np.sqrt(np.diag(fit.hard_covariance))
    assert (np.abs(fit.hard - HARD) < 3 * spread).all()
    assert worst(fit.hard[:2] - HARD[:2]) < 0.6
    assert fit.misfit == pytest.approx(0.3e-6, rel=0.1)


def test_a_late_compass_is_found_late_and_its_iron_is_right(turned):
    fit = fit_iron([turned(delay=0.04).stretch])
    assert fit.delay == pytest.approx(0.04, abs=2e-3)
    assert worst(fit.hard - HARD) < 0.3


def test_a_level_turn_alone_leaves_the_iron_along_the_vertical_unknown(turned):
    spread = np.sqrt(np.diag(fit_iron([turned(LEVEL_TURN).stretch]).hard_covariance)) * 1e6
    assert spread[2] > 20.0
    assert spread[:2].max() < 4.0


def test_a_calibrated_unit_gives_a_surer_answer(two_turns):
    known = Calibration(np.ones(3), np.zeros(3), np.eye(3), None, None)
    bare, mended = (fit_iron([two_turns.stretch], one) for one in (None, known))
    assert mended.hard_covariance[2, 2] < 0.3 * bare.hard_covariance[2, 2]


def test_two_stretches_with_headings_of_their_own_are_joined(turned):
    whole = turned(noise=0.3e-6)
    turn = turned(((0, 0, 0, 3.0), (0, 30, 0, 1.5), (-365, 0, 0, 8.0), (0, -30, 0, 1.5), (0, 0, 0, 3.0)), noise=0.3e-6)
    # the second recording begins with the nose 70° further to the right: another field in the axes of its start
    south = np.radians(70.0)
    rotated = np.array([EARTH[0] * np.cos(south) + EARTH[1] * np.sin(south),
                        EARTH[1] * np.cos(south) - EARTH[0] * np.sin(south), EARTH[2]])  # fmt: skip
    other = turned(LEVEL_TURN, earth=rotated, noise=0.3e-6, seed=5)
    fit = fit_iron([turn.stretch, replace(other.stretch, recording=1)])
    spread = np.sqrt(np.diag(fit.hard_covariance))
    assert (np.abs(fit.hard - HARD) < 4 * spread).all()
    assert spread.max() < 1.5e-6
    assert fit.misfit == pytest.approx(fit_iron([whole.stretch]).misfit, rel=0.1)


def test_the_declared_spread_of_the_readings_is_what_they_are_left_with(turned):
    assert fit_iron([turned(TWO_TURNS, noise=1.0e-6).stretch]).misfit == pytest.approx(1.0e-6, rel=0.05)
