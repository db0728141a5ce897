"""One axis with a wrong size, a bench that leans, a gap inside a move: each named, and no actuator blamed for it."""

from dataclasses import replace

import numpy as np
import pytest

from benchrig.job import judge


@pytest.mark.parametrize(
    ("column", "gain", "sensor"),
    [(0, 1.3, "gyro"), (1, 0.75, "gyro"), (0, 1.35, "accelerometer"), (1, 0.7, "accelerometer")],
)
def test_one_axis_of_a_wrong_size_never_passes_and_is_named(simulated_recording, demo_airframe, column, gain, sensor):
    airframe = demo_airframe("teal")
    recording = simulated_recording("teal", seed=4)
    gains = np.ones(3)
    gains[column] = gain
    if sensor == "gyro":
        faulty = replace(recording, angular_rate=recording.angular_rate * gains)
    else:
        faulty = replace(recording, acceleration=recording.acceleration * gains)
    record = judge(airframe, faulty)
    assert record.verdict != "pass"
    assert {"axis-size", "gyro-size", "accelerometer-size"} & {finding.code for finding in record.findings}


def test_a_bench_that_leans_blames_no_actuator(simulated_recording, demo_airframe):
    airframe = demo_airframe("teal")
    record = judge(airframe, simulated_recording("teal", "unlevel-start=25", seed=1))
    assert record.verdict == "not shown"
    assert "not-square" in {finding.code for finding in record.findings}
    assert all(actuator.outcome == "not shown" for actuator in record.actuators)


def test_a_gap_inside_a_move_blames_no_actuator(simulated_recording, demo_airframe):
    airframe = demo_airframe("dunlin")
    recording = simulated_recording("dunlin", seed=0)
    start = next(p.start for p in recording.prompts if p.name == "nose up")
    for after, where in ((1.0, "out"), (1.4, "hold"), (1.8, "back")):
        kept = (recording.time < start + after) | (recording.time > start + after + 0.15)
        pulses = {
            name: replace(one, time=one.time[keep], width=one.width[keep])
            for name, one in recording.pulses.items()
            if (keep := (one.time < start + after) | (one.time > start + after + 0.15)) is not None
        }
        rows = {
            name: None if (values := getattr(recording, name)) is None else values[kept]
            for name in ("time", "angular_rate", "acceleration", "magnetic_field", "unit_attitude", "temperature")
        }
        record = judge(airframe, replace(recording, pulses=pulses, **rows))
        # by 1.8 s the turn has been held for 0.7 s: the gap lies in the way back, which no prompt asks for
        assert record.verdict == ("pass" if where == "back" else "not shown")
        assert not [a.name for a in record.actuators if a.outcome == "fail"]
