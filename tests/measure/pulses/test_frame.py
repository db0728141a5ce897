"""How often a channel's pulses come, seen from when they change."""

from __future__ import annotations

import numpy as np
import pytest
from pulse_trains import Output, rows_of

from benchrig.capture.recording import Pulses
from benchrig.measure.pulses.frame import frame_of

RAMP = [(0.0, 1100), (1.0, 1900), (3.0, 1100)]


def seen(frame, rate, *, only_new=False, seed=0, **options):
    rng = np.random.default_rng(seed)
    rows = rows_of(6.0, rate)
    output = Output(RAMP, frame=frame, limit=800.0, phase=rng.uniform(0, frame), **options)
    if only_new:
        when, widths = output.frames(rows[-1], rng)
        when = rows[np.unique(np.searchsorted(rows, when))]
        return frame_of(Pulses(when, widths[: len(when)] * 1e-6), len(rows), 1 / rate)
    return frame_of(output.logged(rows, rng), len(rows), 1 / rate)


@pytest.mark.parametrize(("frame", "rate"), [(0.020, 200), (0.020, 100), (0.022, 100), (0.014, 250), (0.003, 1000)])
def test_the_frame_is_found_within_its_uncertainty(frame, rate):
    found = [seen(frame, rate, seed=seed) for seed in range(12)]
    pulls = [(f.period - frame) / f.uncertainty for f in found]
    assert np.abs(pulls).max() < 4
    assert found[0].uncertainty < 0.05 * frame


def test_a_channel_that_is_written_only_when_new_shows_its_frame_too():
    assert seen(0.020, 200, only_new=True).period == pytest.approx(0.020, abs=2e-4)


@pytest.mark.parametrize(("frame", "rate"), [(0.020, 50), (0.020, 40), (0.003, 100), (1 / 560, 500)])
def test_rows_no_faster_than_the_frame_are_named_and_give_no_number(frame, rate):
    found = seen(frame, rate)
    assert found.period is None
    assert found.is_too_fast
    assert f"rows every {1000 / rate:.0f} ms are too slow to show the frame" in found.reason


def test_a_still_channel_shows_no_frame():
    still = Pulses(np.arange(0, 5, 0.005), np.full(1000, 1500e-6))
    assert frame_of(still, 1000, 0.005).reason == "its pulses change too seldom to show when they are renewed"
