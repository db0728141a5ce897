"""The time of each row: by clocks that run over, stand still, jump and begin again, by counts, and by arrival alone."""

from __future__ import annotations

import numpy as np
import pytest
from sending_units import SENSORS, TIME, bursts, device_of, fed, frame, frames_text, lines_text, made_rows

from benchrig.capture.device.decoder import Decoder

COUNTED = '[counter]\nname = "seq"\n'
COUNT = 8000
STEP = 0.001
TAKEN = STEP * np.arange(COUNT)


def clock(kind: str) -> str:
    return f'{{ name = "t", type = "{kind}" }}, '


def counter(kind: str) -> str:
    return f'{{ name = "seq", type = "{kind}" }}, '


def sent(device, *heads: np.ndarray) -> list[bytes]:
    """Give the frames of a unit: the columns before the axes as they are handed in."""
    axes = made_rows(len(heads[0]) if heads else COUNT)[:, 1:]
    return [frame(device.layout, row) for row in np.column_stack([*heads, axes])]


def printed(stamps: np.ndarray) -> list[bytes]:
    rows = made_rows(len(stamps))
    return [b"%d,%s\n" % (t, b",".join(b"%d" % x for x in row[1:])) for t, row in zip(stamps, rows, strict=True)]


def within(start: float, end: float) -> np.ndarray:
    return (start <= TAKEN) & (end > TAKEN)


def dropped(pieces: list[bytes], lost: np.ndarray) -> list[bytes]:
    return [b"" if is_lost else piece for piece, is_lost in zip(pieces, lost, strict=True)]


def stalled(parts: list[tuple[bytes, float]], start: float, end: float) -> list[tuple[bytes, float]]:
    """Let this computer read nothing for a while, and then everything."""
    return [(data, end if start < arrival < end else arrival) for data, arrival in parts]


@pytest.mark.parametrize("first", [0, 2**32 - 3_000_000])
def test_the_units_own_clock_is_kept_to_the_tick_though_it_runs_over(first, tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")))
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(sent(device, first + 1000 * np.arange(COUNT)), TAKEN))
    np.testing.assert_allclose(time, TAKEN, atol=1e-9)
    assert decoder.clock == "the unit's own clock (t)"
    assert decoder.notes == decoder.doubts == ()


@pytest.mark.parametrize("kind", ["i32", "u64", "i64", "f64"])
def test_a_clock_of_any_type_is_read(kind, tmp_path):
    device = device_of(tmp_path, frames_text(clock(kind)))
    first = {"i32": 2**31 - 1_000_000, "u64": 2**40, "i64": -(2**40), "f64": 0.5}[kind]
    time, _ = fed(Decoder(device), bursts(sent(device, first + 1000 * np.arange(COUNT)), TAKEN))
    np.testing.assert_allclose(time, TAKEN, atol=1e-6)


@pytest.mark.parametrize("bits", [16, 32])
def test_a_clock_in_lines_is_unwrapped_though_its_width_is_not_declared(bits, tmp_path):
    device = device_of(tmp_path, lines_text())
    stamps = (2**bits - 2_000_000 + 1000 * np.arange(COUNT)) % 2**bits
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(printed(stamps), TAKEN))
    np.testing.assert_allclose(time, TAKEN[1:] - TAKEN[1], atol=1e-9)
    assert (decoder.notes, decoder.tally.refused) == ((), 0)


@pytest.mark.parametrize("gap", [0.0, 0.04, 0.2, 1.3, 2.0])
def test_a_16_bit_clock_of_microseconds_keeps_its_place_over_a_silence_of_many_turns(gap, tmp_path):
    device = device_of(tmp_path, frames_text(clock("u16")))
    pieces = sent(device, 1000 * np.arange(COUNT))
    lost = within(3.0, 3.0 + gap)
    time, _ = fed(Decoder(device), bursts(dropped(pieces, lost), TAKEN))
    np.testing.assert_allclose(time, TAKEN[~lost], atol=1e-9)


def test_a_16_bit_clock_does_not_take_a_busy_computer_for_a_silence(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u16")))
    parts = stalled(bursts(sent(device, 1000 * np.arange(COUNT)), TAKEN), 3.0, 3.6)
    decoder = Decoder(device)
    time, _ = fed(decoder, parts)
    np.testing.assert_allclose(time, TAKEN, atol=1e-9)
    assert decoder.notes == ()


def test_a_16_bit_clock_that_turns_over_more_than_once_a_row_is_settled_by_arrival(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u16")))
    taken = 0.1 * np.arange(300)
    time, _ = fed(Decoder(device), bursts(sent(device, 100_000 * np.arange(300)), taken))
    np.testing.assert_allclose(time, taken, atol=1e-9)


@pytest.mark.parametrize("begins_at", [0, 1_200_000])
def test_a_unit_that_begins_again_is_joined_on_by_arrival(begins_at, tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")))
    stamps, taken = 5_000_000 + 1000 * np.arange(COUNT), TAKEN.copy()
    stamps[4000:] += begins_at - stamps[4000]
    taken[4000:] += 1.5
    decoder = Decoder(device)
    time, values = fed(decoder, bursts(sent(device, stamps), taken))
    assert len(values) == COUNT
    np.testing.assert_allclose(time, taken, atol=0.02)
    np.testing.assert_allclose(np.diff(time)[np.arange(COUNT - 1) != 3999], STEP, atol=1e-9)
    (note,) = decoder.notes
    assert note.startswith("the unit began again at 5.")
    assert "the time between is known by arrival only, to about" in note


def test_a_unit_that_begins_again_beyond_its_last_stamp_is_joined_on_too(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")))
    stamps, taken = 1000 * np.arange(COUNT), TAKEN.copy()
    stamps[4000:] += 2_000_000
    taken[4000:] += 30.0
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(sent(device, stamps), taken))
    np.testing.assert_allclose(time, taken, atol=0.03)
    assert "the unit's clock ran over unseen or began again at 4.0" in decoder.notes[0]


def test_a_unit_that_begins_again_while_the_port_is_opened_is_understood(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")))
    stamps, taken = 70_000_000 + 1000 * np.arange(COUNT), TAKEN.copy()
    stamps[100:] -= stamps[100]
    taken[100:] += 1.8
    decoder = Decoder(device)
    time, values = fed(decoder, bursts(sent(device, stamps), taken))
    assert len(values) == COUNT
    np.testing.assert_allclose(time, taken, atol=0.02)
    assert decoder.doubts == ()


def test_a_damaged_stamp_in_a_line_costs_its_row_alone(tmp_path):
    device = device_of(tmp_path, lines_text())
    stamps = 1000 * np.arange(COUNT)
    stamps[[3000, 4000, 5000]] = [3000, 54_000_000, 0]
    decoder = Decoder(device)
    time, values = fed(decoder, bursts(printed(stamps), TAKEN))
    whole = np.delete(np.arange(COUNT), [0, 3000, 4000, 5000])
    np.testing.assert_allclose(time, TAKEN[whole] - TAKEN[1], atol=1e-9)
    np.testing.assert_array_equal(values[:, 0], 1000 * whole)
    assert decoder.tally.reasons == {"time": 3}
    assert decoder.notes == ()


def test_a_row_that_comes_twice_is_left_out_and_noted(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")))
    pieces = sent(device, 1000 * np.arange(COUNT))
    pieces[3000] *= 2
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(pieces, TAKEN))
    np.testing.assert_allclose(time, TAKEN, atol=1e-9)
    assert decoder.notes == ("1 rows that repeat the row before wholly left out",)


@pytest.mark.parametrize("rows_a_tick", [1.2, 4])
def test_a_clock_that_is_too_coarse_for_its_rate_is_fitted_through_its_stamps(rows_a_tick, tmp_path):
    device = device_of(tmp_path, lines_text(), TIME.replace("us", "ms") + SENSORS)
    taken = STEP / rows_a_tick * np.arange(COUNT)
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(printed(np.floor(1000 * taken + 1e-9)), taken))
    assert len(time) == COUNT - 1
    late = time - taken[1:]
    assert np.abs(late - late[-1]).max() < 2 * STEP
    assert np.abs(late[2000:] - late[-1]).max() < 0.2 * STEP
    assert decoder.clock.endswith("it is too coarse for its rate, and times are fitted through its stamps")


@pytest.mark.parametrize(
    ("unit", "meant", "seconds"), [("ms", "us", "60,000"), ("ns", "us", "0.06"), ("s", "us", "6e+07")]
)
def test_a_clock_in_another_unit_than_declared_is_a_doubt_with_the_unit_meant(unit, meant, seconds, tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")), TIME.replace("us", unit) + SENSORS)
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(sent(device, 1000 * np.arange(COUNT)), TAKEN))
    assert len(time) == COUNT
    (doubt,) = decoder.doubts
    assert f"by the unit's clock (t) {seconds} s pass in a minute; expected 60 s" in str(doubt)
    assert doubt.act == f'write unit = "{meant}"'


def test_a_clock_that_runs_a_little_fast_is_said_so_and_a_wrong_timer_is_a_doubt(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")))
    fast, wrong = Decoder(device), Decoder(device)
    fed(fast, bursts(sent(device, np.round(1002.0 * np.arange(COUNT))), TAKEN))
    assert fast.clock == "the unit's own clock (t), which runs 0.20% fast against this computer's"
    assert fast.doubts == ()
    fed(wrong, bursts(sent(device, np.round(1067.0 * np.arange(COUNT))), TAKEN))
    (doubt,) = wrong.doubts
    assert "64.02 s pass in a minute" in doubt.finding or "64.0" in doubt.finding
    assert doubt.cause == "its timer has another frequency than its maker states"


@pytest.mark.parametrize("kind", ["u8", "u16", "u32"])
@pytest.mark.parametrize("gap", [0.005, 0.3, 2.5])
def test_rows_that_never_came_are_counted_by_the_count_beside_a_clock(kind, gap, tmp_path):
    device = device_of(tmp_path, frames_text(counter(kind) + clock("u32")) + COUNTED)
    pieces = sent(device, np.arange(COUNT), 1000 * np.arange(COUNT))
    lost = within(3.0, 3.0 + gap)
    decoder = Decoder(device)
    fed(decoder, bursts(dropped(pieces, lost), TAKEN))
    assert decoder.tally.missing == lost.sum()


@pytest.mark.parametrize("kind", ["u8", "u16", "u32"])
@pytest.mark.parametrize("gap", [0.0, 0.005, 0.3, 2.5])
def test_a_count_without_a_clock_is_fitted_to_arrivals_and_counts_what_is_lost(kind, gap, tmp_path):
    device = device_of(tmp_path, frames_text(counter(kind)) + COUNTED, SENSORS)
    pieces = sent(device, np.arange(COUNT))
    lost = within(3.0, 3.0 + gap)
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(dropped(pieces, lost), TAKEN))
    assert decoder.tally.missing == lost.sum()
    late = time - TAKEN[~lost]
    assert np.abs(late[2500:] - late[-1]).max() < 0.002
    assert decoder.clock.startswith("the unit's count of rows (seq), fitted to their arrival: 95 of 100 rows arrive")


def test_a_count_that_begins_again_loses_no_row(tmp_path):
    device = device_of(tmp_path, frames_text(counter("u32") + clock("u32")) + COUNTED)
    numbers = np.concatenate([np.arange(4000), np.arange(4000)])
    decoder = Decoder(device)
    _, values = fed(decoder, bursts(sent(device, numbers, 1000 * np.arange(COUNT)), TAKEN))
    assert len(values) == COUNT
    assert decoder.tally.missing == 0
    assert decoder.notes == ("the count of rows (seq) began again 1 times, while the unit's clock went on",)


def test_a_count_that_stands_still_is_noted(tmp_path):
    device = device_of(tmp_path, frames_text(counter("u16") + clock("u32")) + COUNTED)
    decoder = Decoder(device)
    fed(decoder, bursts(sent(device, np.arange(COUNT) // 2, 1000 * np.arange(COUNT)), TAKEN))
    assert decoder.notes == ("the count of rows (seq) stood still 4,000 times: lost rows may not show",)


def test_rows_that_arrive_in_bursts_have_even_times(tmp_path):
    device = device_of(tmp_path, frames_text(""), SENSORS)
    taken = TAKEN * 1.0003
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(sent(device), taken))
    late = time - taken
    assert np.abs(late[2500:] - late[-1]).max() < 0.001
    assert np.diff(time)[2500:].std() < 0.02 * STEP
    assert (time[-1] - time[2500]) / (taken[-1] - taken[2500]) == pytest.approx(1, abs=2e-4)
    words, _, number = decoder.clock.partition("95 of 100 rows arrive within ")
    assert words == "the arrival of rows at this computer, fitted: "
    assert 14 < float(number.split()[0]) < 24


def test_by_arrival_a_busy_computer_is_no_gap_and_a_silence_is_one_of_its_length(tmp_path):
    device = device_of(tmp_path, frames_text(""), SENSORS)
    pieces = sent(device)
    busy, _ = fed(Decoder(device), stalled(bursts(pieces, TAKEN), 4.0, 4.5))
    assert np.diff(busy)[2500:].max() < 2 * STEP
    silent = TAKEN.copy()
    silent[4000:] += 2.0
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(pieces, silent))
    assert np.argmax(np.diff(time)) == 3999
    assert np.diff(time).max() == pytest.approx(2.0, abs=0.01)
    assert decoder.notes[0].startswith("rows seem to be missing at 4.0")


def test_by_arrival_damaged_rows_keep_their_places(tmp_path):
    device = device_of(tmp_path, frames_text(""), SENSORS)
    pieces = sent(device)
    bad = np.random.default_rng(2).random(COUNT) < 0.05
    pieces = [
        piece[:5] + bytes([piece[5] ^ 1 or 3]) + piece[6:] if b else piece for piece, b in zip(pieces, bad, strict=True)
    ]
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(pieces, TAKEN))
    late = time - TAKEN[~bad]
    assert np.abs(late[2500:] - late[-1]).max() < 0.002
    assert decoder.tally.refused == bad.sum()


def test_the_beginning_is_kept_back_for_half_a_second_and_given_at_the_end(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")))
    pieces = sent(device, 1000 * np.arange(COUNT))
    decoder = Decoder(device)
    given = [len(decoder.feed(b"".join(pieces[i : i + 10]), (i + 10) * STEP)) for i in range(0, 1000, 10)]
    assert given.index(1) == 50
    short = Decoder(device)
    time, _ = fed(short, [(b"".join(pieces[:5]), 0.0)])
    np.testing.assert_allclose(time, TAKEN[:5], atol=1e-9)
    assert short.finish() == ()


def test_lost_and_refused_rows_are_told_once_with_the_rows_after_them(tmp_path):
    device = device_of(tmp_path, frames_text(counter("u16") + clock("u32")) + COUNTED)
    pieces = sent(device, np.arange(COUNT), 1000 * np.arange(COUNT))
    pieces[3000] = b""
    pieces[3500] = pieces[3500][:9] + pieces[3500][10:]
    decoder = Decoder(device)
    samples = [sample for data, arrival in bursts(pieces, TAKEN) for sample in decoder.feed(data, arrival)]
    assert [(sample.lost, sample.refused) for sample in samples if sample.lost or sample.refused] == [(1, 0), (1, 1)]
    assert (decoder.tally.missing, decoder.tally.refused) == (2, 1)


def test_a_clock_that_stands_still_is_a_doubt(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u32")))
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(sent(device, np.full(COUNT, 5)), TAKEN))
    assert len(time) == COUNT
    (doubt,) = decoder.doubts
    assert "the unit's clock (t) stands still while rows come" in str(doubt)


def test_a_count_that_begins_again_is_not_taken_for_loss_where_the_silence_was_too_short_for_it(tmp_path):
    device = device_of(tmp_path, frames_text(counter("u16")) + COUNTED, SENSORS)
    numbers = np.concatenate([60_000 + np.arange(4000), np.arange(4000)])
    taken = TAKEN.copy()
    taken[4000:] += 1.0
    decoder = Decoder(device)
    time, values = fed(decoder, bursts(sent(device, numbers), taken))
    assert len(values) == COUNT
    assert decoder.tally.missing == 0
    assert decoder.notes[0].startswith("the unit began again at 5.0")
    np.testing.assert_allclose(time, taken, atol=0.03)


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_a_unit_that_goes_over_to_another_rate_is_followed_by_arrival(factor, tmp_path):
    device = device_of(tmp_path, frames_text(""), SENSORS)
    taken = np.concatenate([TAKEN[:4000], TAKEN[4000] + factor * STEP * np.arange(4000)])
    time, _ = fed(Decoder(device), bursts(sent(device), taken))
    late = time - taken
    assert np.abs(late[4000:] - late[3999]).max() < 0.3
    assert np.diff(time[-500:]).mean() == pytest.approx(factor * STEP, rel=0.1)


def test_a_count_that_leaps_once_though_nothing_was_lost_is_no_other_rate(tmp_path):
    device = device_of(tmp_path, frames_text(counter("u16")) + COUNTED, SENSORS)
    count = np.arange(COUNT) + np.where(TAKEN < 4.0, 0, 120)
    time, _ = fed(Decoder(device), bursts(sent(device, count), TAKEN))
    # it is worked off within seconds, and never adds up to more than the leap itself
    assert np.abs(time - TAKEN).max() < 0.13
    np.testing.assert_allclose(np.diff(time[-500:]), STEP, rtol=0.02)


def test_a_restart_in_lines_is_no_clock_of_16_bits_that_ran_over(tmp_path):
    device = device_of(tmp_path, lines_text(), TIME.replace("us", "ms") + SENSORS)
    stamps, taken = 60_000 + 10 * np.arange(1000), 0.01 * np.arange(1000)
    stamps[620:] -= stamps[620] - 1000
    taken[620:] += 1.5
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(printed(stamps), taken))
    np.testing.assert_allclose(time, taken[1:] - taken[1], atol=0.03)
    assert decoder.notes[0].startswith("the unit began again at")


def test_a_stamp_damaged_by_a_little_is_no_restart(tmp_path):
    device = device_of(tmp_path, lines_text())
    stamps = 1000 * np.arange(COUNT)
    stamps[3000] -= 5000
    decoder = Decoder(device)
    time, _ = fed(decoder, bursts(printed(stamps), TAKEN))
    assert len(time) == COUNT - 2
    assert (decoder.notes, decoder.tally.reasons) == ((), {"time": 1})


def test_rows_that_only_waited_are_given_as_soon_as_they_have_caught_up(tmp_path):
    device = device_of(tmp_path, frames_text(clock("u16")))
    pieces = sent(device, 1000 * np.arange(COUNT))
    decoder = Decoder(device)
    for at in range(0, 3000, 10):
        decoder.feed(b"".join(pieces[at : at + 10]), (at + 10) * STEP)
    assert decoder.feed(b"".join(pieces[3000:3100]), 3.6) == ()
    (samples,) = decoder.feed(b"".join(pieces[3100:3600]), 3.605)
    assert len(samples.time) == 600


def test_a_clock_that_becomes_too_coarse_on_the_way_goes_on_without_a_jump(tmp_path):
    device = device_of(tmp_path, lines_text(), TIME.replace("us", "ms") + SENSORS)
    taken = np.concatenate([0.002 * np.arange(2000), 3.9984 + 0.0004 * np.arange(COUNT - 2000)])
    time, _ = fed(Decoder(device), bursts(printed(np.floor(1000 * taken + 1e-9)), taken))
    late = time - taken[1:]
    assert np.abs(late - late[0]).max() < 0.3
    assert np.abs(np.diff(time) - np.diff(taken[1:])).max() < 0.003


def test_doubts_are_told_in_the_order_in_which_they_were_found_and_stay_as_they_were(tmp_path):
    device = device_of(tmp_path, lines_text(), TIME.replace("us", "ms") + SENSORS)
    decoder = Decoder(device)
    parts = bursts(printed(1000 * np.arange(COUNT)), TAKEN)
    fed(decoder, parts[:-1])
    first = decoder.doubts
    fed(decoder, [(b"t,gy,gx,gz,ax,ay,az\n" + parts[-1][0], parts[-1][1])])
    assert len(first) == 1
    assert decoder.doubts[:1] == first
    assert "names its columns in another order" in decoder.doubts[1].finding
    assert len(decoder.doubts) == 2
