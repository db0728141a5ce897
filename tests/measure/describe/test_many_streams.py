"""Right on many streams of which nothing is told, and never surely wrong on streams that show too little.

A hundred plain and three hundred hard ones were run with BENCHRIG_COUNT; fewer are run each time.
"""

from __future__ import annotations

import os

import pytest
from unknown_streams import HARD, make_unknown, wrong_in

from benchrig.measure.describe.describe import describe

COUNT = int(os.environ.get("BENCHRIG_COUNT", "6"))


@pytest.mark.parametrize("seed", range(COUNT))
def test_shuffled_renamed_and_rescaled_columns_are_found_among_others_that_mislead(seed, demo_airframe, tmp_path):
    stream = make_unknown(seed, demo_airframe)
    description = describe(stream.write(tmp_path / "unknown.csv"))
    assert wrong_in(description, stream) == []
    assert description.is_sure


@pytest.mark.parametrize("seed", range(1000, 1000 + 2 * COUNT))
def test_a_stream_that_shows_too_little_is_never_described_surely_and_wrongly(seed, demo_airframe, tmp_path):
    stream = make_unknown(seed, demo_airframe, kind=HARD[seed % len(HARD)])
    description = describe(stream.write(tmp_path / "unknown.csv"))
    wrong = wrong_in(description, stream)
    assert not (description.is_sure and wrong), (stream.kind, wrong)


@pytest.mark.parametrize("seed", [1001, 1008])
def test_a_unit_that_never_moved_is_not_described_surely(seed, demo_airframe, tmp_path):
    stream = make_unknown(seed, demo_airframe, kind="still")
    assert not describe(stream.write(tmp_path / "unknown.csv")).is_sure
