"""The main job: from a declared airframe and a recording to the record of the bench."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from benchrig import __version__
from benchrig.attitude.library import LIBRARY
from benchrig.attitude.reference import self_test
from benchrig.capture.recording import Recording
from benchrig.cautions import CAUTIONS
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.rotations import angles_from_matrix, matrix_from_quaternion
from benchrig.geometry.turns import TURNS
from benchrig.outcome import Outcome, gravest_first, worst
from benchrig.signals.calibration import applied
from benchrig.verdict.actuation import judge_actuators
from benchrig.verdict.alignment import misalignment
from benchrig.verdict.asking import next_motion
from benchrig.verdict.bench import Bench, measure_bench
from benchrig.verdict.compass_judgement import judge_compass
from benchrig.verdict.correction import judge_correction
from benchrig.verdict.diagnosis import WIRING_OPEN, diagnose
from benchrig.verdict.health import judge_health
from benchrig.verdict.limits import COHERENT_OPERATOR, limits_in_words
from benchrig.verdict.place import judge_place, place_limits
from benchrig.verdict.record import BenchRecord, Cell, Health, Span, Traces
from benchrig.verdict.sensing import found_wiring, judge_sensing
from benchrig.verdict.unit import unit_figures
from benchrig.verdict.wirings import UPSIDE_DOWN


def judge(airframe: Airframe, recording: Recording) -> BenchRecord:
    """Judge a recording against its declaration.

    Parameters
    ----------
    airframe : Airframe
    recording : Recording

    Returns
    -------
    BenchRecord
    """
    self_test()
    recording = replace(recording, history=(*recording.history, *applied(airframe.calibration)))
    bench = measure_bench(airframe, recording)
    names = list(dict.fromkeys((*airframe.required_motions, *(m.name for m in bench.motions))))
    names = [name for name in names if name in TURNS]
    sensing = judge_sensing(bench, names)
    compass = judge_compass(bench, names)
    correction = judge_correction(bench, names)
    actuators, pattern = judge_actuators(airframe.actuators, correction)
    gyro, accelerometer = found_wiring(bench, "gyro"), found_wiring(bench, "accelerometer")
    place, place_findings = judge_place(bench, worst([gyro.outcome, accelerometer.outcome]))
    health = judge_health(bench)
    whole = [gyro.outcome, accelerometer.outcome, place.outcome]
    sensed = worst([*(c.outcome for c in (*sensing, *compass.cells) if c.counts), *_grave(health), *whole])
    corrected = worst(a.outcome for a in actuators) if actuators else Outcome.NOT_APPLICABLE
    verdict = worst([sensed, corrected])
    found = diagnose(bench, sensing, gyro, accelerometer, actuators, pattern)
    settled = sensed is Outcome.FAIL and not any(f.code == WIRING_OPEN for f in found)
    return BenchRecord(
        airframe=airframe,
        recording=recording,
        verdict=verdict,
        sensing=sensed,
        correction=corrected,
        wrong_pass_bound=_bound(bench, correction.cells, compass.wrong) if verdict is Outcome.PASS else None,
        matrix=_by_motion(names, [*sensing, *compass.cells, *correction.cells]),
        gyro=gyro,
        accelerometer=accelerometer,
        magnetometer=compass.wiring,
        misalignment=misalignment(bench),
        lever_arm=place,
        actuators=actuators,
        health=health,
        findings=gravest_first([*found, *compass.findings, *place_findings]),
        next_motion=None if settled else next_motion(bench.wirings, sensing, airframe.required_motions),
        cautions=CAUTIONS,
        limits={**limits_in_words(), **compass.limits, **place_limits(place)},
        software=_software(bench),
        traces=_traces(bench),
        unit=unit_figures(bench),
    )


def _grave(health: Sequence[Health]) -> list[Outcome]:
    """Give the health checks that forbid a pass: failures, and doubts alike."""
    return [h.outcome for h in health if h.outcome in {Outcome.FAIL, Outcome.NOT_SHOWN}]


def _bound(bench: Bench, cells: Sequence[Cell], compass: float) -> float:
    """Bound the probability of a wrong pass: what the wirings leave, a coherent operator, compass and actuators."""
    wrong = float(np.exp(bench.wirings.log_probability).ravel()[1:].sum())
    by_actuator: dict[str, float] = {}
    for cell in cells:
        if cell.required and cell.wrong_pass_bound is not None:
            by_actuator[cell.check] = max(by_actuator.get(cell.check, 0.0), cell.wrong_pass_bound)
    return min(1.0, wrong + COHERENT_OPERATOR + UPSIDE_DOWN + compass + sum(by_actuator.values()))


def _by_motion(names: Sequence[str], cells: Sequence[Cell]) -> tuple[Cell, ...]:
    order = ["level", *names]
    return tuple(sorted(cells, key=lambda c: order.index(c.motion)))


def _software(bench: Bench) -> Mapping[str, str]:
    return {
        "benchrig": __version__,
        "ahrs": LIBRARY.removeprefix("ahrs "),
        "reference_filter": bench.attitude.method,
        "replay_difference": f"{bench.attitude.replay_difference:.1e}",
    }


def _traces(bench: Bench) -> Traces:
    time = bench.even.time
    rests = tuple(
        Span(float(time[r.start]), float(time[r.stop - 1]), "bench" if r.grade == "bench" else "hand")
        for r in bench.stillness.rests
    )
    motions = tuple(
        Span(float(time[m.move.before.stop - 1]), float(time[m.move.after.start]), m.name)
        for m in bench.motions
        if m.move is not None
    )
    return Traces(
        time=time,
        segment=bench.even.segment,
        angular_rate=bench.body.angular_rate,
        specific_force=bench.body.specific_force,
        attitude=angles_from_matrix(matrix_from_quaternion(bench.attitude.quaternion)),
        rests=rests,
        motions=motions,
    )
