"""Rotor frequencies, and the lines of simulated runs that they explain, through files."""

from __future__ import annotations

import re

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.errors import AirframeFileError, UsageError
from benchrig.measure.rotor.measure import measure_rotor
from benchrig.outcome import Outcome
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

GEARS = "plate_lead_deg = 0\nmotor_rpm = 24000\npinion_teeth = 12\nmain_gear_teeth = 120\nblades = 2"
RUNNING = ("vibration=39.2,0.1", "vibration=78.4,0.05", "vibration=392,0.2")


@pytest.fixture(scope="module")
def geared(captures, tmp_path_factory):
    path = tmp_path_factory.mktemp("rotor") / "dunlin.toml"
    path.write_text((captures / "dunlin.toml").read_text().replace("plate_lead_deg = 0", GEARS))
    return read_airframe(path)


@pytest.fixture(scope="module")
def run(geared, tmp_path_factory):
    """Measure a simulated run through the files a logger would leave."""

    def make(*faults, rate_hz=250.0, motions=("level",) * 8, airframe=geared, seed=2):
        options = Options(motions=motions, rate_hz=rate_hz, jitter=0.005)
        bench = simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=options)
        written = write_capture(bench, tmp_path_factory.mktemp("run") / "run")
        return measure_rotor(airframe, read_capture(written.manifest, airframe))

    return make


def by_name(measurement):
    return {quantity.name: quantity for quantity in measurement.quantities}


def codes(measurement):
    return [finding.code for finding in measurement.findings]


def said_by(measurement, code):
    (finding,) = [finding for finding in measurement.findings if finding.code == code]
    return finding.text


def test_without_a_recording_the_declared_frequencies_are_worked_out(geared):
    measurement = measure_rotor(geared)
    assert {name: quantity.value for name, quantity in by_name(measurement).items()} == {
        "main rotor speed, declared": pytest.approx(2400.0),
        "once a turn of the main rotor": pytest.approx(40.0),
        "twice a turn of the main rotor": pytest.approx(80.0),
        "once a turn of the motor": pytest.approx(400.0),
    }
    assert measurement.outcome is Outcome.NOT_APPLICABLE
    assert any("nothing was measured" in sentence for sentence in measurement.unknown)


def test_nothing_declared_and_nothing_recorded_is_refused(demo_airframe):
    with pytest.raises(AirframeFileError, match=r"dunlin\.toml: \[rotor\] motor_rpm.*not all declared"):
        measure_rotor(demo_airframe("dunlin"))


@pytest.mark.parametrize("rate_hz", [100.0, 250.0, 1000.0])
def test_the_rotor_is_found_at_its_true_speed_at_every_sample_rate(run, rate_hz):
    measurement = run(*RUNNING, rate_hz=rate_hz)
    speed = by_name(measurement)["main rotor speed, from the lines"]
    assert speed.value == pytest.approx(39.2 * 60, abs=max(4 * speed.uncertainty, 0.1))
    assert said_by(measurement, "rotor-vibration").startswith("At 2352 rpm the main rotor explains 3 lines: ")


def test_sizes_are_those_of_the_shaking(run):
    measurement = run("vibration=39.2,0.1", rate_hz=1000.0)
    sizes = [q for q in measurement.quantities if re.fullmatch(r"line at 39\.2 Hz, accelerometer [xyz]", q.name)]
    assert len(sizes) == 1
    assert sizes[0].unit == "mg"
    # the way of the shaking is drawn: the largest channel holds between a third and all of its square
    assert 100 / np.sqrt(3) * 0.95 < sizes[0].value < 105


def test_a_declared_frequency_above_half_the_rate_is_said_to_fold(run):
    measurement = run(rate_hz=250.0)
    assert by_name(measurement)["once a turn of the motor, as seen here"].value == pytest.approx(100.0, abs=0.1)
    assert "once a turn of the motor (400 Hz) at 100 Hz" in said_by(measurement, "rotor-folded")


def test_a_declared_frequency_beside_the_sample_rate_is_said_to_hide(run):
    assert "like a slow drift, unseen" in said_by(run(rate_hz=100.0), "rotor-hidden")


def test_a_foreign_line_is_named_with_what_it_can_really_be(run):
    measurement = run(*RUNNING, "vibration=55,0.05")
    assert said_by(measurement, "vibration-unexplained") == (
        "Nothing declared explains 55.0 Hz (or folded from 195.0, 305.0, 445.0 Hz)."
    )


def test_a_single_line_is_perhaps_the_rotors(run):
    measurement = run("vibration=39.2,0.1", rate_hz=1000.0)
    assert by_name(measurement)["main rotor speed, from the lines"].value is None
    assert "39.2 Hz could be once a turn of the main rotor" in said_by(measurement, "vibration-perhaps-rotor")
    assert "rotor-vibration" not in codes(measurement)


def test_a_still_bench_shows_no_line_and_says_what_would_have_shown(run):
    measurement = run(rate_hz=1000.0)
    assert codes(measurement) == []
    assert not [name for name in by_name(measurement) if name.startswith("line at")]
    least = by_name(measurement)["smallest line that shows, accelerometer"]
    assert 0 < least.value < 5
    shaken = run(f"vibration=70,{least.value * 3e-3:.5f}", rate_hz=1000.0)
    assert "line at 70.0 Hz" in by_name(shaken)


def test_nothing_is_written_into_the_airframe_file(run):
    # the speed without blades is not the speed in flight
    assert run(*RUNNING).entries == ()


def test_without_gears_the_lines_are_told_alone(run, demo_airframe):
    measurement = run(*RUNNING, airframe=demo_airframe("dunlin"))
    assert (
        "the motor's speed and gears are not declared"
        in by_name(measurement)["main rotor speed, from the lines"].reason
    )
    assert "vibration-unexplained" in codes(measurement)


@pytest.mark.parametrize("name", ["teal", "knot"])
def test_an_airframe_without_a_main_rotor_has_its_lines_told(run, demo_airframe, name):
    measurement = run("vibration=44,0.1", airframe=demo_airframe(name))
    assert by_name(measurement)["line at 44.0 Hz"].value == pytest.approx(44.0, abs=0.05)


def test_the_pictures_mark_the_lines(run):
    gyro, accelerometer = run(*RUNNING).figures
    assert (gyro.title, accelerometer.title) == ("Spectrum of the gyro", "Spectrum of the accelerometer")
    for figure in (gyro, accelerometer):
        crosses = figure.curves[-1]
        assert crosses.style == "cross"
        assert {round(x, 1) for x in crosses.x.tolist()} == {39.2, 78.4, 108.0}
        assert "39.2, 78.4, 108.0 Hz" in figure.description


def test_the_cautions_of_a_running_motor_come_with_it(geared):
    said = " ".join(measure_rotor(geared).cautions)
    for word in (
        "take off the main and tail blades",
        "Bind the airframe",
        "cut the power",
        "does not allow",
        "goggles",
    ):
        assert word in said


@pytest.mark.parametrize("name", ["teal", "knot"])
def test_gears_are_asked_of_no_kind_that_cannot_declare_them(captures, name):
    airframe = read_airframe(captures / f"{name}.toml")
    with pytest.raises(UsageError, match=f"for a helicopter's main rotor alone, not for kind {airframe.kind}"):
        measure_rotor(airframe)


@pytest.mark.parametrize("name", ["teal", "knot"])
def test_of_a_kind_without_gears_a_recording_gives_lines_alone(captures, run, name):
    measurement = run("vibration=55,0.2", airframe=read_airframe(captures / f"{name}.toml"))
    assert "line at 55.0 Hz" in by_name(measurement)
    said = [*by_name(measurement), *measurement.unknown, *measurement.method]
    assert not any("main rotor speed" in line or "motor_rpm" in line or "pinion" in line for line in said)
    assert any("gears can be declared for a helicopter's main rotor alone" in line for line in measurement.unknown)


def test_a_line_that_is_seen_is_not_called_unseen_by_its_declared_speed(run):
    measurement = run("vibration=40.6,0.1", "vibration=406,0.2", "vibration=81.2,0.1", rate_hz=100.0)
    assert "6.0 Hz is once a turn of the motor, folded from 406.0 Hz" in said_by(measurement, "rotor-vibration")
    assert not [f for f in measurement.findings if f.code in {"rotor-hidden", "rotor-folded"} and "motor" in f.text]
