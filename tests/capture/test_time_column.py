"""The time column: which faults are refused, and which are noted."""

from __future__ import annotations

import re

import numpy as np
import pytest

from benchrig.capture.table import Table
from benchrig.capture.time_column import read_clock
from benchrig.capture.units import Group, unit_of
from benchrig.errors import CaptureError


def group(unit: str = "us") -> Group:
    return Group(("t",), unit_of("time", unit), "run.toml:5")


def table(stamps, **columns) -> Table:
    stamps = np.asarray(stamps, dtype=np.float64)
    columns = columns or {"gx": np.arange(len(stamps), dtype=np.float64)}
    return Table("run.csv", {"t": stamps, **columns}, lambda row: row + 2)


def refuse(stamps, message: str, unit: str = "us", **columns) -> str:
    with pytest.raises(CaptureError, match=re.escape(message)) as caught:
        read_clock(table(stamps, **columns), group(unit))
    return str(caught.value)


STEADY = np.arange(400) * 2500.0


def test_seconds_count_from_the_first_sample():
    clock = read_clock(table(STEADY + 7e6), group())
    np.testing.assert_allclose(clock.time, STEADY / 1e6, rtol=1e-12)
    assert (clock.start, clock.notes) == (7.0, ())


@pytest.mark.parametrize(("unit", "step"), [("s", 0.0025), ("ms", 2.5), ("us", 2500.0), ("ns", 2_500_000.0)])
def test_every_unit_of_time_gives_the_same_seconds(unit, step):
    np.testing.assert_allclose(read_clock(table(np.arange(400) * step), group(unit)).time, STEADY / 1e6, rtol=1e-12)


@pytest.mark.parametrize(("bits", "first"), [(32, 0), (16, 0), (32, -(2**31)), (16, -(2**15))])
def test_a_counter_that_runs_over_is_unwrapped_and_noted(bits, first):
    start = first + 2**bits - 100_000 if bits == 32 else first + 100
    stamps = (start - first + STEADY) % 2**bits + first
    clock = read_clock(table(stamps), group())
    np.testing.assert_allclose(clock.time, STEADY / 1e6, rtol=1e-9)
    times = int((np.diff(stamps) < 0).sum())
    assert times > 0
    assert clock.notes[0].startswith(f"the {bits} bit clock ran over {times} time")


def test_a_jump_back_that_only_nearly_fits_a_counter_is_refused():
    stamps = (STEADY + 2**32 - 100_000) % 2**32
    stamps[stamps < 1e6] += 9_000  # a wrap with a step of more than three after it may hide anything
    text = refuse(stamps, "run.csv:42 column t: time goes back by 4294.96 s; so in 1 of 400 rows")
    assert "a 32 bit counter of us ran over" in text


def test_a_counter_of_another_unit_that_ran_over_is_named():
    stamps = ((STEADY + 2**32 - 100_000) % 2**32) / 1e6
    assert 'a 32 bit counter of us ran over; log that counter itself, and say unit = "us"' in refuse(
        stamps, "time goes back by", unit="s"
    )


def test_values_beyond_the_counter_are_no_wrap_of_it():
    stamps = STEADY.copy()
    stamps[200:] -= 65_536 - 2500  # the size of a 16 bit wrap, but the stamps are far beyond 16 bits
    refuse(stamps, "run.csv:202 column t: time goes back by 0.060536 s")


def test_time_that_goes_back_is_refused_with_its_row():
    stamps = STEADY.copy()
    stamps[[100, 101]] = stamps[[101, 100]]
    text = refuse(stamps, "run.csv:103 column t: time goes back by 0.0025 s; so in 1 of 400 rows")
    assert "rows are out of order" in text


def test_two_recordings_in_one_file_are_named():
    assert "the unit was restarted, or two recordings stand in one file" in refuse(
        np.concatenate([STEADY, STEADY]), "run.csv:402 column t: time goes back by 0.9975 s"
    )


def test_rows_that_repeat_wholly_are_left_out_and_noted():
    rows = np.repeat(np.arange(400), [2 if i in (5, 90) else 1 for i in range(400)])
    clock = read_clock(table(STEADY[rows], gx=rows.astype(float), mx=np.full(402, np.nan)), group())
    np.testing.assert_array_equal(clock.table.columns["gx"], np.arange(400.0))
    assert clock.table.notes == ("2 rows that repeat the row before exactly, time and all, left out",)
    assert clock.table.place(6) == "run.csv:9"


def test_a_stamp_that_repeats_with_other_values_is_refused_with_its_row():
    stamps = STEADY.copy()
    stamps[50] = stamps[49]
    text = refuse(stamps, "run.csv:52 column t: the time of the row before again, with other values; so in 1 of 400")
    assert "two samples were written in one tick" in text


def test_a_clock_too_coarse_for_its_rate_is_named():
    assert "the clock is too coarse for the sample rate" in refuse(np.floor(STEADY / 1e4), "again", unit="ms")


def test_gaps_are_kept_and_noted_with_the_longest():
    stamps = STEADY.copy()
    stamps[100:] += 50_000
    stamps[300:] += 812_000
    clock = read_clock(table(stamps), group())
    assert clock.notes == ("2 gaps in time, the longest 0.814 s before run.csv:302; nothing filled in",)
    assert len(clock.time) == 400


def test_stamps_that_come_in_bursts_are_no_wrong_unit():
    bursts = np.repeat(np.arange(50) * 20_000.0, 8) + np.tile(np.arange(8) * 10.0, 50)
    clock = read_clock(table(bursts), group())
    assert clock.notes[0].startswith("49 gaps in time")


@pytest.mark.parametrize(
    ("step", "unit", "meant"),
    [
        (2500, "s", "us"),
        (2500, "ms", "us"),
        (2.5, "us", "ms"),
        (0.0025, "us", "s"),
        (2.5e6, "us", "ns"),
        (10, "s", "ms"),
    ],
)
def test_a_wrong_unit_of_time_is_refused_with_the_likely_one(step, unit, meant):
    text = refuse(np.arange(400) * step, f'with unit = "{unit}" the samples come at', unit=unit)
    assert f"likely cause: the column is in {meant}; correct the unit or the name" in text
    assert "(run.toml:5)" in text


def test_a_counter_of_samples_named_as_time_is_refused():
    refuse(np.arange(400), "the samples come at 1e+06 Hz; expected between 2 Hz and 20 kHz")


@pytest.mark.parametrize(("value", "words"), [(np.nan, "blank or not a number"), (np.inf, "infinite")])
def test_a_row_without_a_time_is_refused(value, words):
    stamps = STEADY.copy()
    stamps[7] = value
    refuse(stamps, f"run.csv:9 column t: {words}; so in 1 of 400 rows")


@pytest.mark.parametrize(("count", "words"), [(0, "no samples"), (49, "49 samples")])
def test_too_few_samples_are_refused(count, words):
    refuse(STEADY[:count], f"run.csv: {words}; expected at least 50")


def test_samples_that_are_all_one_repeated_are_too_few():
    refuse(np.zeros(400), "run.csv: 1 sample; expected at least 50", gx=np.zeros(400))


def test_a_stamp_whose_type_names_another_unit_is_refused():
    stamped = Table("run.parquet", {"t": STEADY}, own_units={"t": "ns"})
    with pytest.raises(CaptureError, match=r'column t: holds stamps in ns, and the manifest says unit = "us"'):
        read_clock(stamped, group())
