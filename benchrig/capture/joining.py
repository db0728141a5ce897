"""Two clocks joined: when the rows of a second source were taken, by the clock of the first.

Both sources' rows reach one computer, which stamps each when it arrives. A row waits on its way: in the device, on the
wire, in an adapter's buffer, in a queue. It never arrives before it was taken, so the rows that waited least lie along
a straight line under all the others, and that line is the source's clock against the computer's. How long even those
waited cannot be told from arrivals; that is part of the uncertainty.

References
----------
Moon, S. B., P. Skelly, D. Towsley: Estimation and removal of clock skew from network delay measurements, IEEE INFOCOM
1999: the line under all points that lies nearest to them (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector

BLOCK: Final = 0.25
"""s of a source's own time, of which the one row that waited least is kept."""

READ_INTERVAL: Final = 0.016
"""s between two reads of a USB adapter's buffer, as many are set (common practice): a row can wait so long."""

UNSEEN_WAIT: Final = float(READ_INTERVAL / np.sqrt(12.0))
"""s: standard deviation of the wait that even a source's quickest rows have, evenly spread over `READ_INTERVAL`."""

LARGEST_DRIFT: Final = 0.02
"""How far two clocks may run apart: quartz keeps 0.0001, a resonator 0.005, an RC oscillator 0.02 (from memory)."""

CLOCKS_JOINED: Final = 0.020
"""s: standard deviation of an `Offset` from which on the two clocks say nothing of how late an actuator answers."""

_PARTS: Final = 8  # of a recording, each of which says where the line is


@dataclass(frozen=True, slots=True)
class Offset:
    """Where a second clock stands against the first.

    Attributes
    ----------
    value : float, s
        When the second source's first row was taken: after the first source's first sample if above zero.
    uncertainty : float, s
        One standard deviation, with the part that no arrival can show.
    drift : float
        By which share the second clock runs fast: 0.0005 is 500 ppm.
    """

    value: float
    uncertainty: float
    drift: float = 0.0

    def in_first(self, time: Vector) -> Vector:
        """Give the first source's time of rows of the second.

        Parameters
        ----------
        time : ndarray, shape (n,), s
            By the second source's clock, from its first row.

        Examples
        --------
        >>> Offset(0.25, 0.001, drift=0.0005).in_first(np.array([0.0, 100.05]))
        array([  0.25, 100.25])
        """
        moment: Vector = self.value + time / (1.0 + self.drift)
        return moment


@dataclass(frozen=True, slots=True)
class Line:
    """The arrival of rows that wait least: ``start + (1 + slope) · time``, s, and how far parts of it stand apart."""

    start: float
    slope: float
    spread: float


class EarliestRows:
    """The rows of one source that waited least, gathered while they come."""

    def __init__(self) -> None:
        self._kept: dict[int, tuple[float, float]] = {}

    def __len__(self) -> int:
        return len(self._kept)

    def add(self, time: Vector, arrival: Vector) -> None:
        """Take in rows.

        Parameters
        ----------
        time : ndarray, shape (n,), s
            By the source's clock, increasing, from one call to the next too.
        arrival : ndarray, shape (n,), s
            By this computer's clock, from a moment that is the same for both sources.
        """
        if not len(time):
            return
        wait = arrival - time
        block = np.floor(time / BLOCK).astype(np.int64)
        starts = np.flatnonzero(np.diff(block, prepend=block[0] - 1))
        for first, stop in zip(starts, [*starts[1:], len(time)], strict=True):
            best = first + int(np.argmin(wait[first:stop]))
            held = self._kept.get(int(block[first]))
            if held is None or wait[best] < held[1]:
                self._kept[int(block[first])] = (float(time[best]), float(wait[best]))

    def line(self) -> Line:
        """Give the line under all rows.

        Raises
        ------
        ValueError
            If there was no row.
        """
        if not self._kept:
            message = "no row has come, so there is no line under them"
            raise ValueError(message)
        points = np.array(list(self._kept.values()))
        slope = float(np.clip(_slope_below(points), -LARGEST_DRIFT, LARGEST_DRIFT))
        above = points[:, 1] - slope * points[:, 0]
        start = float(above.min())
        parts = [float(part.min()) - start for part in np.array_split(above, min(_PARTS, len(above)))]
        return Line(start, slope, float(np.sqrt(np.mean(np.square(parts)))))


def _slope_below(points: Vector) -> float:
    """Give the slope of that edge of the lower hull which spans the middle; 0 where there is no edge.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        In order of the first column.
    """
    hull: list[tuple[float, float]] = []
    for x, y in points.tolist():
        while len(hull) > 1 and _turns_down(hull[-2], hull[-1], (x, y)):
            hull.pop()
        hull.append((x, y))
    if len(hull) < 2:  # noqa: PLR2004 - an edge has two ends
        return 0.0
    middle = float(points[:, 0].mean())
    at = min(max(int(np.searchsorted([x for x, _ in hull], middle)), 1), len(hull) - 1)
    (x0, y0), (x1, y1) = hull[at - 1], hull[at]
    return (y1 - y0) / (x1 - x0)


def _turns_down(first: tuple[float, float], second: tuple[float, float], third: tuple[float, float]) -> bool:
    rise = (second[1] - first[1]) * (third[0] - first[0])
    return (third[1] - first[1]) * (second[0] - first[0]) <= rise


def offset_of(first: EarliestRows, second: EarliestRows) -> Offset:
    """Give where a second source's clock stands, from the rows of both that waited least.

    Raises
    ------
    ValueError
        If either gave no row.
    """
    one, other = first.line(), second.line()
    value = (other.start - one.start) / (1.0 + one.slope)
    uncertainty = float(np.sqrt(one.spread**2 + other.spread**2 + 2 * UNSEEN_WAIT**2))
    return Offset(value, uncertainty, (1.0 + one.slope) / (1.0 + other.slope) - 1.0)


def offset_between(main_time: Vector, main_arrival: Vector, other_time: Vector, other_arrival: Vector) -> Offset:
    """Give where a second source's clock stands against the first's.

    Parameters
    ----------
    main_time, other_time : ndarray, shape (n,) and (m,), s
        Of each source's rows, by its own clock, from its first row.
    main_arrival, other_arrival : ndarray, shape (n,) and (m,), s
        When this computer had them, counted for both from the same moment.

    Returns
    -------
    Offset

    Raises
    ------
    ValueError
        If either gave no row.

    Examples
    --------
    A second source that began half a second after the first, both heard at once:

    >>> taken = np.arange(0.0, 60.0, 0.02)
    >>> joined = offset_between(taken, taken + 2.0, taken, taken + 2.5)
    >>> round(joined.value, 6), abs(joined.drift) < 1e-9
    (0.5, True)
    """
    first, second = EarliestRows(), EarliestRows()
    first.add(main_time, main_arrival)
    second.add(other_time, other_arrival)
    return offset_of(first, second)
