"""Rotations: quaternions (scalar first, Hamilton), rotation vectors, 3-2-1 angles, and the 48 signed axis maps.

A rotation here takes a vector from the body to the world (active, ``v_world = R @ v_body``) unless a name says
otherwise. Libraries differ in this: see ``docs/conventions.md``.
"""

from __future__ import annotations

from itertools import permutations, product
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector

FRD_FROM_FLU: Final[Matrix] = np.diag([1.0, -1.0, -1.0])
"""Forward-right-down from forward-left-up; its own inverse."""

NED_FROM_ENU: Final[Matrix] = np.array([[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, -1.0]])
"""North-east-down from east-north-up; its own inverse."""


_TINY: Final = 1e-12
"""Below this a sine or an angle (rad) has no axis."""


def _signed_permutations() -> Matrix:
    maps = []
    for order in permutations(range(3)):
        for signs in product((1.0, -1.0), repeat=3):
            matrix = np.zeros((3, 3))
            matrix[range(3), order] = signs
            maps.append(matrix)
    maps.sort(key=lambda m: (np.linalg.det(m) < 0, not np.array_equal(m, np.eye(3)), m.tolist()))
    return np.array(maps)


SIGNED_PERMUTATIONS: Final[Matrix] = _signed_permutations()
"""Shape (48, 3, 3): the 24 proper maps first, the identity at index 0, then the 24 mirrored ones."""
SIGNED_PERMUTATIONS.flags.writeable = False


def multiply(left: Vector, right: Vector) -> Vector:
    """Multiply quaternions (Hamilton, scalar first), elementwise over leading dimensions.

    Parameters
    ----------
    left, right : ndarray, shape (..., 4)

    Returns
    -------
    ndarray, shape (..., 4)
    """
    w, x, y, z = left[..., 0], left[..., 1], left[..., 2], left[..., 3]
    a, b, c, d = right[..., 0], right[..., 1], right[..., 2], right[..., 3]
    result = np.empty(np.broadcast_shapes(left.shape, right.shape))
    result[..., 0] = w * a - x * b - y * c - z * d
    result[..., 1] = w * b + x * a + y * d - z * c
    result[..., 2] = w * c - x * d + y * a + z * b
    result[..., 3] = w * d + x * c - y * b + z * a
    return result


def quaternion_from_vector(rotation_vector: Vector) -> Vector:
    """Turn rotation vectors (axis times angle, rad) into unit quaternions.

    Parameters
    ----------
    rotation_vector : ndarray, shape (..., 3), rad

    Returns
    -------
    ndarray, shape (..., 4)
        Scalar first.
    """
    half = 0.5 * np.linalg.norm(rotation_vector, axis=-1, keepdims=True)
    # sinc is exact at zero, where axis and angle are undefined
    return np.concatenate([np.cos(half), 0.5 * np.sinc(half / np.pi) * rotation_vector], axis=-1)


def vector_from_quaternion(quaternion: Vector) -> Vector:
    """Turn unit quaternions into the rotation vectors of at most half a turn.

    Returns
    -------
    ndarray, shape (..., 3), rad
    """
    upright = np.where(quaternion[..., :1] < 0, -quaternion, quaternion)
    sine = np.linalg.norm(upright[..., 1:], axis=-1, keepdims=True)
    angle = 2 * np.arctan2(sine, upright[..., :1])
    scale = np.divide(angle, sine, out=np.full_like(sine, 2.0), where=sine > _TINY)
    result: Vector = scale * upright[..., 1:]
    return result


def matrix_from_quaternion(quaternion: Vector) -> Matrix:
    """Turn unit quaternions into rotation matrices (active: ``v_world = R @ v_body``).

    Returns
    -------
    ndarray, shape (..., 3, 3)
    """
    w, x, y, z = np.moveaxis(quaternion, -1, 0)
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
        [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
        [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
    ]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def matrix_from_vector(rotation_vector: Vector) -> Matrix:
    """Turn rotation vectors into rotation matrices.

    Examples
    --------
    >>> quarter = np.array([0.0, np.pi / 2, 0.0])      # nose up by 90°
    >>> (matrix_from_vector(quarter) @ [1.0, 0.0, 0.0]).round(9).tolist()   # the nose points up
    [0.0, 0.0, -1.0]
    """
    return matrix_from_quaternion(quaternion_from_vector(np.asarray(rotation_vector, dtype=np.float64)))


def vector_from_matrix(rotation: Matrix) -> Vector:
    """Turn one rotation matrix into its rotation vector of at most half a turn.

    Returns
    -------
    ndarray, shape (3,), rad
    """
    symmetric = np.array(
        [
            [rotation[0, 0] - rotation[1, 1] - rotation[2, 2], 0.0, 0.0, 0.0],
            [rotation[0, 1] + rotation[1, 0], rotation[1, 1] - rotation[0, 0] - rotation[2, 2], 0.0, 0.0],
            [rotation[0, 2] + rotation[2, 0], rotation[1, 2] + rotation[2, 1], 0.0, 0.0],
            [0.0, 0.0, 0.0, np.trace(rotation)],
        ]
    )
    symmetric[2, 2] = rotation[2, 2] - rotation[0, 0] - rotation[1, 1]
    symmetric[3, :3] = (
        rotation[2, 1] - rotation[1, 2],
        rotation[0, 2] - rotation[2, 0],
        rotation[1, 0] - rotation[0, 1],
    )
    # the eigenvector of the largest eigenvalue holds at every angle (Bar-Itzhack 2000, from memory); eigh reads
    # the lower triangle
    _, vectors = np.linalg.eigh(symmetric)
    return vector_from_quaternion(np.roll(vectors[:, -1], 1))


def angles_from_matrix(world_from_body: Matrix) -> Vector:
    """Read roll, pitch and yaw (3-2-1 order) from rotation matrices.

    Parameters
    ----------
    world_from_body : ndarray, shape (..., 3, 3)

    Returns
    -------
    ndarray, shape (..., 3), rad
        Roll, pitch, yaw.

    Examples
    --------
    >>> nose_up = matrix_from_vector(np.array([0.0, np.radians(30.0), 0.0]))
    >>> np.degrees(angles_from_matrix(nose_up)).round(6).tolist()
    [0.0, 30.0, 0.0]
    """
    r = world_from_body
    roll = np.arctan2(r[..., 2, 1], r[..., 2, 2])
    pitch = -np.arcsin(np.clip(r[..., 2, 0], -1.0, 1.0))
    yaw = np.arctan2(r[..., 1, 0], r[..., 0, 0])
    return np.stack([roll, pitch, yaw], axis=-1)


def matrix_from_angles(angles: Vector) -> Matrix:
    """Build world-from-body matrices from roll, pitch and yaw (3-2-1 order).

    Parameters
    ----------
    angles : ndarray, shape (..., 3), rad

    Returns
    -------
    ndarray, shape (..., 3, 3)
    """
    roll, pitch, yaw = np.moveaxis(np.asarray(angles, dtype=np.float64), -1, 0)
    sr, cr, sp, cp, sy, cy = np.sin(roll), np.cos(roll), np.sin(pitch), np.cos(pitch), np.sin(yaw), np.cos(yaw)
    rows = [
        [cy * cp, cy * sp * sr - sy * cr, cy * sp * cr + sy * sr],
        [sy * cp, sy * sp * sr + cy * cr, sy * sp * cr - cy * sr],
        [-sp, cp * sr, cp * cr],
    ]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def body_rates(angles: Vector, angle_rates: Vector) -> Vector:
    """Turn the rates of roll, pitch and yaw into p, q, r.

    References
    ----------
    Aeronautical Engineer's Data Book, Table 7.1 (p. 109).
    """
    roll, pitch, _ = np.moveaxis(np.asarray(angles, dtype=np.float64), -1, 0)
    roll_rate, pitch_rate, yaw_rate = np.moveaxis(np.asarray(angle_rates, dtype=np.float64), -1, 0)
    p = roll_rate - yaw_rate * np.sin(pitch)
    q = pitch_rate * np.cos(roll) + yaw_rate * np.sin(roll) * np.cos(pitch)
    r = yaw_rate * np.cos(roll) * np.cos(pitch) - pitch_rate * np.sin(roll)
    return np.stack([p, q, r], axis=-1)


def gravity_reading(roll: float, pitch: float, gravity: float = 1.0) -> Vector:
    """Give the specific force at rest in body axes: minus gravity, so level reads (0, 0, -g).

    Parameters
    ----------
    roll, pitch : float, rad
    gravity : float
        Its size; the unit of the result.

    Returns
    -------
    ndarray, shape (3,)

    Examples
    --------
    >>> gravity_reading(np.radians(30.0), 0.0).round(6).tolist()       # right side down
    [0.0, -0.5, -0.866025]
    """
    return gravity * np.array([np.sin(pitch), -np.sin(roll) * np.cos(pitch), -np.cos(roll) * np.cos(pitch)])
