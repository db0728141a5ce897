"""Lines without a check: noise takes digits from a clock and a count, and no time and no number may follow them."""

from __future__ import annotations

import random

import numpy as np
import pytest
from sending_units import AXES, SENSORS, TIME, device_of, fed, lines_text, made_rows

from benchrig.capture.device.decoder import Decoder

COUNT = 2000
PERIOD = 0.0025
COUNTED = '[counter]\nname = "n"\nbits = 16\n'
FIRST = 3_000_000  # µs that the unit had power when it was listened to


def lines() -> list[bytes]:
    rows = made_rows(COUNT, step=round(1e6 * PERIOD), first=FIRST, counted=True).astype(int).tolist()
    return [b",".join(b"%d" % value for value in row) + b"\r\n" for row in rows]


def arriving(pieces: list[bytes], share: float = 0.0, every: int = 8):
    """Let lines arrive in bursts, a share of their bytes lost on the way."""
    noise = random.Random(7)  # noqa: S311 - chance, not secrecy
    yield b"\n", 0.0
    for first in range(0, len(pieces), every):
        data = b"".join(pieces[first : first + every])
        yield bytes(byte for byte in data if noise.random() >= share), (first + every) * PERIOD


def decoded(folder, pieces, share=0.0, *, more=COUNTED, columns=TIME + SENSORS):
    """Feed lines; give the decoder, the times and values of what came whole, and how many rows that were."""
    decoder = Decoder(device_of(folder, lines_text(("n", "t", *AXES), more), columns))
    time, values = fed(decoder, arriving(pieces, share))
    whole = {tuple(map(float, line.split(b","))) for line in lines()}
    right = np.array([tuple(row) in whole for row in values.tolist()])
    return decoder, time[right], values[right]


@pytest.mark.parametrize("more", [COUNTED, ""], ids=["counted", "not counted"])
def test_digits_that_noise_takes_from_a_clock_or_a_count_restart_nothing_and_lose_nothing(more, tmp_path):
    decoder, time, values = decoded(tmp_path, lines(), 0.003, more=more)
    assert decoder.tally.refused > 0.03 * COUNT  # much was damaged, and most rows came whole
    assert len(time) > 0.8 * COUNT
    assert decoder.notes == ()
    assert decoder.tally.missing <= COUNT - len(time)
    late = time - PERIOD * values[:, 0]
    np.testing.assert_allclose(late, np.median(late), atol=1e-6)


@pytest.mark.parametrize(("share", "doubts"), [(0.003, 1), (0.0001, 0)])
def test_rows_that_no_check_holds_are_doubted_where_many_others_come_damaged(share, doubts, tmp_path):
    decoder, _, _ = decoded(tmp_path, lines(), share)
    assert decoder.tally.refused > 0
    told = [str(problem) for problem in decoder.doubts]
    assert len(told) == doubts
    assert all("more than 1% of what comes is damaged, and no check tells" in text for text in told)


def test_digits_that_noise_takes_from_a_count_that_is_the_clock_restart_nothing(tmp_path):
    decoder, time, values = decoded(tmp_path, lines(), 0.003, columns=SENSORS)
    assert decoder.notes == ()
    assert decoder.tally.missing <= COUNT - len(time)
    late = time - PERIOD * values[:, 0]
    np.testing.assert_allclose(late, np.median(late), atol=0.01)


@pytest.mark.parametrize("at", [0, 5, 1000, COUNT - 1])
@pytest.mark.parametrize("wrong", [-2_900_000, -90_000, 40_000, 100_000, 10_000_000])
def test_a_row_whose_clock_has_a_wrong_digit_is_left_out_and_moves_no_other_one(at, wrong, tmp_path):
    pieces = lines()
    count, clock, *axes = pieces[at].split(b",")
    pieces[at] = b",".join([count, b"%d" % (int(clock) + wrong), *axes])
    decoder, time, values = decoded(tmp_path, pieces)
    assert decoder.notes == ()
    assert decoder.tally.reasons == {"time": 1}
    np.testing.assert_array_equal(values[:, 0], np.delete(np.arange(COUNT), at))
    np.testing.assert_allclose(time - time[-1], PERIOD * (values[:, 0] - values[-1, 0]), atol=1e-9)


@pytest.mark.parametrize("at", [0, 5, 1000, COUNT - 1])
@pytest.mark.parametrize("wrong", [7, 900, 40_000])
def test_a_count_that_the_clock_speaks_against_shows_no_row_to_be_missing(at, wrong, tmp_path):
    pieces = lines()
    count, rest = pieces[at].split(b",", 1)
    pieces[at] = b"%d," % (int(count) + wrong) + rest
    decoder, time, _ = decoded(tmp_path, pieces)
    assert decoder.notes == ()
    assert decoder.tally.missing == decoder.tally.refused == 0
    assert len(time) == COUNT - 1  # all came; one with a wrong count


def test_a_unit_that_begins_again_is_believed_in_the_midst_of_noise(tmp_path):
    pieces = lines()
    decoder, time, _ = decoded(tmp_path, [*pieces[:1000], *pieces[:1000]], 0.003)
    (note,) = decoder.notes
    assert note.startswith("the unit began again at 2.5")
    assert time[-1] == pytest.approx(COUNT * PERIOD, abs=0.05)


def test_a_last_row_after_a_tick_of_a_coarse_clock_is_kept(tmp_path):
    stamps = FIRST // 1000 + 10 * (np.arange(101) // 10)
    rows = [b"%d,%d,%d,2,3,4,5,6\r\n" % (n, stamp, n) for n, stamp in enumerate(stamps)]
    decoder = Decoder(device_of(tmp_path, lines_text(("n", "t", *AXES), COUNTED), TIME.replace("us", "ms") + SENSORS))
    _, values = fed(decoder, [(b"\n", 0.0), *((row, 0.001 * n) for n, row in enumerate(rows))])
    assert len(values) == len(rows)
    assert decoder.tally.refused == 0
