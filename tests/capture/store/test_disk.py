"""What the system refuses is said in a sentence, and what was written before it stays readable."""

import os
import shutil
import threading

import numpy as np
import pytest

from benchrig.capture.store import disk
from benchrig.capture.store.reading import open_store
from benchrig.errors import StoreError


def read(path):
    return open_store(path, path.read_bytes())


def same(values, rows):
    return np.array_equal(values.T, rows, equal_nan=True)


def test_rows_that_a_full_disk_refused_are_kept_and_written_when_there_is_room(
    new_store, rows_of_bench, give, files_of_at_most
):
    writer, clock = new_store()
    rows = rows_of_bench(240)
    give(writer, clock, rows[:120])
    with files_of_at_most(writer.path.stat().st_size + 700), pytest.raises(StoreError, match="cannot be written on"):
        give(writer, clock, rows[120:])
    stored = writer.stored
    assert same(read(writer.path).values, rows[:stored])
    assert read(writer.path).notes[-1].endswith("without an end")  # no half batch is left behind
    give(writer, clock, rows[writer.rows :])
    writer.close()
    assert same(read(writer.path).values, rows)


def test_a_store_that_cannot_be_closed_is_readable_to_its_last_whole_batch(
    new_store, rows_of_bench, give, files_of_at_most
):
    writer, clock = new_store()
    rows = rows_of_bench(119)
    give(writer, clock, rows)
    stored = writer.stored
    assert stored < len(rows)
    with files_of_at_most(writer.path.stat().st_size), pytest.raises(StoreError, match="file too large"):
        writer.close()
    store = read(writer.path)
    assert same(store.values, rows[:stored])
    assert "the recording was interrupted" in store.notes[-1]


def test_each_refusal_names_the_file_and_the_way_out(tmp_path):
    said = {
        number: str(disk.refused(tmp_path / "a.arrow", "cannot be written on", OSError(number, os.strerror(number))))
        for number in disk.ACTS
    }
    assert len(set(said.values())) == len(said)
    assert all(f"{tmp_path}/a.arrow: cannot be written on: " in words for words in said.values())


def test_a_store_whose_folder_is_removed_says_so_and_lets_go(new_store, rows_of_bench, give, tmp_path):
    (tmp_path / "field").mkdir()
    writer, clock = new_store("field/bench.arrow")
    give(writer, clock, rows_of_bench(60))
    shutil.rmtree(tmp_path / "field")
    with pytest.raises(StoreError, match="was removed or replaced while it was being recorded"):
        writer.sync()
    with pytest.raises(StoreError, match="was removed or replaced"):
        writer.close()
    assert not (tmp_path / "field").exists()


def test_a_store_in_whose_place_another_file_was_put_leaves_that_alone(new_store, rows_of_bench, give, tmp_path):
    writer, clock = new_store()
    give(writer, clock, rows_of_bench(60))
    writer.path.unlink()
    writer.path.write_text("mine")
    with pytest.raises(StoreError, match="was removed or replaced"):
        writer.close()
    assert [path.name for path in tmp_path.iterdir()] == ["bench.arrow"]
    assert writer.path.read_text() == "mine"


def test_a_disk_that_fails_while_it_is_synced_is_told_at_the_next_rows(new_store, rows_of_bench, give, monkeypatch):
    writer, clock = new_store()
    rows = rows_of_bench(1200)
    synced = threading.Event()

    def give_until_synced():
        while writer.rows < len(rows):
            give(writer, clock, rows[writer.rows : writer.rows + 12])
            synced.wait(10)

    def failing_once(_handle):
        synced.set()
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(disk, "_SYNC", failing_once)
    with pytest.raises(StoreError, match=r"did not reach the disk: input/output error; the disk or card is failing"):
        give_until_synced()
    monkeypatch.undo()
    give(writer, clock, rows[writer.rows :])
    writer.close()
    assert same(read(writer.path).values, rows)


def test_an_atomic_write_that_fails_leaves_the_old_file_and_nothing_beside_it(tmp_path, files_of_at_most):
    path = tmp_path / "run.toml"
    path.write_bytes(b"old")
    with files_of_at_most(100), pytest.raises(StoreError, match=r"run.toml: cannot be written: file too large"):
        disk.write_atomically(path, b"a" * 1000)
    assert path.read_bytes() == b"old"
    assert [each.name for each in tmp_path.iterdir()] == ["run.toml"]
