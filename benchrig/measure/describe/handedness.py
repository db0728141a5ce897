"""In which order the axes of gyro and accelerometer stand, and whether the two agree about it."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.quotation import escape
from benchrig.geometry.directions import Matrix
from benchrig.measure.describe.hints import axes_by_name
from benchrig.measure.describe.transport import Turner

SURE: Final = 7.0
"""Nats by which an order or a sign must lead to be told: odds of a thousand to one."""

_AXES: Final = "xyz"


@dataclass(frozen=True, slots=True, eq=False)
class Axes:
    """The order of the axes, and what gyro and accelerometer say of each other.

    Attributes
    ----------
    accelerometer, gyro : tuple of int
        Columns in the order x, y, z that is proposed.
    from_names : bool
        Whether names gave the order of at least one of them.
    relation : ndarray, shape (3, 3)
        The turn about the accelerometer's axes, from the gyro's columns: the identity where they agree.
    is_sure : bool
        Whether the stream shows it.
    """

    accelerometer: tuple[int, int, int]
    gyro: tuple[int, int, int]
    from_names: bool
    relation: Matrix
    is_sure: bool

    @property
    def agree(self) -> bool:
        """Whether gyro and accelerometer agree in order and signs."""
        return bool(np.array_equal(self.relation, np.eye(3)))


def order_axes(names: Sequence[str], vector: tuple[int, int, int], turner: Turner, margin: float) -> Axes:
    """Put the columns in order: as their names say, or else so that the two sensors share right-handed axes.

    Parameters
    ----------
    names : sequence of str
        Of all columns.
    vector : tuple of int
        The accelerometer's columns.
    turner : Turner
        The gyro's columns as components about the axes of `vector`, taken as right-handed in its order.
    margin : float
        By how much order and signs lead, in nats.
    """
    named_vector = axes_by_name([names[c] for c in vector])
    named_gyro = axes_by_name([names[c] for c in turner.columns])
    if named_vector is not None:
        places = named_vector
    elif named_gyro is not None:
        places = named_gyro
    else:
        # the axes are free to name: where all signs are reversed, the other hand is meant
        places = (0, 1, 2) if sum(turner.signs) > -3 else (0, 2, 1)  # noqa: PLR2004 - three signs
    accelerometer = (vector[places[0]], vector[places[1]], vector[places[2]])
    about = tuple(turner.columns[p] for p in places)
    hand = round(float(np.linalg.det(np.eye(3)[list(places)])))
    signs = [hand * turner.signs[p] for p in places]
    gyro = about
    if named_vector is not None and named_gyro is not None:
        gyro = tuple(turner.columns[p] for p in named_gyro)
    relation = np.zeros((3, 3))
    for axis, column in enumerate(about):
        relation[axis, gyro.index(column)] = signs[axis]
    from_names = named_vector is not None or named_gyro is not None
    return Axes(accelerometer, (gyro[0], gyro[1], gyro[2]), from_names, relation, margin >= SURE)


def explained(axes: Axes, names: Sequence[str]) -> str:
    """Say in words what gyro and accelerometer say of each other; nothing is mended."""
    if not axes.is_sure:
        return "whether the signs of gyro and accelerometer agree cannot be told from this stream"
    if axes.agree:
        return "gyro and accelerometer agree: same axes, same hand, as the order of the names stands"
    causes = [words for words, relation in _causes(axes, names).items() if np.array_equal(relation, axes.relation)]
    if not axes.from_names:
        causes = _of_one_axis(axes, names) or causes
    likely = " or ".join(causes[:3]) if causes else "more than one sign or place is wrong"
    return (
        f"gyro and accelerometer contradict each other: {likely}. Nothing is mended here: "
        "`check` will find it too; mend it in the unit or the logger"
    )


def _causes(axes: Axes, names: Sequence[str]) -> Mapping[str, Matrix]:
    """Give what each simple mistake makes of the relation; the accelerometer's sign as a whole does not show."""
    gyro, accelerometer = ([escape(names[c]) for c in columns] for columns in (axes.gyro, axes.accelerometer))
    causes: dict[str, Matrix] = {}
    for k in range(3):
        flipped = np.diag([-1.0 if i == k else 1.0 for i in range(3)])
        causes[f"{gyro[k]} has the wrong sign"] = flipped
        causes[f"{accelerometer[k]} has the wrong sign"] = -flipped
    causes["all three columns of the gyro have the wrong sign, or both sensors' axes are left-handed"] = -np.eye(3)
    for i, j in itertools.combinations(range(3), 2):
        order = [j if k == i else i if k == j else k for k in range(3)]
        swapped = np.eye(3)[order]
        causes[f"{gyro[i]} and {gyro[j]} are in each other's place"] = swapped
        causes[f"{accelerometer[i]} and {accelerometer[j]} are in each other's place"] = -swapped
    if np.linalg.det(axes.relation) > 0:
        causes["the gyro's axes lie otherwise than the accelerometer's, by a turn"] = axes.relation
    return causes


def _of_one_axis(axes: Axes, names: Sequence[str]) -> list[str]:
    """Name the axis of which one sensor has the wrong sign, where nothing says which hand the axes have."""
    signs = np.diag(axes.relation)
    odd = [k for k in range(3) if signs[k] != np.sign(signs.sum())]
    if len(odd) != 1:
        return []
    gyro, accelerometer = names[axes.gyro[odd[0]]], names[axes.accelerometer[odd[0]]]
    return [f"{escape(gyro)} has the wrong sign", f"{escape(accelerometer)} has it"]
