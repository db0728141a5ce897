"""Whatever happens on the way, the rows that come out are rows that went in, in order, and what is lost is counted."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sending_units import AXES, SENSORS, TIME, device_of, fed, frame, frames_text, lines_text, made_rows

from benchrig.capture.device.checksums import xor_of
from benchrig.capture.device.decoder import Decoder

ROWS = 120
STEP = 0.01
FIELDS = '{ name = "seq", type = "u8" }, { name = "t", type = "u32" }, '
COUNTED = '[counter]\nname = "seq"\n'
MARKS = {"cobs": 'marked_by = "cobs"', "sync": 'marked_by = "sync"\nsync = "AA 55"'}
CLOCKS = {"its own clock": TIME + SENSORS, "its count": SENSORS}

places = st.integers(0, 10**6)
damage = st.lists(
    st.tuples(places, st.integers(0, 70), st.binary(max_size=40)),  # where; bytes lost there; bytes put in
    max_size=6,
)
cuts = st.lists(places, max_size=30)


class Sender:
    """A unit, what it sends and the rows of it; shown in one word where an example fails."""

    def __init__(self, device, pieces, rows):
        self.device, self.pieces, self.rows = device, pieces, rows

    def __repr__(self):
        return "sender"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("units")


@pytest.fixture(scope="module", params=[(mark, clock) for mark in MARKS for clock in CLOCKS], ids=" by ".join)
def framed(request, folder):
    """Give a unit that sends frames."""
    mark, clock = request.param
    device = device_of(folder, frames_text(FIELDS, mark=MARKS[mark]) + COUNTED, CLOCKS[clock])
    rows = made_rows(ROWS, step=10_000, counted=True)
    rows[:, 0] %= 256
    return Sender(device, [frame(device.layout, row) for row in rows], rows)


@pytest.fixture(scope="module")
def checked_lines(folder):
    """Give a unit that sends lines with a check."""
    device = device_of(folder, lines_text(("t", *AXES), 'check = "xor"'))
    rows = made_rows(ROWS, step=10_000)
    contents = [b",".join(b"%d" % value for value in row) for row in rows]
    return Sender(device, [b"%s*%02X\r\n" % (content, xor_of(content)) for content in contents], rows)


def parted(pieces: list[bytes], where: list[int], damages=()) -> list[tuple[bytes, float]]:
    """Cut what was sent at any places, after damage at any places; each part arrives when its last byte was sent."""
    ends = np.cumsum([len(piece) for piece in pieces])
    data = bytearray(b"".join(pieces))
    sent = np.searchsorted(ends, np.arange(len(data)), side="right") * STEP
    for place, lost, added in sorted(damages, reverse=True):
        start = place % len(data)
        moment = sent[start]
        data[start : start + lost] = added
        sent = np.concatenate([sent[:start], np.full(len(added), moment), sent[start + lost :]])
    borders = sorted({0, len(data), *(place % (len(data) + 1) for place in where)})
    return [(bytes(data[a:b]), float(sent[b - 1]) + 0.003) for a, b in pairwise(borders)]


def indices(values: np.ndarray, rows: np.ndarray) -> list[int]:
    """Say which of the rows each one is; fails where one is none of them."""
    known = {row.tobytes(): index for index, row in enumerate(np.ascontiguousarray(rows))}
    return [known[row.tobytes()] for row in np.ascontiguousarray(values)]


@settings(max_examples=40, deadline=None)
@given(where=cuts)
def test_the_rows_are_the_same_however_the_bytes_are_parted(framed, where):
    device, pieces, rows = framed.device, framed.pieces, framed.rows
    time, values = fed(Decoder(device), parted(pieces, where))
    np.testing.assert_array_equal(values, rows)
    if "time" in device.meaning.groups:
        np.testing.assert_allclose(time, STEP * np.arange(ROWS), atol=1e-9)


@settings(max_examples=80, deadline=None)
@given(where=cuts, damages=damage)
def test_frames_that_come_out_went_in_and_what_is_missing_is_counted(framed, where, damages):
    device, pieces, rows = framed.device, framed.pieces, framed.rows
    decoder = Decoder(device)
    _, values = fed(decoder, parted(pieces, where, damages))
    found = indices(values, rows)
    assert found == sorted(set(found))
    assert len(found) >= ROWS - 6 * len(damages)
    assert decoder.tally.missing == found[-1] - found[0] + 1 - len(found)
    assert decoder.tally.rows == len(found) + decoder.tally.duplicates


@settings(max_examples=80, deadline=None)
@given(where=cuts, damages=st.dictionaries(st.integers(0, ROWS - 1), st.tuples(places, st.booleans()), max_size=8))
def test_lines_with_a_check_that_come_out_went_in(checked_lines, where, damages):
    pieces, rows = list(checked_lines.pieces), checked_lines.rows
    # one byte of a line lost or changed: an exclusive or shows any such damage, and one in 256 of all others not
    for at, (place, is_lost) in damages.items():
        byte = place % len(pieces[at])
        pieces[at] = pieces[at][:byte] + (b"" if is_lost else b"\xff") + pieces[at][byte + 1 :]
    _, values = fed(Decoder(checked_lines.device), parted(pieces, where))
    found = indices(values, rows)
    assert found == sorted(set(found))
    assert len(found) >= ROWS - 1 - 2 * len(damages)


@settings(max_examples=60, deadline=None)
@given(where=cuts, noise=st.lists(st.tuples(st.integers(1, ROWS - 1), st.binary(max_size=60)), max_size=5))
def test_text_and_noise_between_lines_costs_no_line_but_those_it_touches(folder, where, noise):
    device = device_of(folder, lines_text())
    rows = made_rows(ROWS, step=10_000)
    pieces = [b",".join(b"%d" % value for value in row) + b"\n" for row in rows]
    for at, added in noise:
        # letters and signs that are no part of a number, so that what they touch shows it
        pieces[at] = bytes(0x80 | byte for byte in added) + b"\n" + pieces[at]
    decoder = Decoder(device)
    _, values = fed(decoder, parted(pieces, where))
    np.testing.assert_array_equal(values, rows[1:])
    assert decoder.tally.refused == 0


@settings(max_examples=80, deadline=None)
@given(parts=st.lists(st.binary(max_size=300), max_size=20))
@pytest.mark.parametrize("form", ["cobs", "sync", "lines", "header"])
def test_nothing_that_comes_makes_it_raise(folder, form, parts):
    text = {"lines": lines_text(), "header": lines_text(())}.get(form) or frames_text(FIELDS, mark=MARKS[form])
    decoder = Decoder(device_of(folder, text))
    fed(decoder, [(part, 0.02 * number) for number, part in enumerate(parts)])
    decoder.interrupted()
    assert decoder.tally.bytes == sum(map(len, parts))
    assert 0 <= decoder.valid_share <= 1
    assert decoder.clock
    assert isinstance(decoder.notes, tuple)
    assert isinstance(decoder.doubts, tuple)


numbers = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True).map(repr),
    st.integers(-(10**30), 10**30).map(str),
    st.sampled_from(["", " ", "1e400", "-0", "+5", "1_0", "0x1", "nan", "5.", "*"]),
)


@settings(max_examples=80, deadline=None)
@given(lines=st.lists(st.lists(numbers, min_size=6, max_size=9).map(",".join), max_size=40))
def test_no_number_makes_it_raise(folder, lines):
    text = lines_text(("seq", "t", "gx", "gy", "gz", "ax", "ay", "az"), COUNTED + "bits = 8")
    decoder = Decoder(device_of(folder, text))
    parts = [(b"\n", 0.0), *((line.encode() + b"\n", 0.05 * number) for number, line in enumerate(lines))]
    _, values = fed(decoder, parts)
    assert np.isfinite(values).all()
    assert (np.abs(values) < 1e20).all()
