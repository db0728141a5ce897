"""What decoding costs while a unit sends at 4 kHz, beside the least that Python can do with the same bytes.

A share of a core says little of another machine, so it is only printed (``-s``), with what is wanted on a quiet one;
what is held is the ratio to a loop that only splits the bytes and turns the fields into numbers.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from time import process_time

import pytest
from sending_units import SENSORS, TIME, device_of, frame, frames_text, lines_text, made_rows

from benchrig.capture.device.decoder import Decoder

RATE_HZ, ROWS = 4000, 8000
READ_EVERY = {"1 ms": 4, "16 ms": 64}
"""Rows that come with one read: by a port of its own, and by an adapter that is read every 16 ms."""


def best_of(times: int, work: Callable[[], object]) -> float:
    spans = []
    for _ in range(times):
        began = process_time()
        work()
        spans.append(process_time() - began)
    return min(spans)


@pytest.fixture
def framed(tmp_path):
    """Frames of 30 bytes, counted and stamped, and a loop that only unpacks them."""
    fields = (
        '{ name = "seq", type = "u16" }, { name = "t", type = "u32" }, { name = "temp", type = "i16" }, { skip = 6 }, '
    )
    text = frames_text(fields, check="crc-16/ccitt-false") + '[counter]\nname = "seq"\n'
    device = device_of(tmp_path, text, TIME + SENSORS + 'temperature = { names = ["temp"], unit = "C" }\n')
    pieces = [frame(device.layout, [i, 250 * i, 21, *row[1:]]) for i, row in enumerate(made_rows(ROWS))]
    unpack = struct.Struct("<HIh6x6hH").unpack
    return device, pieces, lambda: [unpack(piece[1:-1]) for piece in pieces]


@pytest.fixture
def lined(tmp_path):
    """Lines of about 80 bytes, and a loop that only splits them."""
    names = [f"more{i}" for i in range(5)]
    device = device_of(tmp_path, lines_text(("t", "gx", "gy", "gz", "ax", "ay", "az", *names)))
    values = [[250 * i, *(row[1:] / 7), *row[2:]] for i, row in enumerate(made_rows(ROWS))]
    pieces = [",".join(f"{value:.5g}" for value in row).encode() + b"\r\n" for row in values]
    return device, pieces, lambda: [list(map(float, piece.split(b","))) for piece in pieces]


@pytest.mark.parametrize("together", READ_EVERY.values(), ids=READ_EVERY.keys())
@pytest.mark.parametrize("form", ["framed", "lined"])
def test_decoding_4_khz_costs_a_small_part_of_a_core(form, together, request, capsys):
    device, pieces, baseline = request.getfixturevalue(form)
    parts = [(b"".join(pieces[i : i + together]), (i + together) / RATE_HZ) for i in range(0, ROWS, together)]

    def decode() -> int:
        decoder = Decoder(device)
        for data, arrival in parts:
            decoder.feed(data, arrival)
        decoder.finish()
        return decoder.tally.rows

    assert decode() >= ROWS - 1
    spent, least = best_of(3, decode), best_of(3, baseline)
    size = sum(map(len, pieces)) / ROWS
    with capsys.disabled():
        print(  # noqa: T201 - a benchmark is read by people
            f"\n{form}, {size:.0f} bytes a row, {together} rows a read: {spent * RATE_HZ / ROWS:.1%} of a core "
            f"at 4 kHz (wanted under 15 % on a quiet machine), × {spent / least:.1f} of the bare loop"
        )
    # a pass in Python over every byte would cost more than this
    assert spent < 60 * least
