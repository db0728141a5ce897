"""Where the sensor was found, as a plan, and how well the readings follow a body that turns about one point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.figure import Curve, Figure
from benchrig.measure.lever.arm import LeverEstimate
from benchrig.measure.lever.fit import Fit
from benchrig.measure.lever.judgement import distance, is_declared

_MM: Final = 1e3
_NINETY_FIVE: Final = 2.4477  # standard deviations: the square root of the 95 % point of χ² with two degrees of freedom


@dataclass(frozen=True, slots=True)
class _View:
    """A side to look from: the body axis drawn across, the one drawn upward with its sign, and their words."""

    title: str
    across: int
    upward: int
    sign: float
    words: tuple[str, str]

    def point(self, place: Vector) -> tuple[Vector, Vector]:
        """Give a place, m, as one point of this view, mm."""
        return place[[self.across]] * _MM, self.sign * place[[self.upward]] * _MM


_VIEWS: Final = (
    _View("Seen from above", 1, 0, 1.0, ("right", "forward")),
    _View("Seen from the right", 0, 2, -1.0, ("forward", "up")),
)


def figures(estimate: LeverEstimate, sensor: Sensor) -> tuple[Figure, ...]:
    """Draw the place in every view in which both axes are told, and the readings of every stand."""
    told = np.isfinite(estimate.value)
    plans = [_plan(estimate, sensor, view) for view in _VIEWS if told[view.across] and told[view.upward]]
    parts = [e.fit for _, e in estimate.about_pivot if e.fit is not None]
    fits = parts if estimate.fit is None else [estimate.fit, *parts]
    return (*plans, *(_readings(fit, k) for fit in fits for k in range(len(fit.stands))))


def _plan(estimate: LeverEstimate, sensor: Sensor, view: _View) -> Figure:
    curves = [Curve("centre of gravity", np.zeros(1), np.zeros(1), "cross")]
    pivot = estimate.stands[0].pivot
    if pivot is not None:
        curves.append(Curve("point it turned about", *view.point(pivot), "cross"))
    x, y = view.point(estimate.value)
    curves.append(Curve("measured", x, y, "cross"))
    if estimate.fit is not None:
        pick = np.ix_([view.across, view.upward], [view.across, view.upward])
        edge = _ellipse(estimate.fit.covariance[pick] * np.outer([1.0, view.sign], [1.0, view.sign]) * _MM**2)
        curves.append(Curve("where it lies with 95 % probability", x + edge[:, 0], y + edge[:, 1], "dashed"))
    if is_declared(sensor):
        curves.append(Curve("declared", *view.point(sensor.lever_arm), "cross"))
    across, upward = view.words
    told = [distance(float(part[0]) / _MM, word) for part, word in ((x, across), (y, upward))]
    return Figure(
        title=f"{view.title}: where the sensor sits",
        description=f"Measured {told[0]} and {told[1]} of the centre of gravity.",
        x_label=f"{across} of the CG, mm",
        y_label=f"{upward} of the CG, mm",
        curves=tuple(curves),
        scale="equal",
    )


def _ellipse(covariance: Matrix) -> Vector:
    angle = np.linspace(0.0, 2 * np.pi, 73)
    sizes, axes = np.linalg.eigh(covariance)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    edge: Vector = _NINETY_FIVE * circle @ (np.sqrt(np.maximum(sizes, 0.0))[:, None] * axes.T)
    return edge


def _readings(fit: Fit, index: int) -> Figure:
    """Show the two axes that the motion moves most."""
    stand, predicted = fit.stands[index], fit.predicted[index]
    time = (stand.start + 0.5 * stand.where.length) + stand.where.start.astype(np.float64) * stand.step
    livelier = sorted(np.argsort(predicted.std(axis=0))[1:].tolist())
    curves = []
    for axis in livelier:
        name = ("forward", "right", "down")[axis]
        curves.append(Curve(f"{name}, read", time, predicted[:, axis] + fit.residuals[index][:, axis], "dots"))
        curves.append(Curve(f"{name}, as the place found explains it", time, predicted[:, axis], "line"))
    left = fit.noise[index]
    return Figure(
        title=f"What the accelerometer read in the {stand.kind}, and what the place found makes of it",
        description=f"{stand.place}: {len(time)} means; what is left over is {left:.3f} m/s² rms.",
        x_label="time, s",
        y_label="specific force, m/s²",
        curves=tuple(curves),
    )
