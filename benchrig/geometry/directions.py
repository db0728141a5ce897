"""Direction words and the body axes they stand for (ISO 1151-1: x forward, y right, z down).

A person never writes a sign: they write one of six words, and the functions here find the sign.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

DIRECTIONS: Final[Mapping[str, tuple[int, int]]] = {
    "forward": (0, 1),
    "aft": (0, -1),
    "right": (1, 1),
    "left": (1, -1),
    "down": (2, 1),
    "up": (2, -1),
}
"""Each word's body axis (0 forward, 1 right, 2 down) and its sign along it."""

SENSOR_AXES: Final = ("x", "y", "z")


def opposite(word: str) -> str:
    """Name the direction opposite to `word`.

    Examples
    --------
    >>> opposite("aft")
    'forward'
    """
    axis, sign = DIRECTIONS[word]
    return word_along(axis, -sign)


def word_along(axis: int, sign: int) -> str:
    """Name the direction along a body axis.

    Parameters
    ----------
    axis : int
        0 forward, 1 right, 2 down.
    sign : int
        +1 or -1.

    Examples
    --------
    >>> word_along(2, -1)
    'up'
    """
    for word, known in DIRECTIONS.items():
        if known == (axis, sign):
            return word
    message = f"no direction along axis {axis} with sign {sign}"
    raise ValueError(message)


def unit_vector(word: str) -> Vector:
    """Turn a direction word into a unit vector in body axes.

    Returns
    -------
    ndarray, shape (3,)
        Forward, right, down.

    Examples
    --------
    >>> unit_vector("up").tolist()
    [0.0, 0.0, -1.0]
    """
    axis, sign = DIRECTIONS[word]
    vector = np.zeros(3)
    vector[axis] = sign
    return vector


def body_from_sensor(axes: Mapping[str, str]) -> Matrix:
    """Build the mounting rotation from the words for where the sensor's own axes point.

    Parameters
    ----------
    axes : mapping of {"x", "y", "z"} to a direction word
        Two or three of the sensor's axes; a missing third follows by the right-hand rule.

    Returns
    -------
    ndarray, shape (3, 3)
        ``body_from_sensor @ v_sensor`` is the same vector in body axes. A signed permutation with determinant +1.

    Raises
    ------
    ValueError
        If fewer than two axes are named, two lie along one line, or the three are left-handed.

    Examples
    --------
    >>> (body_from_sensor({"x": "aft", "y": "left"}) @ [0.0, 0.0, 1.0]).tolist()
    [0.0, 0.0, 1.0]
    """
    named = {key: unit_vector(axes[key]) for key in SENSOR_AXES if key in axes}
    if len(named) < 2:  # noqa: PLR2004 - two axes fix the third
        message = "name at least two of x, y and z; the third follows by the right-hand rule"
        raise ValueError(message)
    for first, second in (("x", "y"), ("x", "z"), ("y", "z")):
        if first in named and second in named and named[first] @ named[second] != 0:
            message = (
                f'{first} = "{axes[first]}" and {second} = "{axes[second]}" lie along one line; '
                "two axes of a sensor are square to each other, so one word is wrong"
            )
            raise ValueError(message)
    if len(named) < len(SENSOR_AXES):
        missing = next(key for key in SENSOR_AXES if key not in named)
        index = SENSOR_AXES.index(missing)
        before, after = SENSOR_AXES[index - 2], SENSOR_AXES[index - 1]
        named[missing] = np.cross(named[before], named[after])
    matrix = np.column_stack([named[key] for key in SENSOR_AXES])
    if np.linalg.det(matrix) < 0:
        third = word_of(np.cross(named["x"], named["y"]))
        message = (
            f'x = "{axes["x"]}", y = "{axes["y"]}", z = "{axes["z"]}" are left-handed: '
            f"with x {axes['x']} and y {axes['y']}, z points {third}; one word is wrong"
        )
        raise ValueError(message)
    return matrix + 0.0  # turns -0.0 into 0.0, so that equal mountings print equally


def word_of(vector: Vector) -> str:
    """Name the direction of a vector that lies exactly along a body axis.

    Raises
    ------
    ValueError
        If it does not.
    """
    axis = int(np.argmax(np.abs(vector)))
    if not np.allclose(np.abs(vector), np.eye(3)[axis], atol=1e-9):
        message = f"{vector} does not point along a body axis"
        raise ValueError(message)
    return word_along(axis, 1 if vector[axis] > 0 else -1)


def axis_words(matrix: Matrix) -> dict[str, str] | None:
    """Say in words where a sensor's axes point, or give None for a mounting that is not square.

    Parameters
    ----------
    matrix : ndarray, shape (3, 3)
        Body from sensor; may be mirrored.

    Examples
    --------
    >>> axis_words(np.diag([-1.0, -1.0, 1.0]))
    {'x': 'aft', 'y': 'left', 'z': 'down'}
    """
    try:
        return {key: word_of(matrix[:, index]) for index, key in enumerate(SENSOR_AXES)}
    except ValueError:
        return None


def position(distances: Mapping[str, float]) -> Vector:
    """Add up distances along direction words to one vector.

    Parameters
    ----------
    distances : mapping of direction word to float
        What is left out is zero. The unit of the result is that of the values.

    Returns
    -------
    ndarray, shape (3,)
        Forward, right, down.

    Raises
    ------
    ValueError
        If two opposite directions are both given.

    Examples
    --------
    >>> position({"aft": 180.0, "up": 25.0}).tolist()
    [-180.0, 0.0, -25.0]
    """
    total = np.zeros(3)
    for word, distance in distances.items():
        if opposite(word) in distances:
            message = f"{word} and {opposite(word)} are both given; write the one that holds"
            raise ValueError(message)
        axis, sign = DIRECTIONS[word]
        total[axis] = sign * distance if distance else 0.0
    return total
