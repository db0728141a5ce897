"""What the operator did and saw: words, times and actuators."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.actuators import Actuator, plate_effect
from benchrig.declaration.airframe import Airframe, Sensor, Source
from benchrig.errors import CaptureError
from benchrig.geometry.turns import MOTIONS

COLUMNS = """
time = { names = ["t"], unit = "us" }
gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "g" }
[columns.actuators]
front = { names = ["ch1"], unit = "us" }
"""


def make_airframe(*names: str) -> Airframe:
    lift = plate_effect(0.0, 0.0, "clockwise")
    moves = {"plate up": lift, "plate down": -lift}
    return Airframe(
        name="Dunlin 450",
        kind="helicopter",
        sensor=Sensor(np.eye(3), np.zeros(3), None, "specific force", None, None),
        magnetometer=None,
        clearances={},
        rotor=None,
        actuators=tuple(Actuator(name, "swashplate", "plate up", lift, None, 0.0, None, None, moves) for name in names),
        required_motions=(),
        source=Source(Path("dunlin.toml"), ""),
    )


def motion(name: str, start: float, end: float) -> str:
    return f'[[motion]]\nname = "{name}"\nstart_s = {start}\nend_s = {end}\n'


def seen(during: str, actuator: str, moved: str) -> str:
    return f'[[seen]]\nmotion = "{during}"\nactuator = "{actuator}"\nmoved = "{moved}"\n'


def refuse(manifest, *messages: str, airframe: Airframe | None = None) -> None:
    with pytest.raises(CaptureError) as caught:
        read_capture(manifest, airframe)
    for message in messages:
        assert message in str(caught.value)


def test_prompts_come_in_order_of_time_with_their_places(capture):
    rest = motion("nose down", 0.6, 0.8) + motion("nose up", 0.1, 0.5)
    prompts = read_capture(capture(rest=rest)).prompts
    assert [(p.name, p.start, p.end, p.place) for p in prompts] == [
        ("nose up", 0.1, 0.5, "run.toml:13"),
        ("nose down", 0.6, 0.8, "run.toml:9"),
    ]


@pytest.mark.parametrize("name", MOTIONS)
def test_every_motion_of_the_contract_is_known(name, capture):
    assert read_capture(capture(rest=motion(name, 0.1, 0.5))).prompts[0].name == name


def test_a_routine_gives_prompts_without_times_in_its_order(capture):
    recording = read_capture(capture(capture='routine = ["nose up", "nose down", "nose up"]'))
    assert [(p.name, p.start, p.end) for p in recording.prompts] == [
        ("nose up", None, None),
        ("nose down", None, None),
        ("nose up", None, None),
    ]
    assert recording.is_routine


@pytest.mark.parametrize(
    ("word", "meant"),
    [("nose upp", "nose up"), ("Nose Up", "nose up"), ("nose-up", "nose up"), ("rol left", "roll left")],
)
def test_a_motion_that_is_not_known_is_refused_with_the_likely_one(word, meant, capture):
    refuse(
        capture(rest=motion(word, 0.1, 0.5)),
        f'run.toml:9: motion 1 name = "{word}" is not a word known here; expected',
        f'a misspelt "{meant}"',
    )
    refuse(
        capture(capture=f'routine = ["{word}"]'),
        f'run.toml:3: capture.routine.1 = "{word}" is',
        f'a misspelt "{meant}"',
    )


def test_a_motion_and_a_routine_together_are_refused(capture):
    manifest = capture(capture='routine = ["nose up"]', rest=motion("nose up", 0.1, 0.5))
    refuse(manifest, "run.toml:3: there are both a routine and [[motion]] entries (run.toml:8)")


@pytest.mark.parametrize(("start", "end"), [(0.5, 0.1), (0.5, 0.5)])
def test_a_motion_that_ends_before_it_starts_is_refused(start, end, capture):
    refuse(
        capture(rest=motion("nose up", start, end)),
        f"run.toml:11: nose up starts at {start:g} s and ends at {end:g} s; expected an end after the start",
    )


def test_motions_that_overlap_are_refused(capture):
    rest = motion("nose down", 0.4, 0.8) + motion("nose up", 0.1, 0.5)
    refuse(
        capture(rest=rest),
        "run.toml:10: nose down starts at 0.4 s, before nose up ends at 0.5 s (run.toml:15)",
        "expected one motion at a time",
    )


def test_motions_that_touch_are_read(capture):
    rest = motion("nose up", 0.1, 0.5) + motion("nose down", 0.5, 0.8)
    assert len(read_capture(capture(rest=rest)).prompts) == 2


@pytest.mark.parametrize(("start", "end"), [(-0.1, 0.5), (0.5, 1.6), (14.0, 19.8), (1.1, 1.4)])
def test_a_motion_outside_the_recording_is_refused(start, end, capture):
    refuse(
        capture(rest=motion("nose up", start, end)),
        f"run.toml:9: nose up from {start:g} s to {end:g} s, outside run.csv",
        "expected times between 0 and 0.997 s, counted from its first sample",
    )


def test_a_motion_may_end_half_a_second_after_the_recording(capture):
    assert read_capture(capture(rest=motion("nose up", 0.5, 1.4))).prompts[0].end == 1.4


def test_times_of_the_streams_own_clock_are_recognised(capture, samples):
    samples["t"] = samples["t"] + 7_000_000
    refuse(
        capture(samples, rest=motion("nose up", 7.1, 7.5)),
        "likely cause: the times are of the stream's own clock, which shows 7 s at its first sample",
        "subtract 7 from every start_s and end_s",
    )


def test_it_is_noted_that_times_count_from_the_first_sample_where_the_clock_would_not(capture, samples):
    samples["t"] = samples["t"] + 7_000_000
    recording = read_capture(capture(samples, rest=motion("nose up", 0.1, 0.5)))
    assert recording.history == (
        "the stream's clock shows 7 s at its first sample, where the motions' times count from 0",
    )


@pytest.mark.parametrize("value", ["inf", "nan", '"1"', "true"])
def test_a_time_that_is_no_number_is_refused(value, capture):
    rest = motion("nose up", 0.1, 0.5).replace("0.1", value)
    refuse(capture(rest=rest), "run.toml:10: motion 1 start_s = ", "number")


LOOKS = motion("nose up", 0.1, 0.5)


def test_looks_are_kept_with_the_declared_words(capture):
    rest = LOOKS + seen("nose up", "front", "plate down") + seen("nose up", "tail", "still")
    recording = read_capture(capture(rest=rest), make_airframe("front", "tail"))
    assert [(s.motion, s.actuator, s.moved) for s in recording.seen] == [
        ("nose up", "front", "plate down"),
        ("nose up", "tail", "still"),
    ]


@pytest.mark.parametrize(
    ("look", "message"),
    [
        (
            seen("nose up", "frnt", "plate up"),
            'run.toml:14: actuator "frnt" is not declared; expected "front" or "tail"',
        ),
        (seen("nose up", "frnt", "plate up"), 'a misspelt "front"; name it as dunlin.toml does'),
        (
            seen("nose up", "front", "up"),
            'seen 1 moved = "up" is not a word known here; expected "plate up", "plate down" or "still"',
        ),
        (
            seen("nose uo", "front", "still"),
            'run.toml:13: seen 1 motion = "nose uo" is not a word known here; expected',
        ),
        (
            seen("nose down", "front", "still"),
            'seen 1 motion = "nose down" is not among the motions of this capture; expected "nose up"',
        ),
    ],
)
def test_a_look_that_fits_nothing_declared_or_done_is_refused(look, message, capture):
    refuse(capture(rest=LOOKS + look), message, airframe=make_airframe("front", "tail"))


def test_a_look_where_nothing_was_done_is_refused(capture):
    refuse(capture(rest=seen("nose up", "front", "still")), "expected a [[motion]] or routine that says what was done")


def test_a_column_of_an_undeclared_actuator_is_refused(capture, samples):
    samples["ch1"] = np.full(400, 1500)
    manifest = capture(samples, columns=COLUMNS)
    refuse(
        manifest,
        'run.toml:9: actuator "front" is not declared; expected "frontal" or "tail"',
        airframe=make_airframe("frontal", "tail"),
    )
    assert list(read_capture(manifest, make_airframe("front")).pulses) == ["front"]
    assert list(read_capture(manifest).pulses) == ["front"]


def test_pulses_and_looks_are_left_out_and_noted_where_no_actuator_is_declared(capture, samples):
    samples["ch1"] = np.full(400, 1500)
    manifest = capture(samples, columns=COLUMNS, rest=LOOKS + seen("nose up", "front", "plate up"))
    recording = read_capture(manifest, make_airframe())
    assert (dict(recording.pulses), recording.seen) == ({}, ())
    assert recording.history == ("the airframe declares no actuators: the capture's pulses and looks are left out",)
