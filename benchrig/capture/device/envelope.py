"""The line under all arrivals: how a device's own count or clock runs against this computer's clock.

A row never arrives before it was taken, and most arrive later, in bursts: so the rows that waited least lie along a
straight line under all the others. It is found among the arrivals of the last seconds again and again.

References
----------
Moon, S. B., P. Skelly, D. Towsley: Estimation and removal of clock skew from network delay measurements, IEEE INFOCOM
1999: among all lines under the points, the one that is nearest to them holds the hull's edge at their mean abscissa
(from memory).
"""

from __future__ import annotations

from collections import deque
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector

BLOCK: Final = 0.05
"""s of arrivals, of which the row that waited least is kept."""

WINDOW: Final = 20.0
"""s of arrivals that the line is laid under: long beside a burst, short beside a drift by warmth."""

REFIT: Final = 0.25
"""s of arrivals between two fits."""

LEAST_SPAN: Final = 2.0
"""s of arrivals before a slope that is known beforehand is replaced."""

AHEAD: Final = 0.1
"""s by which rows may come before the line says; where they do, it no longer holds."""


_RECENT: Final = 2
_OTHER_RATE: Final = 1.3


class Envelope:
    """A running line ``arrival = at(x)`` under all arrivals.

    Parameters
    ----------
    slope : float
        s to one of `x`, to begin with.
    least_span : float, s
        Of arrivals before that slope is replaced.

    Attributes
    ----------
    slope : float
        s to one of `x`.
    jitter : float, s
        How late the last of the rows that arrived together came in 95 of 100 cases.
    wait : float, s
        The same of the first of them, which waits for the others.
    """

    def __init__(self, slope: float, least_span: float = LEAST_SPAN) -> None:
        self.slope = slope
        self._least_span = least_span
        self.jitter = 0.0
        self.wait = 0.0
        self._offset = self._fitted_offset = float("nan")
        self._points: deque[tuple[float, float]] = deque()
        self._late: deque[tuple[float, float]] = deque(maxlen=round(WINDOW / BLOCK))
        self._block = -np.inf
        self._fitted = -np.inf

    @property
    def span(self) -> float:
        """How long the arrivals go on that the line lies under, s."""
        return self._points[-1][1] - self._points[0][1] if self._points else 0.0

    @property
    def pace(self) -> float:
        """How much of `x` goes by in a second of arrivals, over that span."""
        return (self._points[-1][0] - self._points[0][0]) / self.span if self.span > 0 else 0.0

    def at(self, x: float) -> float:
        """Say when a row arrives that waits least."""
        return self._offset + self.slope * x

    def x_at(self, arrival: float) -> float:
        """Say which `x` arrives at a moment if it waits least."""
        return (arrival - self._offset) / self.slope

    def add(self, x: float, arrival: float, first: float) -> None:
        """Take in rows that arrived together.

        Parameters
        ----------
        x : float
            Of the last of them; not less than before.
        arrival : float, s
            Not less than before.
        first : float
            The `x` of the first of them.
        """
        wait = arrival - self.slope * x
        if not wait >= self._fitted_offset - AHEAD:
            self._begin_again(x, arrival)
            wait = arrival - self.slope * x
            self._offset = self._fitted_offset = wait
        if not wait >= self._offset:
            self._offset = wait
        late = (wait - self._offset, arrival - self.at(first))
        if arrival - self._block >= BLOCK or not self._points:
            self._points.append((x, arrival))
            self._late.append(late)
            self._block = arrival
        elif wait < self._points[-1][1] - self.slope * self._points[-1][0]:
            self._points[-1] = (x, arrival)
        self._late[-1] = (max(self._late[-1][0], late[0]), max(self._late[-1][1], late[1]))
        if arrival - self._fitted >= REFIT:
            self._fit(arrival)

    def _begin_again(self, x: float, arrival: float) -> None:
        """Drop all points, which the line no longer holds for; and where rows come at another rate now, its slope."""
        recent = np.array([*list(self._points)[-_RECENT:], (x, arrival)])
        if self._least_span < LEAST_SPAN and len(recent) > 1:
            steps = np.diff(recent, axis=0)
            paces = steps[:, 0] * self.slope / np.maximum(steps[:, 1], BLOCK / 10)
            # a count that leaps once is at no other rate: before the leap, rows came as ever
            if slope_under(recent) > 0 and not ((paces > 1 / _OTHER_RATE) & (paces < _OTHER_RATE)).any():
                self.slope = slope_under(recent)
        self._points.clear()
        self._late.clear()

    def _fit(self, arrival: float) -> None:
        self._fitted = arrival
        while arrival - self._points[0][1] > WINDOW:
            self._points.popleft()
        points = np.array(self._points)
        if arrival - self._points[0][1] >= self._least_span:
            slope = slope_under(points)
            self.slope = slope if slope > 0 else self.slope
        self._offset = self._fitted_offset = float((points[:, 1] - self.slope * points[:, 0]).min())
        self.jitter, self.wait = (float(late) for late in np.quantile(np.array(self._late), 0.95, axis=0))


def slope_under(points: Vector) -> float:
    """Give the slope of the line under all points that is nearest to them.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Abscissae increasing.

    Examples
    --------
    >>> slope_under(np.array([[0.0, 0.0], [1.0, 5.0], [2.0, 4.0], [3.0, 6.0]]))
    2.0
    """
    hull: list[tuple[float, float]] = []
    for x, y in points.tolist():
        while len(hull) > 1 and _turns_down(hull[-2], hull[-1], (x, y)):
            hull.pop()
        if hull and hull[-1][0] == x:
            hull[-1] = (x, min(y, hull[-1][1]))
        else:
            hull.append((x, y))
    mean = float(points[:, 0].mean())
    place = next((i for i in range(1, len(hull)) if hull[i][0] >= mean), len(hull) - 1)
    if place < 1:
        return 0.0
    (left, low), (right, high) = hull[place - 1], hull[place]
    return (high - low) / (right - left)


def _turns_down(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) <= (b[1] - a[1]) * (c[0] - a[0])
