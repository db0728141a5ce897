"""Rotations: the 48 signed axis maps, published matrices and quaternions, and who stores what how (rows R1 to R17).

Sources, with what is known of each:

- The octahedral group, by enumeration; scipy `Rotation.create_group("O")` and `align_vectors` (confirmed).
- Markley, Attitude determination using vector observations and the singular value decomposition, J. Astronautical
  Sciences 36(3), 1988: matrix and cases (confirmed through public code that quotes them).
- MathWorks, `angle2dcm`, `quat2dcm`, `dcm2quat` examples (confirmed): their matrices are passive.
- RSpincalc, `Q2DCM` example (confirmed): passive, scalar first.
- Solà, Quaternion kinematics for the error-state Kalman filter, arXiv:1711.02508, Table 1 (from memory): Hamilton.

Matrices here are active (`v_world = R @ v_body`), so a passive published matrix is the transpose of one of these.
"""

from __future__ import annotations

import warnings
from itertools import product

import ahrs
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from benchrig.geometry.directions import axis_words, body_from_sensor
from benchrig.geometry.rotations import (
    SIGNED_PERMUTATIONS,
    angles_from_matrix,
    gravity_reading,
    matrix_from_angles,
    matrix_from_quaternion,
    matrix_from_vector,
    multiply,
    quaternion_from_vector,
    vector_from_quaternion,
)
from benchrig.verdict.wirings import PROPER, weigh_level

PROPER_MAPS, MIRRORED_MAPS = SIGNED_PERMUTATIONS[:PROPER], SIGNED_PERMUTATIONS[PROPER:]

MARKLEY_MATRIX = np.array([[0.352, 0.864, 0.360], [-0.864, 0.152, 0.480], [0.360, -0.480, 0.800]])
MARKLEY_QUATERNION = np.array([0.758947, -0.316228, 0.0, -0.569210])  # active, scalar first


def counted(values: np.ndarray) -> dict[int, int]:
    """Count how often each whole number occurs."""
    numbers, counts = np.unique(np.round(values).astype(int), return_counts=True)
    return dict(zip(numbers.tolist(), counts.tolist(), strict=True))


def unit(quaternion: list[float]) -> np.ndarray:
    return np.array(quaternion) / np.linalg.norm(quaternion)


def test_r1_48_signed_maps_of_which_24_are_rotations():
    # R1, scipy create_group("O") (confirmed)
    assert len(np.unique(SIGNED_PERMUTATIONS.reshape(48, 9), axis=0)) == 48
    assert (np.linalg.det(PROPER_MAPS) > 0).all()
    assert (np.linalg.det(MIRRORED_MAPS) < 0).all()
    assert SIGNED_PERMUTATIONS[0].tolist() == np.eye(3).tolist()
    group = {tuple(np.round(m).astype(int).ravel().tolist()) for m in Rotation.create_group("O").as_matrix()}
    assert group == {tuple(m.astype(int).ravel().tolist()) for m in PROPER_MAPS}


def test_r2_the_24_rotations_by_trace_and_angle():
    # R2, enumeration: 1 × 0°, 6 × 90°, 8 × 120°, 9 × 180°
    assert counted(np.trace(PROPER_MAPS, axis1=1, axis2=2)) == {3: 1, 1: 6, 0: 8, -1: 9}
    angles = [np.degrees(np.linalg.norm(Rotation.from_matrix(m).as_rotvec())) for m in PROPER_MAPS]
    assert counted(np.array(angles)) == {0: 1, 90: 6, 120: 8, 180: 9}


def test_r3_the_24_mirrored_maps_by_trace():
    # R3, enumeration; three of them are one wrong sign, three a swap of two axes
    assert counted(np.trace(MIRRORED_MAPS, axis1=1, axis2=2)) == {-3: 1, -1: 6, 0: 8, 1: 9}
    diagonal = [m for m in MIRRORED_MAPS if (np.abs(m) == np.eye(3)).all()]
    assert sum(np.trace(m) == 1 for m in diagonal) == 3
    assert sum(bool((m >= 0).all()) for m in MIRRORED_MAPS) == 3


def test_r4_two_mountings_are_at_least_a_quarter_turn_apart():
    # R4, enumeration: closed under product; smallest separation 90°
    known = {m.tobytes() for m in PROPER_MAPS + 0.0}
    products = (PROPER_MAPS[:, None] @ PROPER_MAPS[None, :] + 0.0).reshape(-1, 3, 3)
    assert {m.tobytes() for m in products} == known
    traces = np.einsum("aij,bij->ab", PROPER_MAPS, PROPER_MAPS)[~np.eye(24, dtype=bool)]
    assert np.degrees(np.arccos((traces.max() - 1) / 2)) == pytest.approx(90.0)


def test_r5_64_triples_of_right_angles_name_only_24_mountings():
    # R5, enumeration
    triples = np.radians(list(product((0.0, 90.0, 180.0, 270.0), repeat=3)))
    matrices = np.round(matrix_from_angles(triples)) + 0.0
    assert {m.tobytes() for m in matrices} == {m.tobytes() for m in PROPER_MAPS + 0.0}
    for matrix in matrices:
        np.testing.assert_array_equal(body_from_sensor(axis_words(matrix)), matrix)


def test_r6_a_level_rest_leaves_four_mountings():
    # R6, enumeration: six classes of four
    level = gravity_reading(0.0, 0.0, 9.81)
    readings = np.round(PROPER_MAPS @ level / 9.81).astype(int) + 0
    assert sorted(np.unique(readings, axis=0, return_counts=True)[1].tolist()) == [4] * 6
    weights = weigh_level(level, np.eye(3))
    best = np.isclose(weights, weights.max())
    assert (best[:PROPER].sum(), best[PROPER:].sum()) == (4, 4)
    assert best[0]


def test_r7_no_rotation_comes_near_a_mirrored_map():
    # R7, scipy align_vectors (Kabsch), rssd = √(2 loss): 2.000 for one wrong sign and for three
    for k, matrix in enumerate(SIGNED_PERMUTATIONS):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # a mirrored set has no single nearest rotation: the point
            nearest, rssd = Rotation.align_vectors(matrix.T, np.eye(3))
        assert rssd == pytest.approx(0.0 if k < PROPER else 2.0, abs=1e-6)
        assert np.linalg.det(nearest.as_matrix()) == pytest.approx(1.0)


def test_r8_markleys_matrix_its_quaternion_axis_and_angle():
    # R8, Markley 1988 (confirmed through public code)
    np.testing.assert_allclose(matrix_from_quaternion(MARKLEY_QUATERNION), MARKLEY_MATRIX, atol=3e-6)
    vector = vector_from_quaternion(unit(MARKLEY_QUATERNION.tolist()))
    assert np.degrees(np.linalg.norm(vector)) == pytest.approx(81.257153, abs=1e-4)
    np.testing.assert_allclose(vector / np.linalg.norm(vector), [-0.485643, 0.0, -0.874157], atol=2e-6)
    np.testing.assert_allclose(matrix_from_vector(vector), MARKLEY_MATRIX, atol=3e-6)


@pytest.mark.parametrize(
    ("case", "references"),
    [
        (1, [(1, 0, 0), (0, 1, 0), (0, 0, 1)]),
        (2, [(1, 0, 0), (0, 1, 0)]),
        (5, [(0.6, 0.8, 0), (0.8, -0.6, 0)]),
        (10, [(1, 0, 0), (0.96, 0.28, 0), (0.96, 0, 0.28)]),
    ],
)
def test_r9_markleys_cases_lead_back_to_his_matrix(case, references):
    # R9, Markley 1988 (confirmed through public code). The observations are made by the rotations here, and an
    # independent solver of Wahba's problem leads back to the published matrix.
    references = np.array(references, dtype=float)
    observed = references @ matrix_from_quaternion(unit(MARKLEY_QUATERNION.tolist())).T
    if case == 5:
        np.testing.assert_allclose(observed, [[0.9024, -0.3968, -0.168], [-0.2368, -0.7824, 0.576]], atol=5e-6)
    solved, _ = Rotation.align_vectors(observed, references)
    np.testing.assert_allclose(solved.as_matrix(), MARKLEY_MATRIX, atol=2e-5)


def test_r10_yaw_and_pitch_to_a_matrix():
    # R10, MathWorks angle2dcm(0.7854, 0.1, 0) (confirmed, passive)
    found = matrix_from_angles(np.array([0.0, 0.1, 0.7854])).T
    expected = [[0.7036, 0.7036, -0.0998], [-0.7071, 0.7071, 0.0], [0.0706, 0.0706, 0.9950]]
    np.testing.assert_allclose(found, expected, atol=6e-5)


def test_r11_another_order_of_the_same_angles_is_another_rotation():
    # R11, MathWorks angle2dcm(0.3, 0.1, 0.5, "YXZ") (confirmed, passive): pitch, roll, yaw in turn
    pitch, roll, yaw = 0.3, 0.1, 0.5
    expected = np.array([[0.8525, 0.4770, -0.2136], [-0.4321, 0.8732, 0.2254], [0.2940, -0.0998, 0.9506]])
    about_y, about_x, about_z = (
        quaternion_from_vector(np.array(v)) for v in ([0, pitch, 0], [roll, 0, 0], [0, 0, yaw])
    )
    found = matrix_from_quaternion(multiply(multiply(about_y, about_x), about_z)).T
    np.testing.assert_allclose(found, expected, atol=6e-5)
    here = matrix_from_angles(np.array([roll, pitch, yaw])).T
    assert np.abs(here - expected).max() > 0.02


def test_r12_a_quarter_turn_about_y():
    # R12, MathWorks quat2dcm([1 0 1 0]) (confirmed, passive)
    found = matrix_from_quaternion(unit([1, 0, 1, 0])).T
    np.testing.assert_allclose(found, [[0, 0, -1], [0, 1, 0], [1, 0, 0]], atol=1e-12)


def test_r13_a_quaternion_of_four_parts():
    # R13, MathWorks quat2dcm([1 0.5 0.3 0.1]) (confirmed, passive)
    expected = [[0.8519, 0.3704, -0.3704], [0.0741, 0.6148, 0.7852], [0.5185, -0.6963, 0.4963]]
    np.testing.assert_allclose(matrix_from_quaternion(unit([1, 0.5, 0.3, 0.1])).T, expected, atol=6e-5)


def test_r14_a_matrix_of_three_angles_and_its_quaternion():
    # R14, MathWorks dcm2quat (confirmed, passive): yaw 30, pitch 60, roll 45
    published = np.array([[0.4330, 0.2500, -0.8660], [0.1768, 0.9186, 0.3536], [0.8839, -0.3062, 0.3536]])
    np.testing.assert_allclose(matrix_from_quaternion(unit([0.8224, 0.2006, 0.5320, 0.0223])).T, published, atol=2e-4)
    np.testing.assert_allclose(matrix_from_angles(np.radians([45.0, 60.0, 30.0])).T, published, atol=6e-5)
    np.testing.assert_allclose(np.degrees(angles_from_matrix(published.T)), [45.0, 60.0, 30.0], atol=0.02)


def test_r15_a_second_library():
    # R15, RSpincalc Q2DCM (confirmed, passive, scalar first)
    found = matrix_from_quaternion(unit([-0.1677489, -0.7369231, -0.3682588, 0.5414703])).T
    expected = [
        [0.1423907, 0.3610947, -0.9215940],
        [0.7244189, -0.6724915, -0.1515663],
        [-0.6744939, -0.6460385, -0.3573404],
    ]
    np.testing.assert_allclose(found, expected, atol=2e-7)


def test_r16_the_order_of_two_quarter_turns_matters():
    # R16, arithmetic
    roll, pitch = (matrix_from_vector(np.radians(90.0) * np.eye(3)[k]) for k in (0, 1))
    first, second = np.round(pitch @ roll) + 0.0, np.round(roll @ pitch) + 0.0
    assert sorted([first.tolist(), second.tolist()]) == sorted(
        [[[0, 1, 0], [0, 0, -1], [-1, 0, 0]], [[0, 0, 1], [1, 0, 0], [0, 1, 0]]]
    )
    assert np.trace(first) == np.trace(second) == 0.0  # both turn by 120°


def test_r17_scalar_first_and_hamiltons_product():
    # R17, scipy stores x, y, z, w; ahrs stores w first (both confirmed). Hamilton's product: Solà Table 1 (from memory)
    p, q = unit([0.9, 0.1, -0.3, 0.5]), unit([-0.2, 0.7, 0.4, 0.1])
    by_scipy = Rotation.from_quat(p[[1, 2, 3, 0]]) * Rotation.from_quat(q[[1, 2, 3, 0]])
    np.testing.assert_allclose(matrix_from_quaternion(multiply(p, q)), by_scipy.as_matrix(), atol=1e-15)
    np.testing.assert_allclose(matrix_from_quaternion(p), ahrs.common.orientation.q2R(p), atol=1e-15)
    i, j, k = np.eye(4)[1:]
    assert multiply(i, j).tolist() == k.tolist()
