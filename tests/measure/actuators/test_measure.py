"""A measurement of the actuators: what it judges, what it leaves open, what it writes."""

from __future__ import annotations

import os

import numpy as np
import pytest
from pulse_trains import TAIL, Output, codes, helicopter, plane, read, recording, sweep, swept, value, with_collective

from benchrig.errors import AirframeFileError, CaptureError
from benchrig.measure.actuators.measure import measure_actuators
from benchrig.measure.amendment import amended
from benchrig.outcome import Outcome

COUNT = int(os.environ.get("BENCHRIG_COUNT", "25"))
AT_120 = (0, 120, 240)
CENTRES = {"s0": 1520, "s1": 1520, "s2": 1520, "tail": 760}
UP = {"s0": 200, "s1": 200, "s2": 200}


@pytest.fixture
def heron(tmp_path):
    return read(tmp_path, helicopter(AT_120, extra=TAIL + "centre_us = 760\n", each="centre_us = 1520\n"))


@pytest.fixture(scope="module")
def whole_bench():
    outputs, prompts, end = swept(CENTRES)
    return with_collective(outputs, prompts, end, UP)


@pytest.fixture
def measured(heron, whole_bench):
    outputs, prompts, end = whole_bench
    commands = {name: Output(o.program, frame=0.005) for name, o in outputs.items()}
    return measure_actuators(heron, recording(outputs, prompts, duration=end, commands=commands))


def test_a_right_rig_passes_with_every_number(measured):
    assert measured.outcome is Outcome.PASS
    assert codes(measured) == []
    assert value(measured, "s0, centre").value == pytest.approx(1520, abs=1)
    assert value(measured, "s1, shortest pulse").value == pytest.approx(1120, abs=1)
    assert value(measured, "s2, longest pulse").value == pytest.approx(1920, abs=1)
    assert value(measured, "s2, speed of its pulse").value == pytest.approx(3000, rel=0.02)
    assert value(measured, "s2, time for its travel").value == pytest.approx(800 / 3000, rel=0.02)
    assert value(measured, "s0, answer to its command").value == pytest.approx(25, abs=8)
    assert value(measured, "s0, pulses a second").value == pytest.approx(50, abs=1.2)
    assert value(measured, "s0, change at collective up").value == pytest.approx(200, abs=2)
    assert value(measured, "plate, nose side against its middle at collective up").value == pytest.approx(0, abs=1)


def test_every_quantity_has_an_uncertainty_or_a_reason(measured):
    for quantity in measured.quantities:
        assert (quantity.value is None) == (quantity.uncertainty is None), quantity
        assert quantity.value is not None or quantity.reason, quantity
        assert quantity.uncertainty is None or quantity.uncertainty > 0, quantity


def test_lines_are_given_for_what_was_not_declared_and_only_for_that(measured):
    given = {(e.table, e.key): e.value for e in measured.entries}
    assert given[("actuator", "s0"), "lowest_us"] == pytest.approx(1120, abs=1)
    assert given[("actuator", "tail"), "highest_us"] == pytest.approx(960, abs=1)
    assert {key for _, key in given} == {"lowest_us", "highest_us"}


def test_the_lines_make_a_valid_airframe_file_that_the_same_recording_passes(measured, heron, whole_bench, tmp_path):
    text = amended(heron.source.file.read_text(encoding="utf-8"), measured.entries)
    again = read(tmp_path, text)
    outputs, prompts, end = whole_bench
    second = measure_actuators(again, recording(outputs, prompts, duration=end))
    assert second.entries == ()
    assert second.outcome is Outcome.PASS


def test_the_cautions_of_an_energised_servo_stand_there(measured):
    assert any("under power moves without warning" in caution for caution in measured.cautions)
    assert any("drives a motor runs it" in caution for caution in measured.cautions)
    assert not any("Four servos" in caution for caution in measured.cautions)


def test_without_the_stick_no_sense_is_claimed(heron):
    outputs, prompts, end = swept(CENTRES)
    found = measure_actuators(heron, recording(outputs, prompts, duration=end))
    assert not any("collective" in q.name for q in found.quantities)
    assert any("s0, s1, s2 lift: a sweep has no sense of its own" in text for text in found.unknown)
    assert any("What a longer pulse does with tail: no sweep shows it" in text for text in found.unknown)


def test_without_commands_the_latency_says_what_is_missing(heron, whole_bench):
    outputs, prompts, end = whole_bench
    found = measure_actuators(heron, recording(outputs, prompts, duration=end))
    quantity = value(found, "s0, answer to its command")
    assert quantity.value is None
    assert "name its column under [columns.commands]" in quantity.reason


@pytest.mark.parametrize(("off", "outcome"), [(0, "pass"), (5, "pass"), (30, "fail"), (-30, "fail"), (10, "not shown")])
def test_a_declared_centre_is_judged_with_a_guard_band(tmp_path, off, outcome):
    rig = read(tmp_path, plane(centre_us=1500 + off))
    outputs, prompts, end = swept({"elevator": 1500})
    assert (
        value(measure_actuators(rig, recording(outputs, prompts, duration=end)), "elevator, centre").outcome == outcome
    )


def test_a_centre_that_a_levelling_unit_moves_is_a_doubt_with_its_cause(tmp_path):
    rig = read(tmp_path, plane(centre_us=1500))
    output = Output([(0.0, 1512), *sweep(2.0, 1500, 1100, 1900)])
    found = measure_actuators(rig, recording({"elevator": output}, [("sweep", "elevator", 1.8, 4.5)], duration=7.0))
    assert codes(found) == ["centre-unsteady"]
    assert "1512 µs before and 1500 µs after: a unit that levels itself adds to it" in found.findings[0].text
    assert found.outcome is Outcome.NOT_SHOWN


def test_ends_that_differ_are_named_with_both_numbers(tmp_path):
    rig = read(tmp_path, plane(centre_us=1500, lowest_us=1000, highest_us=1900))
    outputs, prompts, end = swept({"elevator": 1500})
    found = measure_actuators(rig, recording(outputs, prompts, duration=end))
    assert codes(found) == ["actuator-travel-differs"]
    assert "shortest pulse 1100 µs, declared 1000 µs" in found.findings[0].text
    assert "longest" not in found.findings[0].text
    assert found.entries == ()


def test_nothing_swept_is_not_shown(heron):
    quiet = {name: Output([(0.0, centre)]) for name, centre in CENTRES.items()}
    found = measure_actuators(heron, recording(quiet, [], duration=6.0))
    assert found.outcome is Outcome.NOT_SHOWN
    assert codes(found) == ["sweep-missing"]


def test_channels_without_pulses_are_named(heron):
    outputs, prompts, end = swept({"s0": 1520})
    found = measure_actuators(heron, recording(outputs, prompts, duration=end))
    assert "No pulses of s1, s2, tail were recorded." in [f.text for f in found.findings]
    assert value(found, "s1, centre").reason.startswith("no pulses of it were recorded")


def test_a_motor_that_rests_at_its_lowest_pulse_is_measured(tmp_path):
    text = '[airframe]\nname = "Gnat"\nkind = "other"\n[sensor]\naxes = { x = "forward", y = "right" }\n'
    text += '[[actuator]]\nname = "motor"\ndrives = "rotor"\nlonger_pulse = "more thrust"\nturns = "clockwise"\n'
    rig = read(tmp_path, text + "position_mm = { forward = 10 }\nlowest_us = 1050\n")
    output = Output([(0.0, 1050), (2.0, 1900), (4.0, 1050)])
    found = measure_actuators(rig, recording({"motor": output}, [("sweep", "motor", 1.8, 5.0)], duration=7.0))
    assert found.outcome is Outcome.PASS
    assert [(e.key, e.value) for e in found.entries] == [("highest_us", 1900)]


def test_an_airframe_without_actuators_is_refused(tmp_path):
    rig = read(tmp_path, plane().partition("[[actuator]]")[0])
    with pytest.raises(AirframeFileError, match=r"rig\.toml: no actuator is declared, so there is nothing to measure"):
        measure_actuators(rig, recording({}, [], duration=3.0))


def test_a_routine_is_refused(heron):
    routine = recording({}, [("sweep", "s0", None, None)], duration=3.0)
    with pytest.raises(CaptureError, match="`routine` gives no times, and this measurement needs them"):
        measure_actuators(heron, routine)


def test_pulls_of_centre_and_ends_are_what_the_uncertainties_say(tmp_path):
    rig = read(tmp_path, plane())
    pulls = []
    for seed in range(COUNT):
        rng = np.random.default_rng(seed)
        true = {"centre": rng.uniform(1480, 1540), "shortest pulse": 1105.4, "longest pulse": rng.uniform(1880, 1930)}
        low, high = true["shortest pulse"], true["longest pulse"]
        program = [(0.0, true["centre"]), (2.0, high), (2.83, low), (3.71, true["centre"])]
        output = Output(program, phase=rng.uniform(0, 0.02), jitter=rng.uniform(0.5, 2.0), limit=3000)
        found = measure_actuators(
            rig, recording({"elevator": output}, [("sweep", "elevator", 1.8, 4.5)], duration=6.0, seed=seed)
        )
        for what, number in true.items():
            quantity = value(found, f"elevator, {what}")
            pulls.append((quantity.value - number) / quantity.uncertainty)
    assert 0.6 < np.sqrt(np.mean(np.square(pulls))) < 1.4
    assert np.abs(pulls).max() < 5


def test_the_figures_say_in_words_what_they_show(measured):
    sweeps, lifts = measured.figures
    assert sweeps.title == "4 of 4 swept channels held both ends of their travel."
    assert "s0: from 2 s, holding 1120, 1520, 1920 µs" in sweeps.description
    assert lifts.title == "At collective up, 3 of 3 channels go the way that lifts."
    assert [c.label for c in lifts.curves] == ["s0", "s1", "s2"]
    assert all(c.y[-1] == pytest.approx(0, abs=3) or c.y.max() > 190 for c in lifts.curves)


@pytest.mark.parametrize(("centre", "lines"), [(1500, 3), (1050, 0)])
def test_pulses_that_are_surely_neither_wide_nor_narrow_give_no_line(tmp_path, centre, lines):
    program = [(0.0, centre), *sweep(2.0, centre, centre - 150, centre + 150)]
    made = recording({"elevator": Output(program)}, [("sweep", "elevator", 1.8, 4.8)], duration=7.0)
    assert len(measure_actuators(read(tmp_path, plane()), made).entries) == lines
