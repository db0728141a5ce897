"""How often a channel's pulses come: the frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.recording import Pulses

_LEAST_INTERVALS: Final = 8
_SPARSE: Final = 0.7  # of the rows: a channel with fewer pulses has only the new ones written


@dataclass(frozen=True, slots=True)
class Frame:
    """The time from one pulse to the next.

    Attributes
    ----------
    period, uncertainty : float or None, s
    reason : str
        Why it is None.
    is_too_fast : bool
        Whether the recording's rows are too slow to show it.
    """

    period: float | None
    uncertainty: float | None
    reason: str = ""
    is_too_fast: bool = False


def frame_of(pulses: Pulses, rows: int, row: float) -> Frame:
    """Measure a channel's frame from the instants at which its pulse is renewed.

    Where every row holds a pulse, most of them old, only changes show a new one: so the frame is seen while the
    channel moves or wavers.

    Parameters
    ----------
    pulses : Pulses
    rows : int
        Of the recording.
    row : float, s
        Between two rows.

    Returns
    -------
    Frame
    """
    only_new = len(pulses.time) <= _SPARSE * rows
    between = np.diff(pulses.time if only_new else pulses.time[1:][np.diff(pulses.width) != 0])
    if len(between) < _LEAST_INTERVALS:
        return Frame(None, None, "its pulses change too seldom to show when they are renewed")
    usual = float(np.percentile(between, 10))
    if usual < 1.5 * row:
        reason = f"it changes from row to row: rows every {row * 1e3:.0f} ms are too slow to show the frame"
        return Frame(None, None, reason, is_too_fast=True)
    # a frame in which the pulse stayed the same makes one long interval of two: leave those out
    whole = between <= 1.5 * usual + 0.5 * row
    if whole.sum() < _LEAST_INTERVALS:
        return Frame(None, None, "its pulses change too irregularly to show when they are renewed")
    runs = int(np.count_nonzero(np.diff(np.concatenate([[False], whole]).astype(int)) == 1))
    count = int(whole.sum())
    # each run is placed by two rows, at its start and its end
    return Frame(float(between[whole].mean()), row / np.sqrt(6.0) * np.sqrt(runs) / count)
