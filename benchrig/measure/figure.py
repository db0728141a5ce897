"""What a measurement shows as a picture: curves over labelled axes, without colours or pixels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from benchrig.geometry.directions import Vector


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One set of points.

    Attributes
    ----------
    label : str
        Stands beside the curve; it alone tells curves apart where there is no colour.
    x, y : ndarray, shape (N,)
    style : {"line", "dashed", "dots", "cross"}
        ``cross`` marks single points, as a declared place; ``dots`` are samples.
    spread : ndarray, shape (N,), or None
        One standard deviation of `y`, drawn as a bar.
    """

    label: str
    x: Vector
    y: Vector
    style: Literal["line", "dashed", "dots", "cross"] = "line"
    spread: Vector | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """A picture of curves.

    Attributes
    ----------
    title : str
        A whole sentence that says what is seen.
    description : str
        For a person who cannot see it: what lies where, with the numbers that matter.
    x_label, y_label : str
        With units.
    scale : {"linear", "logarithmic", "equal"}
        ``equal``: one unit is as long on both axes, as on a plan; ``logarithmic``: both axes.
    """

    title: str
    description: str
    x_label: str
    y_label: str
    curves: tuple[Curve, ...]
    scale: Literal["linear", "logarithmic", "equal"] = "linear"
