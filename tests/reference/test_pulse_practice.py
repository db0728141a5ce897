"""Facts of the trade about servo pulses (rows P1 to P5).

P1: a published article on servo control (confirmed). P2: trade; 1520, 760 and 1400 µs are common practice, no source.
P3: trade for 50, 66, 250, 333 and 560 Hz; the rest by arithmetic. P4, P5: common practice, no published source.
"""

from __future__ import annotations

import re

import pytest
from pulse_trains import Output, codes, plane, read, recording, sweep, swept, value

from benchrig.measure.actuators.measure import measure_actuators
from benchrig.measure.actuators.quantities import CENTRE_TOLERANCE
from benchrig.measure.pulses.pulse_range import ANALOGUE_PERIOD, DEGREE, fits_frame, kind_by_centre, lies_within


def test_p1_a_neutral_of_1500_with_a_millisecond_of_span_is_wide():
    assert kind_by_centre(1500e-6) == "wide"
    assert lies_within("wide", 1000e-6, 2000e-6)


def test_p1_position_is_the_pulses_length_whatever_the_refresh(tmp_path):
    rig = read(tmp_path, plane(centre_us=1500))
    for rate in (40, 50, 100, 200):
        output = Output([(0.0, 1500), *sweep(2.0, 1500, 1000, 2000)], frame=1 / rate)
        found = measure_actuators(
            rig, recording({"elevator": output}, [("sweep", "elevator", 1.8, 4.5)], duration=6.5, rate=1000.0)
        )
        assert value(found, "elevator, centre").outcome == "pass"
        assert value(found, "elevator, longest pulse").value == pytest.approx(2000, abs=1)


@pytest.mark.parametrize(("centre", "kind"), [(1500, "wide"), (1520, "wide"), (1400, "wide"), (760, "narrow")])
def test_p2_the_known_neutrals_are_told_apart(centre, kind):
    assert kind_by_centre(centre * 1e-6) == kind


def test_p2_a_neutral_between_the_kinds_is_neither():
    assert kind_by_centre(1050e-6) is None


@pytest.mark.parametrize(
    ("longest", "rate", "fits"),
    [(2120, 50, True), (2120, 333, True), (2120, 560, False), (1060, 560, True), (1520, 560, True), (1800, 560, False)],
)
def test_p3_a_pulse_fits_where_it_ends_before_the_next_begins(longest, rate, fits):
    assert fits_frame(longest * 1e-6, 1 / rate) is fits


def test_p3_the_periods_are_those_of_their_rates():
    assert pytest.approx(3003, abs=0.5) == 1e6 / 333
    assert pytest.approx(1786, abs=0.5) == 1e6 / 560
    assert pytest.approx(66, abs=1) == 1 / ANALOGUE_PERIOD


@pytest.mark.parametrize(("rate", "said"), [(50, []), (333, ["pulse-rate-high"])])
def test_p3_a_rate_beyond_analogue_servos_is_named(tmp_path, rate, said):
    outputs, prompts, end = swept({"elevator": 1500}, frame=1 / rate)
    found = measure_actuators(read(tmp_path, plane()), recording(outputs, prompts, duration=end, rate=1500.0))
    assert codes(found) == said


def test_p3_a_wide_pulse_in_a_560_hz_frame_is_an_error(tmp_path):
    outputs, prompts, end = swept({"elevator": 1520}, frame=1 / 560)
    found = measure_actuators(read(tmp_path, plane()), recording(outputs, prompts, duration=end, rate=2000.0))
    (short,) = [f for f in found.findings if f.code == "pulse-frame-short"]
    said = re.search(r"a pulse of 1920 µs does not fit in a frame of about (\d+) µs", short.text)
    assert int(said[1]) == pytest.approx(1786, abs=10)


@pytest.mark.parametrize(
    ("declared", "sent", "said"),
    [
        (1520, 760, "declared with wide pulses and gets narrow ones, about 760 µs"),
        (760, 1520, "declared with narrow pulses and gets wide ones, about 1520 µs"),
    ],
)
def test_p4_narrow_pulses_on_a_wide_declaration_and_the_reverse_are_named_and_not_scaled(
    tmp_path, declared, sent, said
):
    outputs, prompts, end = swept({"elevator": sent}, reach=300)
    found = measure_actuators(
        read(tmp_path, plane(centre_us=declared)), recording(outputs, prompts, duration=end, rate=100.0)
    )
    assert codes(found) == ["pulse-kind-differs"]
    assert said in found.findings[0].text
    assert value(found, "elevator, centre").value == pytest.approx(sent, abs=1)
    assert found.entries == ()


@pytest.mark.parametrize(("kind", "low", "high"), [("wide", 800, 2200), ("narrow", 400, 1100)])
def test_p4_the_windows_are_those_of_practice(kind, low, high):
    assert lies_within(kind, low * 1e-6, high * 1e-6)
    assert not lies_within(kind, (low - 1) * 1e-6, high * 1e-6)
    assert not lies_within(kind, low * 1e-6, (high + 1) * 1e-6)


def test_p5_a_degree_is_about_ten_microseconds_and_centres_are_held_to_one():
    assert pytest.approx(DEGREE, rel=0.15) == 1000e-6 / 90
    assert pytest.approx(DEGREE) == CENTRE_TOLERANCE
