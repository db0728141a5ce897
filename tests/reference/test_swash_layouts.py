"""Plate layouts as matrices: a row a servo, columns collective, a (nose side up), b (right side up) (rows S1 to S7).

Sources: the geometry of a plane, by arithmetic; the spacing 140/140/80 of S3 as in a published article on
collective-cyclic mixing (confirmed); the layouts S4 and S5 are common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.declaration.actuators import plate_effect

H3, H2 = 0.8660254, 0.7071068

LAYOUTS = {
    "S1": ((180, 60, 300), [[1, -1, 0], [1, 0.5, H3], [1, 0.5, -H3]]),
    "S2": ((0, 120, 240), [[1, 1, 0], [1, -0.5, H3], [1, -0.5, -H3]]),
    "S3": ((180, 40, 320), [[1, -1, 0], [1, 0.7660444, 0.6427876], [1, 0.7660444, -0.6427876]]),
    "S4": ((180, 45, 315), [[1, -1, 0], [1, H2, H2], [1, H2, -H2]]),
    "S5": ((180, 90, 270), [[1, -1, 0], [1, 0, 1], [1, 0, -1]]),
    "S6": ((0, 90, 180, 270), [[1, 1, 0], [1, 0, 1], [1, -1, 0], [1, 0, -1]]),
    "S7": ((45, 135, 225, 315), [[1, H2, H2], [1, -H2, H2], [1, -H2, -H2], [1, H2, -H2]]),
}


def plate_matrix(row: str) -> np.ndarray:
    """Build the matrix from what the program says each servo does: a lifts the nose side, b the right side."""
    effects = np.array([plate_effect(np.radians(psi), 0.0, "clockwise") for psi in LAYOUTS[row][0]])
    roll_right, nose_up = effects[:, 0], effects[:, 1]
    return np.column_stack([np.ones(len(effects)), nose_up, -roll_right])


@pytest.mark.parametrize("row", LAYOUTS)
def test_s1_to_s7_each_servo_lifts_its_own_side(row):
    np.testing.assert_allclose(plate_matrix(row), LAYOUTS[row][1], atol=1e-7)


def test_s1_three_at_120_from_the_tail():
    matrix = plate_matrix("S1")
    np.testing.assert_allclose(np.linalg.pinv(matrix)[0], [1 / 3] * 3, atol=1e-12)
    assert np.linalg.cond(matrix) == pytest.approx(1.414, abs=5e-4)


def test_s2_three_at_120_from_the_nose():
    np.testing.assert_allclose(np.linalg.pinv(plate_matrix("S2"))[1], [2 / 3, -1 / 3, -1 / 3], atol=1e-12)


@pytest.mark.parametrize(
    ("row", "collective"),
    [("S3", (0.4338, 0.2831, 0.2831)), ("S4", (0.4142, 0.2929, 0.2929)), ("S5", (0.0, 0.5, 0.5))],
)
def test_s3_s4_s5_share_of_each_servo_in_collective(row, collective):
    np.testing.assert_allclose(np.linalg.pinv(plate_matrix(row))[0], collective, atol=5e-5)


@pytest.mark.parametrize("row", ["S6", "S7"])
def test_s6_s7_four_servos_bind_unless_their_moves_alternate_to_nothing(row):
    matrix = plate_matrix(row)
    np.testing.assert_allclose(np.array([1, -1, 1, -1]) @ matrix, 0.0, atol=1e-12)
    assert np.linalg.matrix_rank(matrix) == 3


@pytest.mark.parametrize("row", LAYOUTS)
@pytest.mark.parametrize("wanted", [(0.0, 1.0, 0.0), (0.0, 0.0, -1.0), (0.0, 0.4, 0.7)])
def test_s1_to_s7_the_servos_together_tilt_the_plate_as_asked(row, wanted):
    matrix = plate_matrix(row)
    lifts = matrix @ np.array(wanted)
    effects = np.array([plate_effect(np.radians(psi), 0.0, "clockwise") for psi in LAYOUTS[row][0]])
    turned = lifts @ effects  # what they do to the airframe together
    assert turned[1] * wanted[1] >= -1e-12, "nose side up puts the nose up"
    assert -turned[0] * wanted[2] >= -1e-12, "right side up rolls left"
    np.testing.assert_allclose(np.linalg.lstsq(matrix, lifts)[0], wanted, atol=1e-12)
