"""Units, blanks, infinities and values that no sensor gives."""

from __future__ import annotations

import re

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.errors import CaptureError

RAW = """
time = { names = ["t"], unit = "us" }
gyro = { names = ["gx", "gy", "gz"], unit = { lsb_per = "deg/s", count = 16.4 } }
accelerometer = { names = ["ax", "ay", "az"], unit = { lsb_per = "g", count = 2048 } }
"""
PULSES = """
time = { names = ["t"], unit = "us" }
gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "g" }
[columns.actuators]
front = { names = ["ch1"], unit = "us" }
"""


def units(gyro: str = '"deg/s"', accelerometer: str = '"g"', more: str = "") -> str:
    return (
        'time = { names = ["t"], unit = "us" }\n'
        f'gyro = {{ names = ["gx", "gy", "gz"], unit = {gyro} }}\n'
        f'accelerometer = {{ names = ["ax", "ay", "az"], unit = {accelerometer} }}\n{more}'
    )


def refuse(manifest, *messages: str) -> None:
    with pytest.raises(CaptureError) as caught:
        read_capture(manifest)
    for message in messages:
        assert re.search(re.escape(message), str(caught.value)), str(caught.value)


@pytest.mark.parametrize(
    ("unit", "factor"),
    [('"deg/s"', np.pi / 180), ('"rad/s"', 1.0), ('{ lsb_per = "deg/s", count = 16.4 }', np.pi / 180 / 16.4)],
)
def test_every_unit_of_the_gyro_becomes_rad_per_second(unit, factor, samples, capture):
    recording = read_capture(capture(samples, columns=units(gyro=unit)))
    np.testing.assert_allclose(recording.angular_rate[:, 2], samples["gz"] * factor, rtol=1e-14)


@pytest.mark.parametrize(
    ("unit", "factor"), [('"g"', 9.80665), ('"m/s2"', 1.0), ('{ lsb_per = "m/s2", count = 100 }', 0.01)]
)
def test_every_unit_of_the_accelerometer_becomes_metres_per_second_squared(unit, factor, samples, capture):
    recording = read_capture(capture(samples, columns=units(accelerometer=unit)))
    np.testing.assert_allclose(recording.acceleration[:, 0], samples["ax"] * factor, rtol=1e-14)


@pytest.mark.parametrize(
    ("unit", "factor"), [('"uT"', 1e-6), ('"gauss"', 1e-4), ('{ lsb_per = "gauss", count = 1090 }', 1e-4 / 1090)]
)
def test_every_unit_of_the_compass_becomes_tesla(unit, factor, samples, capture):
    samples |= {"mx": samples["gx"], "my": samples["gy"], "mz": samples["gz"]}
    more = f'magnetometer = {{ names = ["mx", "my", "mz"], unit = {unit} }}'
    recording = read_capture(capture(samples, columns=units(more=more)))
    np.testing.assert_allclose(recording.magnetic_field[:, 1], samples["gy"] * factor, rtol=1e-14)


def as_counts(samples):
    return {name: values if name == "t" else np.rint(values * 100).astype(int) for name, values in samples.items()}


def test_raw_counts_of_16_bits_tell_the_full_scale(samples, capture):
    counts = as_counts(samples)
    counts["gx"][3], counts["ax"][4] = 32767, -32768
    recording = read_capture(capture(counts, columns=RAW))
    assert recording.gyro_full_scale == pytest.approx(np.radians(32768 / 16.4))
    assert recording.accelerometer_full_scale == pytest.approx(16 * 9.80665)
    np.testing.assert_allclose(recording.acceleration[4, 0], -16 * 9.80665)


def test_counts_beyond_16_bits_or_with_fractions_tell_no_full_scale(samples, capture):
    counts = as_counts(samples)
    counts["gx"][3] = 32768
    recording = read_capture(capture({**counts, "az": samples["az"]}, columns=RAW))
    assert recording.gyro_full_scale is recording.accelerometer_full_scale is None


def test_numbers_in_a_unit_tell_no_full_scale(capture):
    recording = read_capture(capture())
    assert recording.gyro_full_scale is recording.accelerometer_full_scale is None


@pytest.mark.parametrize("name", ["gy", "az"])
def test_a_blank_in_a_sensor_column_is_refused_with_its_row_and_column(name, samples, capture):
    samples[name][[17, 30]] = np.nan
    refuse(capture(samples), f"run.csv:19 column {name}: blank or not a number; so in 2 of 400 rows")


def test_a_sensor_column_without_any_number_is_refused(samples, capture):
    samples["gz"][:] = np.nan
    refuse(capture(samples), "run.csv column gz: holds no number at all", "likely cause: the sensor did not answer")


def test_an_infinity_in_a_sensor_column_is_refused(samples, as_text, capture):
    text = as_text(samples).replace(repr(samples["ay"][9].item()), "1e999")
    refuse(capture(text), "run.csv:11 column ay: infinite")


def test_an_infinity_in_a_column_that_may_be_blank_is_refused(samples, capture):
    samples |= {"mx": samples["gx"], "my": samples["gy"] * 1, "mz": samples["gz"]}
    samples["my"][5] = np.inf
    more = 'magnetometer = { names = ["mx", "my", "mz"], unit = "uT" }'
    refuse(capture(samples, columns=units(more=more)), "run.csv:7 column my: infinite")


def test_a_compass_row_with_one_blank_is_wholly_blank(samples, capture):
    samples |= {"mx": samples["gx"], "my": samples["gy"] * 1, "mz": samples["gz"]}
    samples["my"][5] = np.nan
    more = 'magnetometer = { names = ["mx", "my", "mz"], unit = "uT" }'
    recording = read_capture(capture(samples, columns=units(more=more)))
    assert np.isnan(recording.magnetic_field[5]).all()
    assert np.isfinite(np.delete(recording.magnetic_field, 5, axis=0)).all()


def test_a_compass_that_never_answered_is_none_and_noted(samples, capture):
    samples |= dict.fromkeys(("mx", "my", "mz"), np.full(400, np.nan))
    more = 'magnetometer = { names = ["mx", "my", "mz"], unit = "uT" }'
    recording = read_capture(capture(samples, columns=units(more=more)))
    assert recording.magnetic_field is None
    assert recording.history == ("magnetometer: every row is blank, so nothing of it is used",)


def test_raw_counts_read_as_g_are_refused_with_the_likely_unit(samples, capture):
    counts = as_counts(samples)
    counts["ax"][0] = 2048
    refuse(
        capture(counts),
        "run.csv:2 column ax: 2048 g",
        "expected no more than 1,000 g",
        'raw counts: unit = { lsb_per = "g", count = … }',
        "correct the unit of accelerometer (run.toml:7)",
    )


def test_thousandths_of_g_read_as_g_are_refused_with_the_likely_unit(samples, capture):
    samples |= {"ax": samples["ax"] / 10, "ay": samples["ay"] / 10, "az": samples["az"] / 10 + 1001.5}
    refuse(capture(samples), 'thousandths of g: unit = { lsb_per = "g", count = 1000 }')


def test_a_gyro_beyond_any_range_is_refused_with_its_column(samples, capture):
    samples["gy"][40] = 50_000.5
    refuse(
        capture(samples), "run.csv:42 column gy: 50000.5 deg/s, in 1 of 400 rows; expected no more than 50,000 deg/s"
    )


def test_a_gyro_just_within_bounds_is_read(samples, capture):
    samples["gy"][40] = 50_000
    assert read_capture(capture(samples)).angular_rate[40, 1] == pytest.approx(np.radians(50_000))


def test_a_count_written_the_wrong_way_round_is_named(samples, capture):
    upside_down = RAW.replace("count = 16.4", "count = 0.061").replace("count = 2048", "count = 0.000488")
    refuse(
        capture(as_counts(samples), columns=upside_down),
        "count is how many raw counts make one deg/s, and not the other way round",
    )


def test_pulses_that_are_held_stay_row_by_row(samples, capture):
    samples["ch1"] = np.repeat(np.arange(1500, 1580), 5)
    pulses = read_capture(capture(samples, columns=PULSES)).pulses["front"]
    np.testing.assert_allclose(pulses.width, samples["ch1"] * 1e-6)
    assert len(pulses.time) == 400


def test_pulses_of_length_zero_are_no_pulses(samples, capture):
    samples["ch1"] = np.where(np.arange(400) < 100, 0, 1500)
    recording = read_capture(capture(samples, columns=PULSES))
    assert recording.pulses["front"].time[0] == pytest.approx(0.25)
    assert recording.history == ("pulses of front: 100 of length zero left out",)
    assert recording.blank_pulses == frozenset()


@pytest.mark.parametrize("nothing", [0.0, np.nan])
def test_a_named_column_without_a_single_pulse_is_told_from_one_that_is_not_named(nothing, samples, capture):
    samples["ch1"] = np.full(400, nothing)
    recording = read_capture(capture(samples, columns=PULSES))
    assert "front" not in recording.pulses
    assert recording.blank_pulses == {"front"}


def test_an_actuator_without_any_pulse_is_left_out_and_noted(samples, capture):
    samples["ch1"] = np.full(400, np.nan)
    recording = read_capture(capture(samples, columns=PULSES))
    assert dict(recording.pulses) == {}
    assert recording.history[-1] == "pulses of front: none at all, so nothing is said from them"


@pytest.mark.parametrize(
    ("value", "unit", "cause"),
    [(1500, "ms", "the column is in microseconds"), (-0.25, "us", "the column holds a position, and not a pulse")],
)
def test_a_pulse_that_no_actuator_takes_is_refused(value, unit, cause, samples, capture):
    samples["ch1"] = np.where(np.arange(400) == 8, value, 1.0)
    columns = PULSES.replace('["ch1"], unit = "us"', f'["ch1"], unit = "{unit}"')
    refuse(capture(samples, columns=columns), f"run.csv:10 column ch1: a pulse of {value:g} {unit} for front", cause)
