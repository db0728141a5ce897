"""Mountings by words and by matrix, and positions by words."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.errors import AirframeFileError
from benchrig.geometry.rotations import matrix_from_angles


def rotation(matrix) -> str:
    rows = ", ".join(f"[{', '.join(f'{value:.6f}' for value in row)}]" for row in matrix)
    return f'[airframe]\nname = "Wheatear"\nkind = "aeroplane"\n[sensor]\nrotation = [{rows}]\n'


TILTED = matrix_from_angles(np.radians([10.0, -20.0, 130.0]))


def test_a_free_rotation_is_taken_as_body_from_sensor(declare) -> None:
    sensor = declare(rotation(TILTED)).sensor
    np.testing.assert_allclose(sensor.body_from_sensor, TILTED, atol=1e-6)
    assert not sensor.is_square


def test_a_rotation_written_with_three_decimals_is_made_exactly_orthonormal(declare) -> None:
    matrix = declare(rotation(TILTED.round(3))).sensor.body_from_sensor
    np.testing.assert_allclose(matrix.T @ matrix, np.eye(3), atol=1e-14)
    assert np.linalg.det(matrix) == pytest.approx(1.0)
    np.testing.assert_allclose(matrix, TILTED, atol=1e-3)


def test_a_square_rotation_has_words(declare) -> None:
    sensor = declare(rotation([[0, -1, 0], [1, 0, 0], [0, 0, 1]])).sensor
    assert sensor.axes == {"x": "right", "y": "aft", "z": "down"}


def test_a_mirrored_rotation_is_refused_with_the_reason(refusal) -> None:
    message = refusal(rotation(TILTED @ np.diag([1.0, 1.0, -1.0])))
    assert message.startswith("dunlin.toml:5: sensor.rotation is mirrored: its determinant is -1; expected +1")
    assert "one axis has the wrong sign" in message


@pytest.mark.parametrize(
    ("matrix", "words"),
    [
        (TILTED.round(2), r"is not a rotation: RᵀR differs from the identity by 0\.0\d+; expected at most 0.005"),
        (np.zeros((3, 3)), "differs from the identity by 1; expected"),
        (np.full((3, 3), 90.0), "an entry is over 2; .* angles instead of direction cosines"),
        (np.full((3, 3), 1e300), "an entry is over 2"),
        ([[1, 0, 0], [0, 1, 0]], r"sensor\.rotation = \[\[…\], \[…\]\] has 2 entries; expected 3 entries"),
        ([[1, 0, 0], [0, 1, 0], [0, 1]], r"sensor\.rotation\[3\] = .* has 2 entries; expected 3 entries"),
    ],
)
def test_a_matrix_that_is_no_rotation_is_refused(declare, matrix, words) -> None:
    with pytest.raises(AirframeFileError, match=words) as caught:
        declare(rotation(matrix))
    assert caught.value.exit_status == 4


def test_an_entry_of_a_rotation_that_is_no_number_is_named_by_row_and_column(refusal, aeroplane) -> None:
    text = aeroplane.replace(
        'axes = { x = "forward", y = "right" }', 'rotation = [\n[1, 0, 0],\n[0, "1", 0],\n[0, 0, 1]]'
    )
    assert refusal(text).startswith('dunlin.toml:7: sensor.rotation[2][2] = "1" is a text; expected a number')


def test_two_words_give_the_third_by_the_right_hand_rule(declare, multirotor) -> None:
    assert declare(multirotor).sensor.axes == {"x": "forward", "y": "left", "z": "up"}


def test_the_magnetometer_has_a_mounting_of_its_own(refusal, aeroplane) -> None:
    message = refusal(aeroplane + '[magnetometer]\naxes = { x = "up", y = "left", z = "forward" }')
    assert message.startswith("dunlin.toml:7: magnetometer axes")
    assert "with x up and y left, z points aft" in message


def test_every_word_moves_a_position_its_own_way(declare, aeroplane) -> None:
    forward = declare(aeroplane + "position_mm = { forward = 1, right = 2.5, down = 3 }").sensor.lever_arm
    aft = declare(aeroplane + "position_mm = { aft = 1, left = 2.5, up = 3 }").sensor.lever_arm
    assert forward.tolist() == [0.001, 0.0025, 0.003]
    assert aft.tolist() == [-0.001, -0.0025, -0.003]
