"""The mark of a batch: text of one length, whose check value is the published CRC-32."""

import zlib

import pytest

from benchrig.capture.store.mark import MARK, Mark, check_value, checked, stored_names


def test_the_check_value_is_the_crc_32_of_ieee_802_3():
    # check value of CRC-32/ISO-HDLC in G. Cook, "Catalogue of parametrised CRC algorithms"
    assert zlib.crc32(b"123456789") == 0xCBF43926


@pytest.mark.parametrize("mark", [Mark(1, 1, 1, 3, 0, 0), Mark(72_000, 400, 14_400_000, 14, 12, 3)])
def test_a_mark_has_one_length_whatever_it_says(mark):
    assert len(mark.text) == len(Mark(0, 0, 0, 0, 0, 0).text)
    assert tuple(int(digits) for digits in MARK.search(mark.text.encode()).groups()[:6]) == (
        mark.number,
        mark.rows,
        mark.total,
        mark.columns,
        mark.lost,
        mark.refused,
    )


def test_a_checked_message_vouches_for_itself_and_for_the_one_before():
    message, value = checked(b"head " + Mark(1, 2, 2, 3, 0, 0).text.encode() + b" rows", MARK, 77)
    assert check_value(memoryview(message), MARK.search(message), 77) == value
    assert check_value(memoryview(message), MARK.search(message), 78) is None
    other = message.replace(b"rows 00000002 of", b"rows 00000003 of")
    assert other != message
    assert check_value(memoryview(other), MARK.search(other), 77) is None


def test_a_message_without_a_mark_cannot_be_checked():
    with pytest.raises(ValueError, match="holds no mark"):
        checked(b"nothing", MARK)


def test_every_column_of_a_store_has_a_name_of_its_own():
    names = stored_names(["gx", "gx 2", "gx", "bench_arrival_s"])
    assert names == ("bench_time_s", "bench_arrival_s", "gx", "gx 2", "gx 3", "bench_arrival_s 2")
