"""Frames of bytes: found again after whatever happened to them."""

from __future__ import annotations

import numpy as np
import pytest
from sending_units import SENSORS, TIME, device_of, fed, frame, frames_text, made_rows

from benchrig.capture.device.decoder import Decoder

CLOCK = '{ name = "t", type = "u32" }, '
MARKS = {"cobs": 'marked_by = "cobs"', "sync": 'marked_by = "sync"\nsync = "AA 55"'}
COVERED = 'marked_by = "sync"\nsync = "AA 55"\ncheck_covers_sync = true'


def decoded(device, data: bytes):
    decoder = Decoder(device)
    _, values = fed(decoder, [(data, 0.0)])
    return decoder, values


@pytest.mark.parametrize("check", ["crc-16/ccitt-false", "crc-16/xmodem", "crc-16/modbus", "crc-32", "none"])
@pytest.mark.parametrize("order", ["little", "big"])
@pytest.mark.parametrize("mark", [*MARKS.values(), COVERED], ids=[*MARKS, "covered"])
def test_what_is_sent_is_read(mark, order, check, tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK, mark=mark, check=check, order=order))
    rows = made_rows(40)
    decoder, values = decoded(device, b"".join(frame(device.layout, row) for row in rows) + b"\xaa\x55")
    np.testing.assert_array_equal(values, rows)
    assert (decoder.tally.refused, decoder.tally.rows) == (0, 40)
    assert decoder.valid_share > 0.99


@pytest.mark.parametrize(
    ("kind", "number"),
    [
        ("u8", 255),
        ("i8", -128),
        ("u16", 65535),
        ("i16", -32768),
        ("u32", 2**32 - 1),
        ("i32", -(2**31)),
        ("u64", 2**53),
        ("i64", -(2**53)),
        ("f32", -0.15625),
        ("f64", 1 / 3),
    ],
)
@pytest.mark.parametrize("order", ["little", "big"])
def test_every_type_is_read_to_its_ends(kind, number, order, tmp_path):
    fields = f'{CLOCK}{{ name = "any", type = "{kind}" }}, {{ skip = 3 }}, '
    device = device_of(tmp_path, frames_text(fields, order=order))
    _, values = decoded(device, frame(device.layout, [1000, number, 1, 2, 3, 4, 5, 6]))
    assert values.tolist() == [[1000, number, 1, 2, 3, 4, 5, 6]]


@pytest.mark.parametrize("mark", MARKS.values(), ids=MARKS)
def test_a_stream_that_is_joined_in_its_middle_loses_the_rest_of_one_frame(mark, tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK, mark=mark))
    rows = made_rows(20)
    data = b"".join(frame(device.layout, row) for row in rows)
    decoder, values = decoded(device, data[7:])
    np.testing.assert_array_equal(values, rows[1:])
    assert (decoder.tally.refused, decoder.valid_share) == (0, 1.0)


@pytest.mark.parametrize("mark", MARKS.values(), ids=MARKS)
@pytest.mark.parametrize("damage", ["flip", "lost", "added"])
def test_a_damaged_frame_is_refused_and_the_next_one_read(mark, damage, tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK, mark=mark))
    rows = made_rows(20)
    pieces = [frame(device.layout, row) for row in rows]
    piece = pieces[9]
    pieces[9] = {
        "flip": piece[:8] + bytes([piece[8] ^ 0x10 or 0x20]) + piece[9:],
        "lost": piece[:8] + piece[9:],
        "added": piece[:8] + b"\x07" + piece[8:],
    }[damage]
    decoder, values = decoded(device, b"".join(pieces))
    np.testing.assert_array_equal(values, np.delete(rows, 9, axis=0))
    assert decoder.tally.refused == 1


@pytest.mark.parametrize("mark", MARKS.values(), ids=MARKS)
def test_garbage_alone_gives_no_row_and_no_share(mark, tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK, mark=mark, check="crc-16/ccitt-false"))
    noise = np.random.default_rng(3).integers(0, 256, 20_000, dtype=np.uint8).tobytes()
    decoder, values = decoded(device, noise)
    assert len(values) == 0
    assert decoder.valid_share == 0
    assert decoder.tally.refused > 50
    assert not decoder.tally.reasons.keys() - {"length", "check", "too long"}


@pytest.mark.parametrize("mark", MARKS.values(), ids=MARKS)
def test_a_flood_without_a_mark_is_not_kept(mark, tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK, mark=mark))
    decoder = Decoder(device)
    for _ in range(200):
        decoder.feed(b"\x01" * 1000, 0.0)
    assert len(decoder._reader._held) < 1100  # noqa: SLF001 - the one way to see it
    _, values = fed(decoder, [(b"\0" + b"".join(frame(device.layout, row) for row in made_rows(5)), 0.0)])
    assert len(values) == 5


def test_the_sync_word_inside_a_frame_does_not_break_it(tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK, mark=MARKS["sync"], order="big"))
    rows = [[0xAA55AA55 + 1000 * i, 0x55AA, -0x55AB, 0x5555, 0x5555, 3, 4] for i in range(10)]
    data = b"".join(frame(device.layout, row) for row in rows)
    for cut in range(device.layout.size):
        _, values = decoded(device, data[cut:])
        assert values.tolist() == rows[-len(values) :]
        assert len(values) == (10 if cut == 0 else 9)


def test_without_a_check_a_frame_counts_only_where_the_next_sync_word_follows(tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK, mark=MARKS["sync"], check="none"))
    rows = made_rows(12)
    pieces = [frame(device.layout, row) for row in rows]
    pieces[5] = pieces[5][:-3]
    decoder, values = decoded(device, b"".join(pieces))
    np.testing.assert_array_equal(values, np.delete(rows, [5, 11], axis=0))
    assert decoder.tally.refused == 1


def test_zero_bytes_between_frames_may_be_many(tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK))
    rows = made_rows(5)
    decoder, values = decoded(device, b"\0\0".join(frame(device.layout, row) for row in rows))
    np.testing.assert_array_equal(values, rows)
    assert decoder.valid_share == 1.0


def test_a_reading_that_is_no_number_is_refused_where_one_is_needed_and_else_a_blank(tmp_path):
    text = frames_text(CLOCK + '{ name = "warm", type = "f32" }, ').replace('"gx", type = "i16"', '"gx", type = "f32"')
    device = device_of(tmp_path, text, TIME + SENSORS + 'temperature = { names = ["warm"], unit = "C" }\n')
    rows = [[0, 20, 1, 2, 3, 4, 5, 6], [1000, np.inf, 1, 2, 3, 4, 5, 6], [2000, 20, np.nan, 2, 3, 4, 5, 6]]
    decoder, values = decoded(device, b"".join(frame(device.layout, row) for row in rows))
    assert values[:, 0].tolist() == [0, 1000]
    assert np.isnan(values[1, 1])
    assert decoder.tally.reasons == {"not a number": 1}


def test_after_the_link_was_cut_half_a_frame_is_forgotten(tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK))
    rows = made_rows(3)
    pieces = [frame(device.layout, row) for row in rows]
    decoder = Decoder(device)
    decoder.feed(pieces[0] + pieces[1][:9], 0.0)
    assert decoder.interrupted()[0].values.tolist() == rows[:1].tolist()
    _, values = fed(decoder, [(pieces[2], 0.0)])
    assert values.tolist() == rows[2:].tolist()
    assert decoder.tally.refused == 0


def test_the_end_of_what_was_too_long_is_no_frame_though_it_has_the_length_of_one(tmp_path):
    device = device_of(tmp_path, frames_text(CLOCK, check="none"))
    rows = made_rows(3)
    first, torn, last = (frame(device.layout, row) for row in rows)
    decoder = Decoder(device)
    decoder.feed(first + b"\x01" * 100, 0.0)
    decoder.feed(torn + last, 0.0)
    (samples,) = decoder.finish()
    np.testing.assert_array_equal(samples.values, rows[[0, 2]])
    assert decoder.tally.reasons == {"too long": 1}
