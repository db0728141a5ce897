"""Where a recording lies stiller than any hand could hold it: the stretches that noise is read from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.noise.allan import deviation
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import Rest, Stillness
from benchrig.signals.runs import longest, runs

BLOCK: Final = 0.25
"""s: over which the spread is compared."""

SHORTEST_STRETCH: Final = 1.0
"""s: what is left of a rest must last so long to count."""

_FEWEST: Final = 20  # samples of a block: of fewer the spread itself is too uncertain to compare
_RESTLESS: Final = 2.0  # times the spread of the quieter blocks
_QUIET: Final = 25.0  # per cent of the blocks
_UNLIKE: Final = 4.0  # standard deviations by which a stretch may be noisier than the quietest, in any channel
_FREEDOM: Final = 1.5  # degrees of freedom of a white Allan variance for every averaging time that fits in
_SWAYS: Final = (0.1, 0.3)  # s: averaging times at which a hand or a wobbling table shows above white noise


def still_stretches(even: EvenRecording, stillness: Stillness) -> tuple[tuple[int, int], ...]:
    """Take from every rest on the bench the longest run that no hand touches and no channel clips in.

    The edges of a rest belong to the hand: a block counts while its spread stays near that of the quieter quarter. A
    stretch that is noisier than the quietest one in any channel was not left alone, and is dropped.

    Parameters
    ----------
    even : EvenRecording
    stillness : Stillness
        From `benchrig.signals.rests.find_rests`.

    Returns
    -------
    tuple of (int, int)
        Samples ``[start, stop)``, in order of time, each of `SHORTEST_STRETCH` or more.
    """
    cores = (_core(even, rest) for rest in stillness.rests if rest.grade == "bench")
    least = SHORTEST_STRETCH / even.step
    long = [(start, stop) for start, stop in cores if stop - start >= least]
    noisier = np.max([_noisier(even, long, sway) for sway in _SWAYS], axis=0, initial=0.0) if long else []
    return tuple(run for run, by in zip(long, noisier, strict=True) if by < _UNLIKE)


def _core(even: EvenRecording, rest: Rest) -> tuple[int, int]:
    width = max(round(BLOCK / even.step), _FEWEST)
    count = rest.samples // width
    if count == 0:
        return rest.start, rest.start
    stop = rest.start + count * width
    values = np.hstack([even.angular_rate[rest.start : stop], even.acceleration[rest.start : stop]])
    spread = values.reshape(count, width, -1).std(axis=1)
    calm = np.all(spread <= _RESTLESS * np.percentile(spread, _QUIET, axis=0), axis=1)
    clipped = even.gyro_clipped[rest.start : stop] | even.accelerometer_clipped[rest.start : stop]
    calm &= ~clipped.reshape(count, width).any(axis=1)
    first, last = longest(runs(calm))
    # the rows after the last whole block are the recording's end, or the hand's
    return rest.start + first * width, rest.start + last * width


def _noisier(even: EvenRecording, spans: Sequence[tuple[int, int]], sway: float) -> Vector:
    """Give by how many standard deviations each stretch is noisier than the quietest, in its worst channel."""
    factor = max(round(sway / even.step), 1)
    values = np.hstack([even.angular_rate, even.acceleration])
    levels = np.array([[deviation(c, even.step, [factor])[0] for c in values[start:stop].T] for start, stop in spans])
    freedom = np.array([_FREEDOM * (stop - start) / factor for start, stop in spans])
    spread = 1 / (2 * freedom[:, None])
    # a long stretch is more surely quiet than a short one that happens to read low
    quietest = np.argmin(levels * (1 + 2 * np.sqrt(spread)), axis=0)
    least = levels[quietest, np.arange(levels.shape[1])]
    ratio = np.divide(levels, least, out=np.ones_like(levels), where=least > 0)
    return np.asarray((np.log(ratio) / np.sqrt(spread + spread[quietest, 0])).max(axis=1))
