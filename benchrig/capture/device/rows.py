"""Rows on their way: as a reader gives them, and in the order of their clock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchrig.geometry.directions import Vector


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Whole rows as a reader gives them.

    Attributes
    ----------
    values : ndarray, shape (n, C)
    piece : ndarray, shape (n,), int
        The number of each among all pieces that came, whole or damaged: where it grows by more than one, as many
        damaged rows lay between.
    """

    values: Vector
    piece: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Rows on their way to their times.

    Attributes
    ----------
    values : ndarray, shape (n, C)
    x : ndarray, shape (n,)
        The device's clock in s, or its count of rows, unwrapped; else the number of the piece.
    piece : ndarray, shape (n,), int
    arrival : ndarray, shape (n,), s
    """

    values: Vector
    x: Vector
    piece: np.ndarray
    arrival: Vector

    def __len__(self) -> int:
        return len(self.x)
