"""The recorded curves."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import records
from hypothesis import given
from hypothesis import strategies as st

from benchrig.report.traces import thinned, trace_svgs
from benchrig.verdict.record import Span


@given(st.integers(0, 9999), st.integers(10, 300))
def test_a_spike_of_one_sample_survives_thinning(place, steps):
    time, values = np.arange(10_000) / 1000, np.sin(np.arange(10_000) / 500)
    values[place] = 9.0
    kept_time, kept = thinned(time, values, 0.0, 10.0, steps)
    assert kept.max() == 9.0
    assert len(kept) <= 2 * steps
    assert np.all(np.diff(kept_time) > 0)
    assert np.array_equal(kept, values[np.searchsorted(time, kept_time)])


def test_a_short_curve_is_left_as_it_is():
    time = np.arange(50) / 100
    assert thinned(time, time**2, 0.0, 1.0)[1].tolist() == (time**2).tolist()


def pieces(drawn: str) -> list[list[float]]:
    """Read the first curve's pieces, as the places along the strip that each goes through."""
    path = re.findall(r'class="curve c\d" d="([^"]+)"', drawn)[0]
    return [[float(step.split()[0]) for step in piece.split("L")] for piece in path.split("M")[1:]]


def test_a_gap_is_not_bridged():
    for _, drawn in trace_svgs(records.traces()):
        before, after = pieces(drawn)
        assert min(after) - max(before) > 8  # 0.4 s of 34 s on a strip 858 wide
    for _, drawn in trace_svgs(records.traces(gap=False)):
        assert len(pieces(drawn)) == 1


def test_every_motion_and_rest_is_marked():
    drawn = trace_svgs(records.traces())[0][1]
    assert drawn.count('class="asked"') == 6
    assert drawn.count('class="rest bench"') == 7
    assert drawn.count('class="rest hand"') == 6
    assert "roll left</text>" in drawn


def test_labels_of_motions_that_crowd_stand_in_rows_of_their_own():
    crowded = tuple(Span(3.0 + 0.3 * place, 3.2 + 0.3 * place, "turntable clockwise") for place in range(3))
    drawn = trace_svgs(replace(records.traces(), motions=crowded))[0][1]
    heights = re.findall(r'y="([\d.]+)">turntable clockwise', drawn)
    assert len(set(heights)) == 3


def test_a_sample_that_is_not_a_number_does_not_reach_the_picture():
    broken = records.traces()
    rates = broken.angular_rate.copy()
    rates[100:140] = np.nan
    assert "nan" not in trace_svgs(replace(broken, angular_rate=rates))[0][1]


def test_a_curve_that_never_moves_can_be_drawn():
    flat = np.zeros_like(records.traces().attitude)
    assert "inf" not in trace_svgs(replace(records.traces(), attitude=flat))[2][1]
