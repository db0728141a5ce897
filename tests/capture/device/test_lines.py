"""Lines of text: which are rows, and what becomes of all others."""

from __future__ import annotations

import pytest
from sending_units import AXES, SENSORS, TIME, device_of, fed, lines_text

from benchrig.capture.device.checksums import xor_of
from benchrig.capture.device.decoder import Decoder
from benchrig.capture.device.lines import LONGEST_LINE

WITH_WARMTH = TIME + SENSORS + 'temperature = { names = ["warm"], unit = "C" }\n'


def decoded(device, *lines: bytes, end: bytes = b"\n"):
    """Feed lines after a half one, as a port gives them; give the decoder and the values."""
    decoder = Decoder(device)
    _, values = fed(decoder, [(b"7,0,0" + end + end.join(lines) + end, 0.0)])
    return decoder, values.tolist()


def line(time: int, first: int = 1) -> bytes:
    return b"%d,%d,2,3,4,5,6" % (time, first)


def row(time: int, first: int = 1) -> list[float]:
    return [time, first, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["lf", "crlf", "cr"])
def test_every_kind_of_line_end_is_read(end, tmp_path):
    decoder, values = decoded(device_of(tmp_path, lines_text()), line(1000), line(2000), end=end)
    assert values == [row(1000), row(2000)]
    assert decoder.valid_share == 1.0


@pytest.mark.parametrize(
    ("sign", "word"), [(b",", ","), (b";", ";"), (b"\t", "tab"), (b"  ", "blanks"), (b" \t ", "blanks"), (b", ", ",")]
)
@pytest.mark.parametrize("is_declared", [True, False])
def test_a_separator_is_declared_or_found(sign, word, is_declared, tmp_path):
    device = device_of(tmp_path, lines_text(more=f'separator = "{word}"' if is_declared else ""))
    _, values = decoded(device, line(1000).replace(b",", sign), line(2000).replace(b",", sign))
    assert values == [row(1000), row(2000)]


def test_a_decimal_comma_is_read_and_a_point_beside_it_refused(tmp_path):
    device = device_of(tmp_path, lines_text(more='decimal = ","'))
    decoder, values = decoded(device, b"1000;1,5;2;3;4;5;6", b"2000;1.5;2;3;4;5;6")
    assert values == [[1000, 1.5, 2, 3, 4, 5, 6]]
    assert decoder.tally.reasons == {"not a number": 1}


def test_the_first_line_is_left_out_for_it_may_be_the_rest_of_one(tmp_path):
    decoder = Decoder(device_of(tmp_path, lines_text()))
    _, values = fed(decoder, [(b"34,1,2,3,4,5,6\n" + line(1000) + b"\n", 0.0)])
    assert values.tolist() == [row(1000)]
    assert decoder.valid_share == 1.0
    assert decoder.tally.refused == 0


def test_a_last_line_without_an_end_is_not_taken(tmp_path):
    decoder = Decoder(device_of(tmp_path, lines_text()))
    _, values = fed(decoder, [(b"\n" + line(1000) + b"\n2000,1,2,3,4,5,6", 0.0)])
    assert values.tolist() == [row(1000)]


@pytest.mark.parametrize(
    ("bad", "reason"),
    [
        (b"2000,1,2,3,4,5", "fields"),
        (b"2000,1,2,3,4,5,6,7", "fields"),
        (b"2000,1,2,3,4,5,x", "not a number"),
        (b"2000,1,2,3,4,5,1_0", "not a number"),
        (b"2000,1,2,3,4,5,0x10", "not a number"),
        (b"2000,1,2,3,4,5,inf", "not a number"),
        (b"2000,1,2,3,4,5,nan", "not a number"),
        (b"2000,1,2,3,4,5,1e300", "not a number"),
        (b"2000,1,2,3,4,,6", "blank"),
        (b"2000,1,2,3,4,5,1.2.3", "not a number"),
        (b"2000,1,2,3,4,5,\xff\x80", "not a number"),
    ],
)
def test_a_damaged_row_is_refused_and_the_next_one_read(bad, reason, tmp_path):
    decoder, values = decoded(device_of(tmp_path, lines_text()), line(1000), bad, line(3000))
    assert values == [row(1000), row(3000)]
    assert decoder.tally.reasons == {reason: 1}
    assert decoder.tally.sample == bad
    assert decoder.valid_share < 1


def test_lines_with_another_number_of_fields_are_counted_by_it(tmp_path):
    decoder, _ = decoded(device_of(tmp_path, lines_text()), b"1,2,3", b"1,2,3", b"1,2,3,4")
    assert decoder.tally.field_counts == {3: 2, 4: 1}
    assert decoder.valid_share == 0


@pytest.mark.parametrize("text", [b"# 1,2,3,4,5,6,7", b"", b"   "])
def test_comments_and_blank_lines_cost_no_share(text, tmp_path):
    decoder, values = decoded(device_of(tmp_path, lines_text()), line(1000), text, line(2000))
    assert values == [row(1000), row(2000)]
    assert (decoder.valid_share, decoder.tally.refused) == (1.0, 0)


@pytest.mark.parametrize("text", [b"ready>", b"unit 7, version 2", b"calibrating, please wait"])
def test_prompts_and_other_text_are_skipped_and_not_refused(text, tmp_path):
    decoder, values = decoded(device_of(tmp_path, lines_text()), line(1000), text, line(2000))
    assert values == [row(1000), row(2000)]
    assert (decoder.tally.skipped, decoder.tally.refused) == (1, 0)
    assert decoder.tally.sample == text


def test_a_comment_begins_as_it_is_declared(tmp_path):
    decoder, values = decoded(device_of(tmp_path, lines_text(more='comment = "//"')), b"//1,2,3,4,5,6,7", line(2000))
    assert values == [row(2000)]
    assert decoder.tally.refused == 0


def test_a_blank_in_a_column_that_may_have_one_is_no_value(tmp_path):
    device = device_of(tmp_path, lines_text(("t", *AXES, "warm")), WITH_WARMTH)
    decoder, values = decoded(device, line(1000) + b",", line(2000) + b",21.5", line(3000) + b",warm")
    assert [entry[:7] for entry in values] == [row(1000), row(2000)]
    assert str(values[0][7]) == "nan"
    assert values[1][7] == 21.5
    assert decoder.tally.refused == 1


def test_a_field_without_a_name_and_a_column_that_means_nothing_may_hold_anything(tmp_path):
    device = device_of(tmp_path, lines_text(("", "t", *AXES, "mode")))
    decoder, values = decoded(device, b"IMU," + line(1000) + b",manual", b"IMU," + line(2000) + b",3")
    assert decoder.columns[-1] == "mode"
    assert [entry[:7] for entry in values] == [row(1000), row(2000)]
    assert [str(entry[7]) for entry in values] == ["nan", "3.0"]


def test_a_separator_after_the_last_value_is_no_field(tmp_path):
    _, values = decoded(device_of(tmp_path, lines_text()), line(1000) + b",", line(2000) + b", ")
    assert values == [row(1000), row(2000)]


def test_without_an_order_the_names_come_with_a_header(tmp_path):
    device = device_of(tmp_path, lines_text(()))
    decoder, values = decoded(device, line(500), b'"az","t",gz,gy,gx,ax,ay,more', b"6,1000,3,2,1,4,5,free text")
    assert values == [row(1000)]
    assert decoder.tally.reasons == {"no names": 1}


def test_a_header_that_is_the_first_line_of_all_is_read(tmp_path):
    decoder = Decoder(device_of(tmp_path, lines_text(())))
    _, values = fed(decoder, [(b"t,gx,gy,gz,ax,ay,az\n" + line(1000) + b"\n", 0.0)])
    assert values.tolist() == [row(1000)]


def test_a_header_that_comes_again_changes_nothing_and_another_one_is_followed(tmp_path):
    device = device_of(tmp_path, lines_text(()))
    header, other = b"t,gx,gy,gz,ax,ay,az", b"t,gz,gy,gx,ax,ay,az"
    decoder, values = decoded(device, header, line(1000), header, line(2000), other, b"3000,3,2,1,4,5,6")
    assert values == [row(1000), row(2000), row(3000)]
    assert decoder.tally.refused == 0


def test_a_header_in_another_order_than_the_file_says_is_a_doubt(tmp_path):
    device = device_of(tmp_path, lines_text())
    decoder, _ = decoded(device, b"t,gy,gx,gz,ax,ay,az", line(1000), b"t,gy,gx,gz,ax,ay,az", line(2000))
    (doubt,) = decoder.doubts
    assert str(doubt).startswith("unit.toml:5: the unit names its columns in another order: t, gy, gx, gz")
    calm, _ = decoded(device, b"t,gx,gy,gz,ax,ay,az", line(1000))
    assert calm.doubts == ()
    assert calm.tally.refused == 0


def test_names_in_any_order_that_a_unit_makes_up_pile_up_nothing(tmp_path):
    device = device_of(tmp_path, lines_text())
    decoder, _ = decoded(device, *(b"t,gy,gx,gz,ax,ay,az,more%d" % number for number in range(500)), line(1000))
    assert len(decoder.doubts) == 1


@pytest.mark.parametrize("coding", ["utf-8", "latin-1"])
def test_names_with_other_letters_than_english_ones_are_read(coding, tmp_path):
    text = SENSORS.replace('"gx"', '"gx°"')
    device = device_of(tmp_path, lines_text(()), TIME + text)
    _, values = decoded(device, "t,gx°,gy,gz,ax,ay,az".encode(coding), line(1000))
    assert values == [row(1000)]


def test_a_line_with_a_check_is_held_against_it(tmp_path):
    device = device_of(tmp_path, lines_text(("", "t", *AXES), 'check = "xor"'))
    good = [b"IMU," + line(time) for time in (1000, 2000, 3000)]
    sent = [b"$%s*%02X" % (content, xor_of(content)) for content in good]
    sent[1] = sent[1].replace(b"2000", b"2001")
    decoder, values = decoded(device, sent[0], sent[1], sent[2].lower().replace(b"imu", b"IMU"), good[0])
    assert values == [row(1000), row(3000)]
    assert decoder.tally.reasons == {"check": 2}


def test_a_line_without_an_end_is_given_up_and_the_next_one_read(tmp_path):
    decoder = Decoder(device_of(tmp_path, lines_text()))
    flood = [(b"9" * 1000, 0.0) for _ in range(2 * LONGEST_LINE // 1000)]
    _, values = fed(decoder, [(b"\n" + line(1000) + b"\n", 0.0), *flood, (b"\n" + line(2000) + b"\n", 0.0)])
    assert values.tolist() == [row(1000), row(2000)]
    assert decoder.tally.reasons == {"too long": 1}
    assert decoder.valid_share < 0.01


def test_after_the_link_was_cut_the_rest_of_a_line_is_not_joined_to_another(tmp_path):
    decoder = Decoder(device_of(tmp_path, lines_text()))
    decoder.feed(b"\n" + line(1000) + b"\n20", 0.0)
    (before,) = decoder.interrupted()
    _, values = fed(decoder, [(b"00,1,2,3,4,5,6\n" + line(3000) + b"\n", 0.0)])
    assert before.values.tolist() == [row(1000)]
    assert values.tolist() == [row(3000)]


def test_a_line_that_names_a_column_twice_is_no_header(tmp_path):
    decoder, values = decoded(device_of(tmp_path, lines_text(())), b"t,gx,gy,gz,ax,ay,az,gx", line(1000) + b",7")
    assert values == []
    assert decoder.tally.reasons == {"no names": 1}
