"""Where a stream may lie and what kind of file it must be."""

from __future__ import annotations

import io
import os
import re

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import parquet

from benchrig.capture.reader import read_capture
from benchrig.errors import CaptureError


def refuse(manifest, *messages: str) -> None:
    with pytest.raises(CaptureError) as caught:
        read_capture(manifest)
    for message in messages:
        assert message in str(caught.value)


def renamed(manifest, named: str):
    text = manifest.read_text(encoding="utf-8")
    manifest.write_text(re.sub(r"(?m)^stream = .*$", lambda _: f"stream = '{named}'", text), encoding="utf-8")
    return manifest


def parquet_bytes(columns) -> bytes:
    sink = io.BytesIO()
    parquet.write_table(pa.table(columns), sink)
    return sink.getvalue()


@pytest.mark.parametrize(
    "named",
    [
        "../run.csv",
        "sub/../../run.csv",
        "sub/..",
        "/etc/hostname",
        "C:/run.csv",
        "c:run.csv",
        r"..\run.csv",
        r"sub\run.csv",
        r"\\host\run.csv",
        "~/run.csv",
        "",
        "  ",
    ],
)
def test_a_stream_outside_the_manifests_folder_is_refused(named, capture):
    refuse(renamed(capture(), named), "run.toml:2: stream = ", "the name of a file beside the manifest or in a folder")


def test_a_name_with_control_characters_is_refused_and_not_printed(capture):
    manifest = capture()
    manifest.write_text(manifest.read_text().replace("run.csv", "run\\u001b[2J.csv"))
    with pytest.raises(CaptureError, match="beside the manifest") as caught:
        read_capture(manifest)
    assert "\x1b" not in str(caught.value)


def test_a_stream_in_a_folder_below_is_read(capture, tmp_path):
    manifest = capture()
    (tmp_path / "streams").mkdir()
    (tmp_path / "run.csv").rename(tmp_path / "streams" / "run.csv")
    assert len(read_capture(renamed(manifest, "streams/run.csv")).time) == 400


def test_a_link_that_leads_out_of_the_folder_is_refused(capture, tmp_path):
    manifest = capture()
    inside = tmp_path / "bench"
    inside.mkdir()
    manifest = manifest.rename(inside / "run.toml")
    (inside / "run.csv").symlink_to(tmp_path / "run.csv")
    refuse(manifest, 'stream = "run.csv"', "beside the manifest")


def test_a_link_that_stays_in_the_folder_is_followed(capture, tmp_path):
    manifest = capture()
    (tmp_path / "link.csv").symlink_to("run.csv")
    assert len(read_capture(renamed(manifest, "link.csv")).time) == 400


def test_a_missing_stream_is_refused_with_what_is_there(capture):
    refuse(renamed(capture(), "rum.csv"), 'run.toml:2: stream = "rum.csv", which is not there', "there are: run.csv")


def test_a_folder_is_no_stream(capture, tmp_path):
    (tmp_path / "more.csv").mkdir()
    refuse(renamed(capture(), "more.csv"), 'stream "more.csv" is a folder')


def test_a_pipe_is_no_stream_and_is_not_waited_for(capture, tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    refuse(renamed(capture(), "pipe.csv"), 'stream "pipe.csv" is not an ordinary file')


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read every file")
def test_a_stream_that_may_not_be_read_is_refused(capture, tmp_path):
    manifest = capture()
    (tmp_path / "run.csv").chmod(0)
    refuse(manifest, "run.csv: cannot be read: Permission denied")


def test_an_empty_stream_is_refused(capture):
    refuse(capture(b""), "run.csv: the file is empty")


def test_a_stream_of_names_alone_is_refused(capture):
    refuse(capture("t,gx,gy,gz,ax,ay,az\n"), "run.csv: no samples; expected at least 50")


def test_text_named_parquet_is_refused_with_the_right_name(capture, samples, as_text):
    manifest = capture(as_text(samples), name="run.parquet")
    refuse(manifest, "run.parquet: its content is text; expected Parquet, as its name says", 'rename it to "run.csv"')


@pytest.mark.parametrize(
    ("head", "what"),
    [
        (b"\x1f\x8b\x08", "a gzip archive"),
        (b"PK\x03\x04", "a zip archive or a spreadsheet"),
        (b"\x89HDF\r\n\x1a\n", "HDF5"),
        (b"SQLite format 3\0", "an SQLite database"),
        (b"PAR1", "Parquet"),
        (b"ARROW1\0\0", "Feather"),
    ],
)
def test_a_binary_file_named_csv_is_refused_with_what_it_is(head, what, capture):
    refuse(capture(head + bytes(range(256)) * 4), f"run.csv: its content is {what}; expected text")


def test_a_binary_file_of_no_known_kind_is_refused(capture):
    refuse(capture(bytes(range(256)) * 40), "run.csv:1: a zero byte; expected plain text")


@pytest.mark.parametrize("name", ["run.xlsx", "run.bin", "run", "run.csv.gz", "run.toml"])
def test_an_ending_that_is_not_known_is_refused(name, capture, samples, as_text, tmp_path):
    manifest = renamed(capture(), name)
    if name != "run.toml":
        (tmp_path / name).write_text(as_text(samples))
    refuse(manifest, f"{name}: its name ends in", "expected one of .csv")


def test_a_parquet_file_cut_short_is_refused(capture, samples):
    whole = parquet_bytes(samples)
    refuse(capture(whole[:-100], name="run.parquet"), "run.parquet: cannot be read as Parquet", "cut in copying")


def test_a_parquet_file_with_damaged_pages_is_refused(capture, samples):
    data = bytearray(parquet_bytes(samples))
    data[4:400] = bytes(396)
    refuse(capture(bytes(data), name="run.parquet"), "run.parquet: cannot be read as Parquet")


def test_a_parquet_file_without_a_column_is_refused(capture, samples):
    del samples["gz"]
    refuse(capture(parquet_bytes(samples), name="run.parquet"), 'run.parquet: there is no column "gz"')


def test_numbers_stored_as_text_in_parquet_are_refused(capture, samples):
    samples["gz"] = samples["gz"].astype(str)
    refuse(
        capture(parquet_bytes(samples), name="run.parquet"),
        "run.parquet column gz: holds string; expected numbers; likely cause: the numbers were stored as text",
    )


def test_a_row_of_parquet_is_placed_by_its_number(capture, samples):
    samples["gz"][17] = np.nan
    refuse(capture(parquet_bytes(samples), name="run.parquet"), "run.parquet row 18 column gz: blank or not a number")


def test_whole_numbers_small_floats_and_decimals_of_parquet_are_read(capture, samples):
    columns = dict(samples)
    columns["gx"] = np.arange(400, dtype=np.int16) - 200
    columns["gy"] = (np.arange(400) / 4).astype(np.float32)
    columns["gz"] = pa.array(np.arange(400) / 4).cast(pa.decimal128(10, 2))
    recording = read_capture(capture(parquet_bytes(columns), name="run.parquet"))
    expected = np.radians(np.column_stack([np.arange(400) - 200, np.arange(400) / 4, np.arange(400) / 4]))
    np.testing.assert_allclose(recording.angular_rate, expected, rtol=1e-14)


@pytest.mark.parametrize("kind", [pa.timestamp("us"), pa.timestamp("us", tz="UTC"), pa.duration("us"), pa.time64("us")])
def test_stamps_of_parquet_are_read_where_their_unit_is_the_manifests(kind, capture, samples):
    columns = {**samples, "t": pa.array(samples["t"]).cast(kind)}
    recording = read_capture(capture(parquet_bytes(columns), name="run.parquet"))
    np.testing.assert_allclose(recording.time, samples["t"] / 1e6, rtol=1e-14)


def test_an_arrow_stream_that_was_interrupted_is_read_to_its_last_whole_batch(capture, samples):
    sink = io.BytesIO()
    table = pa.table(samples)
    with pa.ipc.new_stream(sink, table.schema) as writer:
        writer.write_table(table, max_chunksize=100)
    whole = sink.getvalue()
    recording = read_capture(capture(whole[: len(whole) * 7 // 8], name="run.feather"))
    assert len(recording.time) == 300
    assert recording.history == ("run.feather breaks off within a batch: read to the last whole one, 3",)


def test_bytes_after_the_end_of_an_arrow_stream_are_noted(capture, samples):
    sink = io.BytesIO()
    table = pa.table(samples)
    with pa.ipc.new_stream(sink, table.schema) as writer:
        writer.write_table(table)
    recording = read_capture(capture(sink.getvalue() + bytes(64), name="run.feather"))
    assert (len(recording.time), recording.history) == (400, ("64 bytes after the end of run.feather left out",))


def test_a_feather_file_cut_short_is_refused(capture):
    refuse(capture(b"ARROW1\0\0" + bytes(50), name="run.feather"), "run.feather: cannot be read as Feather")
