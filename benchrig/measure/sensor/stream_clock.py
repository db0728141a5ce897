"""The clock of a stream: rate, jitter, lost samples and gaps, and stamps that came in bunches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector

LARGEST_JITTER: Final = 0.2
"""Of a step: beyond it a turn of 90 °/s at 100 Hz is misplaced by a fifth of a degree and more."""

BUNCHED: Final = 0.1
"""Share of steps that may be far shorter than the mean before stamps count as taken on arrival."""

_LOST: Final = 1.5
_SHORT: Final = 0.3


@dataclass(frozen=True, slots=True)
class StreamClock:
    """How the samples of a stream follow one another.

    Attributes
    ----------
    step : float, s
        The usual one: the mean over the steps in which no sample was lost.
    uncertainty : float
        Of the mean, relative, one standard deviation; the clock's own error is not in it.
    jitter : float, s
        Standard deviation of the steps in which no sample was lost.
    worst : float, s
        The longest step.
    lost : int
        Samples that should stand where a step is longer than one and a half usual ones.
    losses : int
        Steps in which samples were lost.
    bunched : bool
        Whether most samples share their stamp nearly with a neighbour, as when they are stamped on arrival.
    """

    step: float
    uncertainty: float
    jitter: float
    worst: float
    lost: int
    losses: int
    bunched: bool

    @property
    def rate(self) -> float:
        """Samples a second, Hz."""
        return 1 / self.step

    @property
    def jitter_of_a_step(self) -> float:
        """Jitter as a part of a step."""
        return self.jitter / self.step


def stream_clock(time: Vector) -> StreamClock:
    """Look at the steps of a time column.

    Parameters
    ----------
    time : ndarray, shape (N,), s
        Strictly increasing.

    Examples
    --------
    >>> found = stream_clock(np.array([0.0, 0.01, 0.02, 0.03, 0.06, 0.07]))
    >>> found.lost, found.losses, round(found.rate)
    (2, 1, 100)
    """
    steps = np.diff(time)
    mean, usual = float(steps.mean()), float(np.median(steps))
    short = float(np.mean(steps < _SHORT * mean))
    bunched = short > BUNCHED
    if bunched:
        # a burst's own steps say nothing of the sensor: only the mean does, and losses cannot be told from pauses
        return StreamClock(mean, float("nan"), float(steps.std()), float(steps.max()), 0, 0, bunched=True)
    whole = steps <= _LOST * usual
    step = float(steps[whole].mean())
    missing = np.rint(steps[~whole] / step).astype(np.int64) - 1
    kept = steps[whole]
    # steps share their ends with their neighbours, so that their mean is only as unsure as its two ends
    uncertainty = float(kept.std() / (step * len(kept)))
    lost = int(np.maximum(missing, 0).sum())
    return StreamClock(
        step, uncertainty, float(kept.std()), float(steps.max()), lost, int((~whole).sum()), bunched=False
    )
