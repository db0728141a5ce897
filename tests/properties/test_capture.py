"""Properties of reading: numbers survive every layout, both readers keep one rule, and no bytes bring it down."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from pyarrow import parquet

from benchrig.capture.layout import find_layout
from benchrig.capture.numerals import number
from benchrig.capture.stream import read_stream
from benchrig.capture.table import Table
from benchrig.capture.text import read_exactly, read_quickly, read_text
from benchrig.capture.time_column import read_clock
from benchrig.capture.units import Group, unit_of
from benchrig.errors import CaptureError

NAMES = ("t", "gx", "az")


@pytest.fixture(scope="module")
def columnar_files() -> dict[str, tuple[Path, bytes]]:
    """Give one whole file of each form, small enough to change every byte of."""
    table = pa.table({name: np.arange(60.0) for name in NAMES})
    files = {form: io.BytesIO() for form in ("parquet", "feather", "stream")}
    parquet.write_table(table, files["parquet"])
    for form, make in (("feather", pa.ipc.new_file), ("stream", pa.ipc.new_stream)):
        with make(files[form], table.schema) as writer:
            writer.write_table(table)
    return {
        form: (Path("run.parquet" if form == "parquet" else "run.feather"), sink.getvalue())
        for form, sink in files.items()
    }


finite = st.floats(allow_nan=False, allow_infinity=False)


def as_written(value: float, decimal: str) -> str:
    return "" if np.isnan(value) else repr(float(value)).replace(".", decimal)


@settings(deadline=None)
@given(
    values=arrays(np.float64, st.tuples(st.integers(1, 30), st.just(3)), elements=finite | st.just(float("nan"))),
    layout=st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ",")]),
    end=st.sampled_from(["\n", "\r\n"]),
)
def test_what_is_written_is_read_to_the_last_digit(values, layout, end):
    separator, decimal = layout
    rows = [separator.join(as_written(v, decimal) for v in row) for row in values]
    text = end.join([separator.join(NAMES), *rows]) + end
    if any(not row.strip(separator + " ") and separator == "\t" for row in rows):
        return  # a row of tabs alone is an empty line
    table = read_text("run.csv", text.encode(), NAMES)
    np.testing.assert_array_equal(table.group(NAMES), values)


@settings(max_examples=400, deadline=None)
@given(field=st.text("0123456789+-.,eExXnNaAiIfFtyY_ '", max_size=9))
@pytest.mark.parametrize("decimal", [".", ","])
def test_the_quick_reader_takes_no_field_that_the_exact_one_refuses(decimal, field):
    text = f"t;gx;az\n0;{field};1\n0;1{decimal}5;1\n"
    layout = find_layout("run.csv", f"t;gx;az\n0;1{decimal}5;1\n", NAMES)
    quick = read_quickly(text.encode(), layout, NAMES)
    try:
        expected = number(field.strip(), decimal)
    except ValueError:
        assert quick is None
        return
    exact = read_exactly("run.csv", text, layout, NAMES)
    np.testing.assert_array_equal(exact["gx"][0], expected)
    if quick is not None:
        np.testing.assert_array_equal(quick["gx"], exact["gx"])


@settings(deadline=None)
@given(
    step=st.integers(500, 20_000),
    count=st.integers(60, 300),
    start=st.integers(0, 2**32 - 1),
    is_signed=st.booleans(),
)
def test_a_32_bit_counter_gives_the_same_time_wherever_it_runs_over(step, count, start, is_signed):
    whole = start + step * np.arange(count)
    stamps = (whole % 2**32).astype(np.float64)
    if is_signed:
        stamps = np.where(stamps >= 2**31, stamps - 2**32, stamps)
    table = Table("run.csv", {"t": stamps, "gx": np.arange(count, dtype=np.float64)})
    clock = read_clock(table, Group(("t",), unit_of("time", "us"), "run.toml:5"))
    np.testing.assert_allclose(clock.time, (whole - whole[0]) * 1e-6, rtol=1e-12)


@settings(max_examples=300, deadline=None)
@given(data=st.binary(max_size=300), name=st.sampled_from(["run.csv", "run.parquet", "run.feather"]))
def test_no_bytes_bring_a_reader_down(data, name):
    try:
        assert isinstance(read_stream(Path(name), data, NAMES), Table)
    except CaptureError as error:
        assert str(error).startswith(name)  # noqa: PT017 - both outcomes are right; the message must name the file


@settings(max_examples=300, deadline=None)
@given(
    rows=st.lists(st.text('0123456789.,;\t "#-e\n\r\x00é', max_size=20), max_size=8),
    head=st.sampled_from(["t,gx,az", "t;gx;az", "t gx az", '"t","gx","az"', "# t,gx,az"]),
)
def test_no_text_brings_the_reader_down_and_rows_are_placed_on_real_lines(rows, head):
    text = "\n".join([head, *rows])
    try:
        table = read_text("run.csv", text.encode(), NAMES)
    except CaptureError as error:
        assert str(error).startswith("run.csv")  # noqa: PT017 - as above
        return
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for row in range(len(table)):
        line = int(table.place(row).split(":")[1])
        assert lines[line - 1].strip()


@settings(max_examples=300, deadline=None)
@given(
    position=st.integers(0, 10_000), value=st.integers(0, 255), form=st.sampled_from(["parquet", "feather", "stream"])
)
def test_a_byte_changed_in_a_columnar_file_brings_no_reader_down(position, value, form, columnar_files):
    name, whole = columnar_files[form]
    data = bytearray(whole)
    data[position % len(data)] = value
    try:
        table = read_stream(name, bytes(data), NAMES)
    except CaptureError as error:
        assert str(error).startswith(name.name)  # noqa: PT017 - as above
        return
    assert len({len(values) for values in table.columns.values()}) == 1
