"""Every column of numbers of a file is read, whatever stands around it."""

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import feather, parquet

from benchrig.errors import CaptureError
from benchrig.measure.describe.unknown import read_unknown

ROWS = np.column_stack([np.arange(60) * 0.01, np.sin(np.arange(60)), np.cos(np.arange(60))])


def text(separator=",", decimal=".", head="t,a,b"):
    lines = [separator.join(f"{value:.4f}".replace(".", decimal) for value in row) for row in ROWS]
    return "\n".join(([head.replace(",", separator)] if head else []) + lines) + "\n"


@pytest.fixture
def read(tmp_path):
    def reading(content, name="stream.csv"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_unknown(path)

    return reading


@pytest.mark.parametrize(("separator", "decimal"), [(",", "."), (";", "."), (";", ","), ("\t", ","), (" ", ".")])
def test_separator_and_decimal_sign_are_found(read, separator, decimal):
    found = read(text(separator, decimal))
    assert found.names == ("t", "a", "b")
    assert found.values == pytest.approx(ROWS, abs=1e-4)
    assert (found.has_names, found.notes) == (True, ())


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_other_encodings_are_read(read, encoding):
    assert read(text().encode(encoding)).values == pytest.approx(ROWS, abs=1e-4)


def test_a_stream_without_names_says_which_line_to_put_above_it(read):
    found = read(text(head=""))
    assert (found.names, found.has_names) == (("c1", "c2", "c3"), False)
    assert "put `c1,c2,c3` above its first row" in found.notes[0]
    assert len(found.values) == len(ROWS)


def test_names_in_a_comment_are_taken_and_told(read):
    found = read(text(head="# t,a,b"))
    assert found.names == ("t", "a", "b")
    assert "the names on line 1 are a comment: take the # away" in found.notes[0]


def test_a_second_line_of_headings_gives_the_units_and_is_told(read):
    found = read(text().replace("t,a,b\n", "t,a,b\ns,deg/s,g\n"))
    assert found.unit_words == {"t": "s", "a": "deg/s", "b": "g"}
    assert "line 2 is a second line of headings: put a # at its start" in found.notes[0]
    assert len(found.values) == len(ROWS)


def test_lines_before_the_names_are_passed_over(read):
    assert read("made by a logger\nrate: 100\n" + text()).names == ("t", "a", "b")


def test_a_last_line_that_was_cut_is_left_out_and_told(read):
    found = read(text() + "0.60,1.")
    assert len(found.values) == len(ROWS)
    assert found.notes == ("the last line was cut short and is left out",)


def test_a_column_of_words_is_left_out_and_named(read):
    lines = text().splitlines()
    found = read("\n".join([f"{lines[0]},state"] + [f"{line},armed" for line in lines[1:]]))
    assert found.names == ("t", "a", "b")
    assert found.left_out == {"state": "holds words"}


def test_a_column_with_one_word_is_left_out_and_the_line_named(read):
    lines = text().splitlines()
    lines[40] = lines[40].rpartition(",")[0] + ",n/a"
    found = read("\n".join(lines))
    assert found.names == ("t", "a")
    assert found.left_out == {"b": 'holds "n/a" on line 41'}


def test_a_row_of_another_length_is_refused_by_its_line(read):
    lines = text().splitlines()
    lines[20] += ",1"
    with pytest.raises(CaptureError, match=r"stream\.csv:21: 4 fields; expected 3, as in the rows before"):
        read("\n".join(lines))


def test_names_that_stand_twice_are_told_apart(read):
    found = read(text(head="t,a,a"))
    assert found.names == ("t", "a", "a (2)")
    assert 'several columns are named "a"' in found.notes[0]


def test_words_alone_are_no_stream(read):
    with pytest.raises(CaptureError, match="no row of numbers within its first lines"):
        read("one two\nthree four\n")


def test_a_single_column_is_too_few(read):
    lines = [f"{line.split(',')[0]},x" for line in text().splitlines()]
    with pytest.raises(CaptureError, match=r"no row of numbers|1 column of numbers"):
        read("\n".join(lines))


def test_a_packed_file_is_named_for_what_it_is(read):
    with pytest.raises(CaptureError, match="its content is a gzip archive"):
        read(b"\x1f\x8b" + bytes(40), "stream.csv.gz")


@pytest.mark.parametrize("form", ["parquet", "feather", "arrow"])
def test_columns_of_numbers_are_read_from_files_that_carry_types(tmp_path, form):
    table = pa.table({"t": ROWS[:, 0], "n": np.arange(60), "word": ["x"] * 60, "b": ROWS[:, 2]})
    path = tmp_path / f"stream.{form}"
    if form == "parquet":
        parquet.write_table(table, path)
    elif form == "feather":
        feather.write_feather(table, path)
    else:
        with pa.OSFile(str(path), "wb") as sink, pa.ipc.new_stream(sink, table.schema) as writer:
            writer.write_table(table)
    found = read_unknown(path)
    assert found.names == ("t", "n", "b")
    assert found.left_out == {"word": "holds string"}
    assert found.values[:, 1] == pytest.approx(np.arange(60))


def test_a_damaged_file_is_refused(tmp_path):
    path = tmp_path / "stream.parquet"
    path.write_bytes(b"PAR1" + bytes(100))
    with pytest.raises(CaptureError, match="cannot be read as Parquet"):
        read_unknown(path)


@pytest.mark.parametrize(("name", "called"), [("run.log", "run.csv"), ("run.txt", "run.txt"), ("run", "run.csv")])
def test_the_manifest_names_the_stream_as_check_will_read_it(read, name, called):
    assert read(text(), name).stream_name == called
