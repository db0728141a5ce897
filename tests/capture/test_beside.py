"""A second source of pulses is stored beside the first, joined to its clock, and judged like one stream."""

import errno
import math
import tomllib

import numpy as np
import pytest
import tomlkit

from benchrig.capture.beside import SecondSource
from benchrig.capture.device.samples import Samples, Trouble
from benchrig.capture.manifest import read_manifest
from benchrig.capture.port.replay import ReplaySource
from benchrig.capture.reader import read_capture, recording_from
from benchrig.capture.store.disk import GrowingFile
from benchrig.capture.store.writer import StoreWriter
from benchrig.capture.stream import read_bytes, read_stream
from benchrig.errors import Problem, UsageError
from benchrig.job import judge

ABOUT = {"source": "a test"}


class Listed:
    """A source that gives what it was given, one item a call."""

    clock = "a counter"

    def __init__(self, items, columns=("ch1", "ch2"), opened=0.0):
        self.items, self.columns, self.opened, self.closed, self.notes = list(items), columns, opened, 0, ()

    @property
    def ended(self):
        """Tell whether it has nothing left."""
        return not self.items

    def open(self):
        """Begin."""

    def take(self, timeout):  # noqa: ARG002 - a list never waits
        """Give the next item."""
        return (self.items.pop(0),) if self.items else ()

    def close(self):
        """Count how often it was closed."""
        self.closed += 1


@pytest.fixture
def meaning(capture):
    columns = """
time = { names = ["t"], unit = "us" }
gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "g" }
[columns.actuators]
front = { names = ["ch1"], unit = "us" }
[columns.commands]
stick = { names = ["ch2"], unit = "us" }
"""
    return read_manifest(capture(columns=columns)).meaning


def batches(seconds, rate, *, wait=0.0, each=10, ppm=0.0, width=1520.0):
    taken = np.arange(0.0, seconds, 1.0 / rate)
    for start in range(0, len(taken), each):
        part = taken[start : start + each]
        values = np.column_stack([width + part, 1500 + part])
        yield Samples(part * (1 + ppm * 1e-6), part + wait, values)


def test_two_replayed_streams_are_recorded_and_judged_as_the_capture_they_came_from(
    in_two_streams, demo_airframe, tmp_path
):
    airframe = demo_airframe("dunlin")
    original = in_two_streams("dunlin-ok", 0.85)
    source = ReplaySource(original, airframe, math.inf)
    described = source.described
    second = SecondSource(
        ReplaySource(original, airframe, math.inf, beside=True),
        described.meaning,
        tmp_path / "again-pulses.arrow",
        ABOUT,
        known=described.pulse_stream.offset,
    )
    second.refuse_shared(source.columns)
    source.open()
    second.open()
    store = StoreWriter.create(tmp_path / "again.arrow", source.columns, ABOUT)
    while not source.ended:
        for samples in source.take(0.1):
            store.append(samples.time, samples.arrival, samples.values)
            second.hear(samples, source.opened)
        assert second.drain() == ()
    store.close()
    live = second.table()
    assert second.close() == second.close() == ()
    document = tomllib.loads(original.read_text(encoding="utf-8"))
    document["capture"]["stream"] = "again.arrow"
    document["columns"] = {**document["columns"], **second.columns_document()}
    document["columns"]["time"] = {"names": ["bench_time_s"], "unit": "s"}
    document["pulses"] = second.pulses_document()
    (tmp_path / "again.toml").write_text(tomlkit.dumps(document), encoding="utf-8")
    first, again = read_capture(original, airframe), read_capture(tmp_path / "again.toml", airframe)
    for name, channel in first.pulses.items():
        np.testing.assert_array_equal(again.pulses[name].time, channel.time)
        np.testing.assert_array_equal(again.pulses[name].width, channel.width)
    assert judge(airframe, again).matrix == judge(airframe, first).matrix
    # what is judged while it runs is what is stored
    manifest = read_manifest(tmp_path / "again.toml", airframe)
    names = [n for n in manifest.column_names if not n.startswith("us_")]
    table = read_stream(manifest.stream, read_bytes(manifest.stream), names, manifest.required_names)
    running = recording_from(manifest, table, "", live)
    assert all(len(running.pulses[n].time) >= len(first.pulses[n].time) - 20 for n in first.pulses)


def test_the_offset_is_found_from_arrivals_counted_from_each_sources_own_opening(meaning, tmp_path):
    first = Listed(batches(30, 200, wait=0.001))
    # opened 2 s later; its first row came 0.4 s after that
    second = SecondSource(
        Listed(batches(30, 50, wait=0.401, ppm=500), opened=102.0), meaning, tmp_path / "p.arrow", ABOUT
    )
    second.open()
    assert second.offset is None
    assert second.pulses_document() is None
    while not first.ended:
        for samples in first.take(0.0):
            second.hear(samples, 100.0)
        second.drain()
    second.close()
    assert second.offset.value == pytest.approx(2.4, abs=1e-4)
    assert second.offset.drift * 1e6 == pytest.approx(500, abs=1)
    said = second.pulses_document()
    assert said["stream"] == "p.arrow"
    assert said["time"] == {"names": ["bench_time_s"], "unit": "s"}
    assert said["offset_s"] == pytest.approx(2.4, abs=1e-4)
    assert 0.006 < said["offset_uncertainty_s"] < 0.008
    assert said["fast_ppm"] == pytest.approx(500, abs=1)
    assert second.columns_document() == {
        "actuators": {"front": {"names": ["ch1"], "unit": "us"}},
        "commands": {"stick": {"names": ["ch2"], "unit": "us"}},
    }


def test_losses_are_counted_and_troubles_handed_on_in_order(meaning, tmp_path):
    gone = Trouble("unplugged", Problem("COM7", "was unplugged"))
    rows = list(batches(2, 50))
    counted = Samples(rows[1].time, rows[1].arrival, rows[1].values, lost=3, refused=2)
    second = SecondSource(Listed([rows[0], gone, counted]), meaning, tmp_path / "p.arrow", ABOUT)
    second.open()
    assert [second.drain() for _ in range(3)] == [(), (gone,), ()]
    assert (second.rows, second.lost, second.refused) == (20, 3, 2)


def test_a_store_that_cannot_be_written_is_told_once_and_loses_no_row(meaning, tmp_path, monkeypatch):
    full, real = [True], GrowingFile.add

    def add(self, message):
        if full[0]:
            raise refused_error()
        real(self, message)

    def refused_error():
        from benchrig.capture.store.disk import refused  # noqa: PLC0415 - what the store itself raises

        return refused(tmp_path / "p.arrow", "cannot be written", OSError(errno.ENOSPC, "No space left on device"))

    monkeypatch.setattr(GrowingFile, "add", add)
    source = Listed(batches(4, 50))
    second = SecondSource(source, meaning, tmp_path / "p.arrow", ABOUT, force=True)
    second.open()
    told = [second.drain() for _ in range(5)]
    assert [len(t) for t in told] == [1, 0, 0, 0, 0]
    assert told[0][0].code == "pulses not stored"
    full[0] = False
    back = second.drain()
    assert [t.is_over for t in back] == [True]
    while not source.ended:
        second.drain()
    assert second.close() == ()
    second.sync()  # the last manifest is written after it is closed
    path = tmp_path / "p.arrow"
    stored = read_stream(path, read_bytes(path), ["bench_time_s", "ch1"])
    np.testing.assert_allclose(stored.columns["bench_time_s"], np.arange(0, 4, 0.02))


def test_a_capture_of_two_devices_names_only_the_second_ones_own_pulses(meaning, tmp_path):
    one = SecondSource(Listed([], columns=("ch2",)), meaning, tmp_path / "p.arrow", ABOUT)
    assert one.columns_document() == {"commands": {"stick": {"names": ["ch2"], "unit": "us"}}}
    unknown = SecondSource(Listed([], columns=()), meaning, tmp_path / "p.arrow", ABOUT)
    assert set(unknown.columns_document()) == {"actuators", "commands"}


def test_a_source_without_a_row_leaves_no_store_and_nothing_for_the_manifest(meaning, tmp_path):
    second = SecondSource(Listed([]), meaning, tmp_path / "p.arrow", ABOUT)
    second.open()
    second.hear(next(batches(1, 100)), 0.0)
    assert second.drain() == second.close() == ()
    assert second.pulses_document() is None
    assert len(second.table()) == 0
    assert list(tmp_path.glob("p.*")) == []


def test_a_file_in_the_way_of_the_store_is_refused_before_anything_is_recorded(meaning, tmp_path):
    (tmp_path / "p.arrow").write_bytes(b"somebody's")
    with pytest.raises(UsageError, match=r"p.arrow"):
        SecondSource(Listed([]), meaning, tmp_path / "p.arrow", ABOUT).open()


def test_a_column_name_of_both_sources_is_refused(meaning, tmp_path):
    second = SecondSource(Listed([]), meaning, tmp_path / "p.arrow", ABOUT)
    with pytest.raises(UsageError, match='it names "ch1", and so does the first device'):
        second.refuse_shared(["gx", "ch1"])


def test_a_device_without_pulses_is_no_second_source(capture, tmp_path):
    second = SecondSource(Listed([]), read_manifest(capture()).meaning, tmp_path / "p.arrow", ABOUT)
    with pytest.raises(UsageError, match="it names no column of pulses"):
        second.refuse_shared(["gx"])
