"""What a store holds is what it was given, in an Arrow stream that any reader of Arrow can read."""

import json
import subprocess
import sys

import numpy as np
import pyarrow as pa
import pytest

from benchrig.capture.store.ending import ending_path
from benchrig.capture.store.reading import open_store
from benchrig.capture.store.writer import StoreWriter
from benchrig.cli.outputs import refuse_foreign
from benchrig.errors import StoreError, UsageError


def read(path):
    return open_store(path, path.read_bytes())


def same(values, rows):
    return np.array_equal(values.T, rows, equal_nan=True)


def test_the_rows_come_back_to_the_last_bit_with_their_names_and_what_was_said_of_them(bench):
    store = read(bench.path)
    assert same(store.values, bench.rows)
    assert store.names == ("bench_time_s", "bench_arrival_s", "gx", "gy", "gz", "ax", "ay", "az", "front")
    assert store.about["source"] == "an invented unit"
    assert store.notes == (
        "recorded by benchrig 0; from an invented unit; time by the unit's own; it ended so: the operator stopped it",
    )
    assert store.problem is None


def test_arrows_own_reader_gives_the_same_rows_and_the_same_marks(bench):
    with pa.ipc.open_stream(pa.BufferReader(bench.data)) as stream:
        assert stream.schema.metadata[b"benchrig.store"] == b"1"
        said = [batch.custom_metadata[b"benchrig.batch"] for batch in stream.iter_batches_with_custom_metadata()]
    table = pa.ipc.open_stream(pa.BufferReader(bench.data)).read_all()
    assert same(np.array([column.to_numpy() for column in table.columns]), bench.rows)
    assert len(said) == 22
    assert said[-1].startswith(b"benchrig batch 00000022 rows 00000006 of 000000000240 columns 0009 lost 000000000000")


def test_a_batch_is_written_once_the_rows_have_waited_50_ms_and_not_before(new_store, rows_of_bench):
    writer, clock = new_store()
    rows = rows_of_bench(3)
    written = []
    for after, row in zip((0.01, 0.049, 0.051), rows, strict=True):
        clock.now = 100.0 + after
        writer.append(row[:1], row[1:2], row[None, 2:])
        written.append(writer.stored)
    assert written == [0, 0, 3]
    assert same(read(writer.path).values, rows)
    writer.close()


def test_rows_that_wait_are_written_though_no_more_come(new_store, rows_of_bench):
    writer, clock = new_store()
    rows = rows_of_bench(1)
    writer.append(rows[:, 0], rows[:, 1], rows[:, 2:])
    clock.now += 0.06
    writer.append(np.zeros(0), np.zeros(0), np.zeros((0, 7)))
    assert (writer.stored, writer.batches) == (1, 1)
    writer.close()


def test_syncing_writes_what_waits_at_once(new_store, rows_of_bench):
    writer, _ = new_store()
    rows = rows_of_bench(5)
    writer.append(rows[:, 0], rows[:, 1], rows[:, 2:])
    writer.sync()
    assert same(read(writer.path).values, rows)
    writer.close()


def test_the_end_file_tells_rows_size_and_losses(new_store, rows_of_bench, give):
    writer, clock = new_store()
    give(writer, clock, rows_of_bench(40))
    writer.append(np.zeros(0), np.zeros(0), np.zeros((0, 7)), lost=3, refused=2)
    row = rows_of_bench(41)[40:]
    writer.append(row[:, 0], row[:, 1], row[:, 2:], lost=1)
    end = json.loads(writer.close("the source has ended").read_text())
    assert end["schema"] == "bench-store-end/1"
    assert (end["rows"], end["lost"], end["refused"]) == (41, 4, 2)
    assert end["size"] == writer.path.stat().st_size
    notes = read(writer.path).notes
    assert notes[0].endswith("it ended so: the source has ended")
    assert notes[1:] == ("4 rows that the unit counted never came", "2 rows came damaged and were left out")


def test_an_abandoned_store_is_read_as_interrupted(new_store, rows_of_bench, give):
    writer, clock = new_store()
    give(writer, clock, rows_of_bench(60))
    writer.abandon()
    writer.abandon()
    store = read(writer.path)
    assert len(store.values.T) == writer.stored
    assert "the recording was interrupted: it stops at 0.2" in store.notes[-1]
    assert store.notes[-1].endswith("without an end")


def test_nothing_takes_the_place_of_an_earlier_recording_unless_forced(new_store, rows_of_bench, give):
    first, clock = new_store()
    give(first, clock, rows_of_bench(60))
    first.close()
    before = first.path.read_bytes()
    with pytest.raises(UsageError, match=r"bench.arrow.end.json: is already there, .* replace it with --force"):
        new_store()
    ending_path(first.path).rename(first.path.with_name("kept.json"))
    with pytest.raises(UsageError, match=r"bench.arrow: is already there"):
        new_store()
    assert first.path.read_bytes() == before
    first.path.with_name("kept.json").rename(ending_path(first.path))
    second, _ = new_store(force=True)
    assert not ending_path(second.path).exists()
    second.close()
    assert read(second.path).values.shape == (9, 0)


def test_a_folder_in_the_way_is_never_replaced(tmp_path):
    (tmp_path / "bench.arrow").mkdir()
    with pytest.raises(UsageError, match="is a folder"):
        StoreWriter.create(tmp_path / "bench.arrow", ["gx"], {}, force=True)


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(
        StoreError, match=r"nowhere/bench.arrow: cannot be made: no such file or directory; make the fol"
    ):
        StoreWriter.create(tmp_path / "nowhere" / "bench.arrow", ["gx"], {})


def test_columns_of_a_replayed_store_keep_names_of_their_own(new_store, rows_of_bench):
    writer, _ = new_store(columns=("bench_time_s", "bench_arrival_s", "gx", "gx"))
    rows = rows_of_bench(4)[:, :6]
    writer.append(rows[:, 0], rows[:, 1], rows[:, 2:])
    writer.close()
    store = read(writer.path)
    assert store.names == writer.names
    assert store.names == (
        "bench_time_s",
        "bench_arrival_s",
        "bench_time_s 2",
        "bench_arrival_s 2",
        "gx",
        "gx 2",
    )
    assert same(store.values, rows)


def test_no_batch_waits_for_a_library_to_be_loaded(tmp_path):
    code = """
import sys
from pathlib import Path
import numpy as np
from benchrig.capture.store.writer import StoreWriter
writer = StoreWriter.create(Path(sys.argv[1]), ["gx"], {})
loaded = set(sys.modules)
writer.append(np.zeros(1), np.zeros(1), np.zeros((1, 1)))
writer.sync()
print(*{name.partition(".")[0] for name in set(sys.modules) - loaded})
"""
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path / "a.arrow")], capture_output=True, check=True)
    assert done.stdout.decode().split() == []


def test_at_every_moment_the_file_holds_a_beginning_of_what_was_given(new_store, rows_of_bench, give):
    writer, clock = new_store()
    rows = rows_of_bench(100)
    seen = set()
    for at in range(0, 100, 4):
        give(writer, clock, rows[at : at + 4])
        values = read(writer.path).values
        assert same(values, rows[: values.shape[1]])
        assert values.shape[1] == writer.stored
        seen.add(writer.stored)
    writer.close()
    assert len(seen) > 5


def test_no_report_takes_an_end_file_for_one_of_its_own(bench):
    end = ending_path(bench.path)
    with pytest.raises(UsageError, match="exists and was not made by this command"):
        refuse_foreign("--json", end, force=False)
