"""The sensor's declared place held against what a turntable or a swing shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import Vector
from benchrig.measure.guard_band import DEVIATIONS
from benchrig.measure.lever.arm import LeverEstimate, lever_arm_of
from benchrig.measure.lever.judgement import SIDE, SMALLEST_SIDE, findings, has_sure_side, is_declared, judged
from benchrig.outcome import Finding, Outcome, worst
from benchrig.verdict.bench import Bench
from benchrig.verdict.record import SIDE_ALONE, LeverArm

Three = tuple[float | None, float | None, float | None]

_MM: Final = 1e3
LIMIT_IN_WORDS: Final = (
    f"on its declared side of the CG by {SIDE:g} standard deviations, where {SMALLEST_SIDE * _MM:g} mm or more are "
    f"declared; not outside its tolerance by {DEVIATIONS:g} standard deviations; an axis along a spin does not count"
)
_UNWIRED: Final = "the unit's axes must first be shown to be as declared: turned axes turn the measured place too"
_BY_HAND: Final = "hand motions do not show the sensor's place: the hand itself moves"


def judge_place(bench: Bench, wired: Outcome) -> tuple[LeverArm, tuple[Finding, ...]]:
    """Judge where the sensor sits, where the capture has a turntable or a swing about a fixed point.

    An axis that cannot be told, as the one along a spin's own axis, stays None and takes nothing from the others.

    Parameters
    ----------
    bench : Bench
    wired : Outcome
        Whether both sensors are wired as declared: axes turned in their place turn the measured place as much.

    Returns
    -------
    lever_arm : LeverArm
        NOT_APPLICABLE where nothing in the capture could show it from the CG.
    findings : tuple of Finding
    """
    recording, sensor = bench.recording, bench.airframe.sensor
    if recording.turntable is None and recording.swing_pivot is None:
        return _untold(sensor.lever_arm, _BY_HAND), ()
    if wired is not Outcome.PASS:
        return _untold(sensor.lever_arm, _UNWIRED, Outcome.NOT_SHOWN), ()
    found = lever_arm_of(
        bench.airframe,
        bench.even,
        bench.stillness,
        turntable=recording.turntable,
        swing_pivot=recording.swing_pivot,
        prompts=recording.prompts,
        name=recording.manifest.name,
    )
    pivot_known = recording.swing_pivot is not None or getattr(recording.turntable, "pivot", None) is not None
    told = findings(found, sensor)
    if not pivot_known:
        reason = "the manifest does not say where the pivot lies from the CG (pivot_mm)"
        # what is odd about the spin stays worth a word, but no verdict rests on a place that cannot be told
        return _untold(sensor.lever_arm, reason), tuple(replace(f, severity="advice") for f in told)
    outcome = _outcome(found, sensor, told)
    why = _why(found, side_alone=outcome is Outcome.PASS and _is_coarse(found, sensor))
    return LeverArm(outcome, sensor.lever_arm * _MM, _three(found.value), _three(found.uncertainty), why), told


def _outcome(found: LeverEstimate, sensor: Sensor, told: Sequence[Finding]) -> Outcome:
    axes = np.flatnonzero(np.isfinite(found.value))
    doubts = [Outcome(f.severity) for f in told if f.severity != "advice"]
    if not is_declared(sensor) and len(axes) and not doubts:
        return Outcome.NOT_APPLICABLE
    return worst([*(_along(found, sensor, int(axis)) for axis in axes), *doubts])


def _along(found: LeverEstimate, sensor: Sensor, axis: int) -> Outcome:
    """Judge one axis: its side must be sure where it was declared to have one, its size not surely out of tolerance."""
    value, spread = float(found.value[axis]), float(found.uncertainty[axis])
    declared = float(sensor.lever_arm[axis])
    outcome, _, _ = judged(value, spread, declared, sensor.position_tolerance)
    if outcome not in {Outcome.PASS, Outcome.NOT_SHOWN}:
        return outcome
    sure_side = abs(declared) < SMALLEST_SIDE or has_sure_side(value, spread)
    return Outcome.PASS if sure_side else Outcome.NOT_SHOWN


def place_limits(place: LeverArm) -> Mapping[str, str]:
    """Give the rule in words, where it was used."""
    return {} if place.outcome is Outcome.NOT_APPLICABLE else {"place of the unit": LIMIT_IN_WORDS}


def _untold(declared: Vector, reason: str, outcome: Outcome = Outcome.NOT_APPLICABLE) -> LeverArm:
    nothing = (None, None, None)
    return LeverArm(outcome, declared * _MM, nothing, nothing, reason)


def _three(values: Vector) -> Three:
    forward, right, down = (float(v) * _MM if np.isfinite(v) else None for v in values)
    return forward, right, down


def _is_coarse(found: LeverEstimate, sensor: Sensor) -> bool:
    """Whether an axis passes on its side alone: its uncertainty reaches across the tolerance."""
    return any(
        judged(
            float(found.value[axis]),
            float(found.uncertainty[axis]),
            float(sensor.lever_arm[axis]),
            sensor.position_tolerance,
        )[0]
        is Outcome.NOT_SHOWN
        for axis in np.flatnonzero(np.isfinite(found.value))
    )


def _why(found: LeverEstimate, *, side_alone: bool) -> str:
    reasons = [SIDE_ALONE] if side_alone else []
    return "; ".join(dict.fromkeys([*reasons, *(reason for reason in found.reason if reason)]))
