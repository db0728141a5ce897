"""The raster of a channel's numbers, bits that never change, and copies."""

import numpy as np
import pytest

from benchrig.measure.sensor.counting import look_at_channels, one_count, share_of_copies, stuck_bits

LSB = np.radians(2000) / 32768
RNG = np.random.default_rng(0)
SMOOTH = np.cumsum(RNG.normal(size=(4000, 3)), axis=0) * 20


@pytest.mark.parametrize("count", [LSB, 1e-5, 0.25, 9.80665 / 2048])
def test_the_raster_is_found_whatever_its_unit(count):
    values = np.round(SMOOTH[:, 0]) * count
    assert one_count(values) == pytest.approx(count, rel=1e-6)


def test_a_raster_is_found_in_numbers_that_were_written_with_few_digits():
    values = np.array([float(f"{v:.7g}") for v in np.round(SMOOTH[:, 0]) * LSB])
    assert one_count(values) == pytest.approx(LSB, rel=1e-3)


def test_numbers_that_were_computed_with_stand_on_no_raster():
    assert one_count(RNG.normal(size=3000)) is None


def test_too_few_different_numbers_tell_no_raster():
    assert one_count(np.repeat([0.0, 1.0, 2.0], 100)) is None


@pytest.mark.parametrize(("masked", "bits"), [(1, 0), (2, 1), (4, 2), (16, 4)])
def test_lowest_bits_that_never_change_are_counted_against_the_other_channels(masked, bits):
    counts = np.round(SMOOTH)
    counts[:, 1] = counts[:, 1] // masked * masked
    clipped = np.zeros(counts.shape, dtype=bool)
    found = look_at_channels(counts * LSB, clipped, None, None)
    assert [channel.stuck_bits for channel in found] == [0, bits, 0]


def test_the_declared_range_shows_bits_that_no_channel_uses():
    values = np.round(SMOOTH) * 4 * LSB
    found = look_at_channels(values, np.zeros(values.shape, dtype=bool), None, np.radians(2000))
    assert [channel.stuck_bits for channel in found] == [2, 2, 2]


def test_a_raster_that_is_no_power_of_two_of_the_range_accuses_no_bits():
    assert stuck_bits(3 * LSB, LSB) is None
    values = np.round(SMOOTH) * 1.3 * LSB
    found = look_at_channels(values, np.zeros(values.shape, dtype=bool), None, np.radians(2000))
    assert [channel.stuck_bits for channel in found] == [0, 0, 0]


def test_a_count_that_hides_the_noise_is_coarse():
    values = np.round(SMOOTH) * LSB
    quiet, loud = np.full(3, LSB / 5), np.full(3, 3 * LSB)
    clipped = np.zeros(values.shape, dtype=bool)
    assert all(channel.is_coarse for channel in look_at_channels(values, clipped, quiet, None))
    assert not any(channel.is_coarse for channel in look_at_channels(values, clipped, loud, None))


def test_a_channel_that_never_changes_is_dead():
    values = np.round(SMOOTH) * LSB
    values[:, 2] = 0.0
    found = look_at_channels(values, np.zeros(values.shape, dtype=bool), None, None)
    assert [channel.is_dead for channel in found] == [False, False, True]


@pytest.mark.parametrize(("times", "share"), [(2, 0.5), (4, 0.75)])
def test_rows_that_are_read_more_often_than_measured_are_copies(times, share):
    rows = np.repeat(RNG.normal(size=(1000, 3)), times, axis=0)
    assert share_of_copies(rows) == pytest.approx(share, abs=0.01)


def test_a_coarse_unit_at_rest_repeats_itself_by_chance():
    resting = np.round(RNG.normal(0, 0.35, (4000, 3)))
    assert np.mean(np.diff(resting, axis=0) == 0) > 0.5
    assert share_of_copies(resting) == 0.0


def test_a_dead_channel_does_not_make_copies_of_all_rows():
    rows = RNG.normal(size=(1000, 3))
    rows[:, 0] = 0.0
    assert share_of_copies(rows) == 0.0
