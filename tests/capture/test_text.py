"""Delimited text: both readers agree, and what cannot be read is named by line and column."""

from __future__ import annotations

import re

import numpy as np
import pytest

from benchrig.capture.layout import find_layout
from benchrig.capture.numerals import number
from benchrig.capture.text import plain_text, read_exactly, read_quickly, read_text
from benchrig.errors import CaptureError

WANTED = ("t", "gx", "ax")


def make(rows: int = 60, **at: str) -> str:
    """Write a small stream; `line12="…"` puts something else on line 12."""
    lines = ["t,gx,note,ax", *(f"{i},{i}.5,ok,-0.25" for i in range(rows))]
    for key, text in at.items():
        lines[int(key.removeprefix("line")) - 1] = text
    return "\n".join(lines) + "\n"


def read(text: str | bytes, wanted=WANTED, required=WANTED):
    return read_text("run.csv", text.encode() if isinstance(text, str) else text, wanted, required)


def refuse(text: str | bytes, message: str) -> None:
    with pytest.raises(CaptureError, match=re.escape(message)):
        read(text)


def test_columns_that_the_manifest_does_not_name_may_hold_anything():
    table = read(make(line5='3,3.5,"hand, on it",-0.25', line6="4,4.5,,-0.25"))
    assert list(table.columns) == list(WANTED)
    assert len(table) == 60


def test_the_quick_and_the_exact_reader_give_the_same_numbers():
    text = make(line3="1,+1e-3,x,.5", line4=" 2 ,\t5.,x, -0 ", line5="3,NaN,x,", line6="4,-INF,x,1E+2")
    layout = find_layout("run.csv", text, WANTED)
    quick = read_quickly(text.encode(), layout, WANTED)
    exact = read_exactly("run.csv", text, layout, WANTED)
    assert quick is not None
    for name in WANTED:
        np.testing.assert_array_equal(quick[name], exact[name])
        np.testing.assert_array_equal(np.signbit(quick[name]), np.signbit(exact[name]))


@pytest.mark.parametrize(
    "field", ["0x10", "1_000", "1 000", "n/a", "NA", "null", "None", "--", "true", "1e", "1.2.3", "١", "12h", "1d3"]
)
def test_what_is_not_a_number_is_refused_with_its_line_and_column(field):
    refuse(make(line12=f"10,{field},ok,0"), f'run.csv:12 column gx: "{field}" is not a number')


@pytest.mark.parametrize("field", ["0x10", "1_000", "na", "١", "1,5", "+-1", "", " "])
def test_a_number_is_read_by_one_rule_in_both_readers(field):
    text = make(line12=f'10,"{field}",ok,0')
    quick = read_quickly(text.encode(), find_layout("run.csv", text, WANTED), WANTED)
    assert quick is None
    if field.strip():
        with pytest.raises(ValueError, match="not a number"):
            number(field)


def test_a_blank_field_is_not_zero():
    assert np.isnan(read(make(line12="10,,ok,0")).columns["gx"][10])


def test_a_line_of_units_under_the_names_is_recognised():
    refuse(make(line2="s,deg/s,,g"), "likely cause: a second line of headings, such as units; put a # at the start")


def test_a_decimal_comma_among_decimal_points_is_refused():
    text = make(line40="38,3;5,ok,1").replace(",", "\t").replace(";", ",")
    refuse(text, 'run.csv:40 column gx: "3,5" is not a number; expected a number with a decimal point')
    refuse(text, "points and commas are mixed; the rest of the file uses the decimal point")


def test_thousands_with_both_signs_are_refused():
    text = make().replace(",", ";").replace(".", ",").replace("7,5;", "1.007,5;", 1)
    refuse(text, 'run.csv:9 column gx: "1.007,5" is not a number; expected a number with a decimal comma')


def test_decimal_commas_between_commas_are_named_as_the_cause():
    refuse(make().replace(".", ","), "likely cause: decimal commas in a file that commas separate")


@pytest.mark.parametrize(("line", "count"), [("10,1,ok", 3), ("10,1,ok,2,3", 5), ("10", 1)])
def test_a_ragged_row_is_refused_with_its_line(line, count):
    refuse(make(line12=line), f"run.csv:12: {count} fields separated by commas; expected 4, one for each column name")


def test_a_quotation_mark_that_would_swallow_rows_is_found():
    refuse(make(line12='10,1,"ok,2', line30='28,1,ok",2'), "run.csv:12: a quotation mark that is not closed")


@pytest.mark.parametrize("end", ["59,59.", "59,59.5,o", "59", "60,60.5,ok,", "60,60.5,ok,-", "60,60.5,ok,1e", '60,"6'])
def test_a_last_line_that_was_cut_is_left_out_and_noted(end):
    text = make()
    table = read(text + end)
    assert len(table) == 60
    assert table.notes == ("the last line of run.csv (62) was cut short and is left out",)


def test_a_whole_last_line_without_its_line_end_stays():
    table = read(make().removesuffix("\n"))
    assert (len(table), table.notes) == (60, ())


def test_a_blank_at_the_very_end_stays_where_the_column_may_be_blank():
    table = read(make() + "60,60.5,ok,", required=("t", "gx"))
    assert (len(table), table.notes) == (61, ())
    assert np.isnan(table.columns["ax"][60])


def test_a_bad_number_in_a_last_line_that_was_finished_is_no_cut():
    refuse(make() + "60,60.5,ok,1e\n", 'run.csv:62 column ax: "1e" is not a number')


def test_zero_bytes_at_the_end_are_left_out_and_noted():
    table = read(make().encode() + b"60,60" + bytes(500))
    assert len(table) == 60
    assert table.notes[0] == "500 zero bytes at the end of the stream left out"


def test_a_zero_byte_within_the_text_is_refused():
    refuse(make().replace("10.5", "10\0.5", 1), "run.csv:12: a zero byte; expected plain text")


def test_text_in_an_older_encoding_is_read_and_noted():
    table = read(make().replace("note", "temp_°C").encode("latin-1"))
    assert (len(table), table.notes) == (60, ("not UTF-8: read as Latin-1",))


def test_rows_are_placed_on_their_lines_past_comments_and_blank_lines():
    text = "# bench\n\n" + make().replace("20,20.5", "# a note\n\n20,20.5")
    table = read(text)
    assert table.place(0) == "run.csv:4"
    assert table.place(20, "gx") == "run.csv:26 column gx"


def test_rows_are_placed_on_their_lines_where_carriage_returns_end_them():
    assert read(make().replace("\n", "\r\n")).place(9) == "run.csv:11"


def test_lines_before_the_names_are_left_out_and_noted():
    table = read("logger 3\nrate,400,Hz\n" + make())
    assert (len(table), table.notes) == (60, ("2 lines before the column names left out",))
    assert table.place(0) == "run.csv:4"


def test_names_in_a_comment_are_pointed_out():
    text = "# " + make()
    refuse(text, 'run.csv:2: the first line that is not a comment is "0,0.5,ok,-0.25", which holds numbers')
    refuse(text, "take away the # before the column names on line 1")


def test_a_stream_without_names_is_refused():
    refuse(make().split("\n", 1)[1], "run.csv:1: the first line that is not a comment is")


def test_a_missing_column_is_named_with_what_is_there_and_what_is_meant():
    refuse(make().replace("gx", "GX_"), 'run.csv:1: there is no column "gx", which the manifest names')
    refuse(make().replace("gx", "GX_"), 'among the columns: t, GX_, note, ax; likely cause: "GX_" is meant')


def test_all_missing_columns_are_named_at_once():
    with pytest.raises(CaptureError) as caught:
        read(make().replace("gx", "u").replace("ax", "v"))
    assert [problem.finding[:24] for problem in caught.value.problems] == [
        'there is no column "gx",',
        'there is no column "ax",',
    ]


def test_a_column_that_stands_there_twice_is_refused_if_it_is_wanted():
    refuse(make().replace("note", "gx"), 'run.csv:1: 2 columns are named "gx"')
    assert len(read(make().replace("note,ax", "ax").replace("ok,", ""))) == 60


def test_two_unwanted_columns_may_share_a_name():
    text = "t,n,gx,n,ax\n" + "".join(f"{i},x,{i},y,0\n" for i in range(60))
    assert read(text).columns["gx"][59] == 59


@pytest.mark.parametrize("text", ["\n", "# nothing\n", "  \n\n", "\ufeff"])
def test_a_stream_of_blanks_and_comments_is_refused(text):
    refuse(text, "run.csv: no line holds anything but blanks and comments")


def test_control_characters_of_a_stream_do_not_reach_the_terminal():
    with pytest.raises(CaptureError) as caught:
        read(make(line12="10,\x1b[2Jboo,ok,0"))
    assert "\x1b" not in str(caught.value)
    assert "boo" in str(caught.value)


def test_whole_numbers_with_semicolons_take_a_later_decimal_comma_from_the_wanted_columns():
    rows = "".join(f"{i};{i};1.5;{i}\n" for i in range(60)) + "60;60;1.5;0,5\n"
    assert read("t;gx;note;ax\n" + rows).columns["ax"][60] == 0.5


def test_line_ends_become_one_kind():
    assert plain_text("run.csv", b"a\r\nb\rc\nd")[0] == b"a\nb\nc\nd"
