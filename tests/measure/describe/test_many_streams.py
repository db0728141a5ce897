"""Right on many streams of which nothing is told, and never surely wrong on streams that show too little.

A hundred plain and three hundred hard ones were run with BENCHRIG_COUNT; fewer are run each time.
"""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
from unknown_streams import HARD, make_unknown, wrong_in

from benchrig.measure.describe.describe import describe
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture

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


@pytest.mark.parametrize("missing", ["accelerometer", "gyro", "one of the gyro", "one of the accelerometer"])
@pytest.mark.parametrize("seed", range(1, 1 + max(1, COUNT // 6)))
def test_where_a_sensor_or_one_of_its_axes_is_missing_nothing_is_sure(missing, seed, demo_airframe, tmp_path):
    stream = make_unknown(seed, demo_airframe)
    sensor = missing.rpartition(" ")[2]
    columns = [*stream.truth[sensor], *stream.truth.get(f"{sensor} copy", [])]
    dropped = columns if missing == sensor else columns[seed % 3 :: 3]
    kept = [i for i, name in enumerate(stream.names) if name not in dropped]
    left = replace(stream, names=[stream.names[i] for i in kept], values=stream.values[:, kept])
    assert not describe(left.write(tmp_path / "unknown.csv")).is_sure


@pytest.mark.parametrize(
    "fault", ["gyro-scale=2", "gyro-scale=0.7", "accelerometer-scale=2", "accelerometer-scale=0.5"]
)
def test_a_wrong_range_is_not_taken_for_a_unit(fault, demo_airframe, tmp_path):
    airframe = demo_airframe("knot")
    written = write_capture(simulate(airframe, seed=4, faults=parse_faults([fault], airframe)), tmp_path / "wrong")
    found = describe(written.stream)
    doubtful = found.group(fault.partition("-")[0])
    assert not doubtful.is_sure
    assert "no usual unit" in doubtful.why
    assert found.group("gyro").names == ("gx", "gy", "gz")


def test_the_order_of_the_columns_and_their_names_change_nothing_that_is_found(demo_airframe, tmp_path):
    stream = make_unknown(5, demo_airframe)
    first = describe(stream.write(tmp_path / "first.csv"))
    order = np.random.default_rng(8).permutation(len(stream.names))
    other = replace(stream, names=[f"other {n}" for n in np.array(stream.names)[order]], values=stream.values[:, order])
    second = describe(other.write(tmp_path / "second.csv"))
    for group in first.groups:
        again = second.group(group.group)
        assert {name.removeprefix("other ") for name in again.names} == set(group.names)
        assert (again.unit, again.count, again.is_sure) == (group.unit, group.count, group.is_sure)
    assert second.agree is first.agree
