"""From the words or the matrix of a mounting to the rotation, and from distances to a position."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.declaration.airframe_tables import MountedTable, PositionTable, SensorTable
from benchrig.declaration.quotation import nearest
from benchrig.declaration.table_faults import Faults, Keys
from benchrig.geometry.directions import Matrix, Vector, body_from_sensor, opposite, position

SQUARENESS: Final = 5e-3
"""By how much an entry of RᵀR may differ from the identity: a matrix written with three decimals passes."""

_EXACT: Final = 1e-12
_MOST_NAMED: Final = 2


def read_mounting(table: MountedTable, keys: Keys, faults: Faults) -> Matrix | None:
    """Give the rotation from a sensor's own axes to the body's, or note why there is none.

    Parameters
    ----------
    table : MountedTable
    keys : tuple
        Where it stands in the file.
    faults : Faults

    Returns
    -------
    ndarray, shape (3, 3), or None
        ``body_from_sensor @ v_sensor`` is the same vector in body axes; determinant +1, orthonormal to rounding.
    """
    if table.axes is not None and table.rotation is not None:
        both = f"{faults.named(keys)} has axes and rotation"
        faults.add((*keys, "rotation"), both, "one of them", act="keep axes for a sensor square to the airframe")
        return None
    if table.axes is not None:
        return _from_axes(table.axes.model_dump(exclude_none=True), (*keys, "axes"), faults)
    if table.rotation is not None:
        return _from_rotation(np.array(table.rotation), (*keys, "rotation"), faults)
    if any(_meant(key) for key in faults.file.data[str(keys[0])]):
        return None  # it is there and has been found wrong
    example = 'add axes = { x = "forward", y = "right", z = "down" } with the words that hold'
    faults.add(keys, f"{faults.named(keys)} has neither axes nor rotation", act=example)
    return None


def _meant(key: str) -> bool:
    """Say whether a key is, or is a misspelt, `axes` or `rotation`."""
    known = nearest(key, SensorTable.model_fields) if key not in SensorTable.model_fields else key
    return known in ("axes", "rotation")


def _from_axes(axes: dict[str, str], keys: Keys, faults: Faults) -> Matrix | None:
    try:
        return _fixed(body_from_sensor(axes))
    except ValueError as error:
        cause = "a slip in one word, or axes read off another drawing"
        act = "look at the axes printed on the unit and write where each points in the airframe"
        faults.add(keys, f"{' '.join(map(str, keys))} {error}", cause=cause if len(axes) > _MOST_NAMED else "", act=act)
    return None


def _from_rotation(matrix: Matrix, keys: Keys, faults: Faults) -> Matrix | None:
    name = faults.named(keys)
    # an entry over 2 is wrong by any tolerance, and its square might overflow
    gap = float(np.abs(matrix.T @ matrix - np.eye(3)).max()) if np.abs(matrix).max() < 2 else np.inf  # noqa: PLR2004
    if gap > SQUARENESS:
        size = f"RᵀR differs from the identity by {gap:.2g}" if np.isfinite(gap) else "an entry is over 2"
        cause = "angles instead of direction cosines, a slip in one entry, or too few decimals"
        faults.add(keys, f"{name} is not a rotation: {size}", f"at most {SQUARENESS:g}", cause, "check each entry")
        return None
    determinant = float(np.linalg.det(matrix))
    if determinant < 0:
        finding = f"{name} is mirrored: its determinant is {determinant:.3g}"
        cause = "one axis has the wrong sign, or two rows or columns are swapped; no turning can mount a sensor so"
        faults.add(keys, finding, "+1", cause, "check the signs column by column: each is one of the unit's axes")
        return None
    if gap < _EXACT:
        return _fixed(matrix + 0.0)
    left, _, right = np.linalg.svd(matrix)
    nearest_rotation: Matrix = left @ right
    return _fixed(nearest_rotation)


def read_position(table: PositionTable, keys: Keys, faults: Faults) -> Vector | None:
    """Give a position in metres from the centre of gravity, in body axes; or note why there is none.

    Returns
    -------
    ndarray, shape (3,), m, or None
        Forward, right, down.
    """
    distances = {word: float(value) for word, value in table.model_dump(exclude_none=True).items()}
    clash = next((word for word in distances if opposite(word) in distances), None)
    if clash is not None:
        finding = f"{faults.named(keys)} gives both {clash} and {opposite(clash)}"
        faults.add((*keys, opposite(clash)), finding, "one of the two", act="keep the one that holds")
        return None
    return _fixed(position(distances) / 1000.0)


def _fixed(array: Vector) -> Vector:
    array.flags.writeable = False
    return array
