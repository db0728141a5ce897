"""Records of benches as the judge would write them, for the tests of every report: right, wrong, doubtful, hostile."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from benchrig.capture.recording import Prompt, Recording
from benchrig.cautions import CAUTIONS
from benchrig.declaration.actuators import (
    Actuator,
    plate_effect,
    rotor_effect,
    scaled,
    surface_effect,
    tail_effect,
)
from benchrig.declaration.airframe import Airframe, Magnetometer, Rotor, Sensor, Source
from benchrig.geometry.directions import body_from_sensor, position
from benchrig.geometry.turns import AXIS_NAMES, RATE_NAMES, REQUIRED_TURNS, TURNS
from benchrig.outcome import Finding, Outcome
from benchrig.verdict.record import (
    ActuatorJudgement,
    BenchRecord,
    Cell,
    Health,
    LeverArm,
    Misalignment,
    Span,
    Traces,
    WiringFound,
)

PASS, FAIL, OPEN, NONE = Outcome.PASS, Outcome.FAIL, Outcome.NOT_SHOWN, Outcome.NOT_APPLICABLE
DIGEST = "9f2c41d07a5be8836c14f0a2d97b3e5518c6aa4470bd92e1f3056b8c7d1e4a2f"
SERVOS = {"front": 0.0, "right rear": 120.0, "left rear": 240.0}


# --- what was declared -------------------------------------------------------------------------------------------


def servo(name: str, azimuth_deg: float) -> Actuator:
    effect = scaled(plate_effect(np.radians(azimuth_deg), 0.0, "clockwise"))
    moves = {"plate up": effect, "plate down": -effect}
    return Actuator(name, "swashplate", "plate up", effect, 1520e-6, np.radians(azimuth_deg), None, None, moves)


def tail(name: str = "tail") -> Actuator:
    moves = {word: tail_effect(word, "clockwise") for word in ("nose left", "nose right", "more thrust", "less thrust")}
    return Actuator(name, "tail rotor", "nose left", moves["nose left"], 760e-6, None, None, None, moves)


def surface(name: str, drives: str, word: str) -> Actuator:
    effect = surface_effect(drives, word)
    return Actuator(name, drives, word, effect, 1500e-6, None, None, None, {word: effect})


def rotor(name: str, angle_deg: float, reach: float, turns: str) -> Actuator:
    place = reach * np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg)), 0.0])
    effect = scaled(rotor_effect(place, turns))
    moves = {"more thrust": effect, "less thrust": -effect}
    return Actuator(name, "rotor", "more thrust", effect, 1500e-6, None, place, turns, moves)


def airframe(name: str, kind: str, actuators: tuple[Actuator, ...], **sensor: object) -> Airframe:
    mounting = {
        "body_from_sensor": body_from_sensor({"x": "aft", "y": "left", "z": "down"}),
        "lever_arm": position({"aft": 0.180, "up": 0.025}),
    } | sensor
    return Airframe(
        name=name,
        kind=kind,
        sensor=Sensor(
            position_tolerance=0.005, reads="specific force", gyro_range=None, accelerometer_range=None, **mounting
        ),
        magnetometer=None,
        clearances={},
        rotor=Rotor("clockwise", 0.0) if kind == "helicopter" else None,
        actuators=actuators,
        required_motions=REQUIRED_TURNS,
        source=Source(Path("captures/dunlin.toml"), DIGEST[::-1]),
    )


def helicopter() -> Airframe:
    servos = tuple(servo(name, azimuth) for name, azimuth in SERVOS.items())
    return airframe("Dunlin 450", "helicopter", (*servos, tail()))


# --- what was recorded -------------------------------------------------------------------------------------------


def traces(rate_hz: float = 200.0, motions: tuple[str, ...] = REQUIRED_TURNS, *, gap: bool = True) -> Traces:
    """Six hand moves out and back, on bench-quiet rests, with a gap of 0.4 s in the last rest."""
    end = 4.0 + 5.0 * len(motions)
    time = np.arange(0.0, end, 1 / rate_hz)
    random = np.random.default_rng(3)
    angles = np.zeros((len(time), 3))
    spans, rests = [], [Span(0.0, 3.0, "bench")]
    for index, motion in enumerate(motions):
        axis, sign = TURNS[motion]
        start = 3.0 + 5.0 * index
        out = np.interp(time, [start, start + 1.0, start + 2.2, start + 3.2], [0, 1, 1, 0])
        angles[:, axis] += sign * np.radians(38.0) * 0.5 * (1 - np.cos(np.pi * out))
        spans.append(Span(start, start + 2.2, motion))
        rests += [Span(start + 1.1, start + 2.1, "hand"), Span(start + 3.3, start + 5.0, "bench")]
    rates = np.gradient(angles, 1 / rate_hz, axis=0)
    rates += random.normal(0.0, np.radians(0.3), angles.shape)
    roll, pitch, _ = angles.T
    force = 9.81 * np.column_stack([np.sin(pitch), -np.sin(roll) * np.cos(pitch), -np.cos(roll) * np.cos(pitch)])
    force += random.normal(0.0, 0.08, force.shape)
    keep = ~((time > end - 1.0) & (time < end - 0.6)) if gap else np.ones(len(time), dtype=bool)
    segment = np.where(time > end - 0.8, 1, 0) if gap else np.zeros(len(time), dtype=int)
    kept = (time[keep], segment[keep], rates[keep], force[keep], angles[keep])
    return Traces(*kept, rests=tuple(rests), motions=tuple(spans))


def recording(drawn: Traces, **changes: object) -> Recording:
    prompts = tuple(Prompt(s.label, s.start, s.end, "dunlin-ok.toml:14") for s in drawn.motions)
    plain = Recording(
        time=drawn.time,
        angular_rate=drawn.angular_rate,
        acceleration=drawn.specific_force,
        magnetic_field=None,
        unit_attitude=None,
        temperature=None,
        pulses={},
        prompts=prompts,
        seen=(),
        commands={},
        swing_pivot=None,
        turntable=None,
        gyro_full_scale=None,
        accelerometer_full_scale=None,
        recorded=datetime(2026, 11, 25, 10, 0, tzinfo=UTC),
        operator="R. Vane",
        temperature_at_bench=21.5,
        stream=Path("captures/dunlin-ok.csv"),
        manifest=Path("captures/dunlin-ok.toml"),
        sha256=DIGEST,
        history=(),
    )
    return replace(plain, **changes)


# --- what was judged ---------------------------------------------------------------------------------------------


def expected(motion: str, check: str) -> str | None:
    axis, sign = TURNS[motion]
    if check == "accelerometer":
        return None if axis == 2 else ("-fy", "+fx")[axis] if sign > 0 else ("+fy", "-fx")[axis]
    name = RATE_NAMES[axis] if check == "gyro" else AXIS_NAMES[axis]
    return f"{'+' if sign > 0 else '-'}{name}"


def turned(symbol: str | None) -> str | None:
    return None if symbol is None else ("-" if symbol[0] == "+" else "+") + symbol[1:]


def sensing_cell(motion: str, check: str, outcome: Outcome = PASS) -> Cell:
    want = expected(motion, check)
    if want is None:
        reason = "gravity says nothing of a turn about the vertical"
        return Cell(motion, check, NONE, False, "recorded", None, None, None, "deg", None, None, reason)
    saw = {PASS: want, FAIL: turned(want), OPEN: None}[outcome]
    size, spread = (37.94, 0.43) if outcome is not OPEN else (None, None)
    reason = {
        PASS: f"the net turn is {saw}, as declared",
        FAIL: f"the net turn is {saw}, where the declared mounting gives {want}",
        OPEN: "the airframe turned by 11°; a motion counts from 20°",
    }[outcome]
    bound = {PASS: 4.1e-9, FAIL: 1.0, OPEN: 0.21}[outcome]
    return Cell(motion, check, outcome, True, "recorded", want, saw, size, "deg", spread, bound, reason)


def answer(actuator: Actuator, motion: str) -> str:
    axis, sign = TURNS[motion]
    push = float(actuator.effect[axis])
    if abs(push) < 1e-6:
        return "still"
    opposite = {
        "plate up": "plate down", "nose left": "nose right", "more thrust": "less thrust",
        "trailing edge up": "trailing edge down", "trailing edge left": "trailing edge right",
    }  # fmt: skip
    opposite |= {word: plain for plain, word in opposite.items()}
    return actuator.longer_pulse if push * sign < 0 else opposite[actuator.longer_pulse]


def actuator_cell(actuator: Actuator, motion: str, outcome: Outcome = PASS, *, seen: bool = False) -> Cell:
    want = answer(actuator, motion)
    other = {"plate up": "plate down", "plate down": "plate up", "nose left": "nose right", "nose right": "nose left"}
    saw = {PASS: want, FAIL: other.get(want, "still"), OPEN: None}[outcome]
    size, spread, bound = (112.4, 3.8, 2e-8) if outcome is PASS else (-112.4, 3.8, 1.0)
    if outcome is OPEN or seen or want == "still":
        size, spread = (None, None) if outcome is OPEN or seen else (0.8, 1.9)
    bound = 1e-2 if seen else bound
    reason = f"it went {saw}; the corrective way is {want}" if saw else "no pulse was recorded in this motion"
    how = "seen" if seen else "recorded"
    return Cell(motion, f"actuator:{actuator.name}", outcome, True, how, want, saw, size, "µs", spread, bound, reason)


def matrix(frame: Airframe, wrong: dict[str, Outcome] | None = None, **options: bool) -> tuple[Cell, ...]:
    """Judge every motion and check; `wrong` gives another outcome to a check, to a motion, or to "motion/check"."""
    wrong = wrong or {}

    def outcome(motion: str, check: str) -> Outcome:
        return wrong.get(f"{motion}/{check}", wrong.get(check, wrong.get(motion, PASS)))

    cells = []
    for motion in REQUIRED_TURNS:
        cells += [sensing_cell(motion, c, outcome(motion, c)) for c in ("gyro", "accelerometer", "attitude")]
        cells += [actuator_cell(a, motion, outcome(motion, a.name), **options) for a in frame.actuators]
    return tuple(cells)


def judged(actuator: Actuator, outcome: Outcome = PASS, finding: str = "ok") -> ActuatorJudgement:
    response = dict(zip(AXIS_NAMES, (-3.1 * actuator.effect).tolist(), strict=True))
    spread = dict.fromkeys(AXIS_NAMES, 0.05)
    if outcome is OPEN:
        return ActuatorJudgement(actuator.name, OPEN, "not shown", None, None, None, None, None, "no pulses recorded")
    reason = f"it answers as declared, after {21.0} ms" if outcome is PASS else f"it answers {finding}"
    return ActuatorJudgement(actuator.name, outcome, finding, 21.04, 0.31, None, response, spread, reason)


HEALTH = (
    Health("sample rate", PASS, 200.0, "Hz", 50.0, "samples come evenly"),
    Health("longest gap", PASS, 412.0, "ms", None, "it lies in a rest, outside every motion"),
    Health("gyro noise", PASS, 0.0112, "deg/s/√Hz", 0.05, "as a consumer unit has it"),
    Health("gyro bias", PASS, 0.83, "deg/s", 5.0, "taken at the bench-quiet rests"),
    Health("size of gravity", PASS, 1.004, "g", 1.08, "within 8 % of 1 g"),
    Health("clipped samples", PASS, 0.0, "", 0.0, "none"),
)

SOFTWARE = {
    "benchrig": "0.1.0",
    "ahrs": "0.4.0",
    "reference_filter": "Mahony, accelerometer and gyro only, k_P 1.0, k_I 0.3",
}
LIMITS = {
    "pass": "a wrong pass less likely than 1 in 1 million in each cell",
    "net turn": "20° or more",
    "rest or hold": "0.4 s or more on either side of a motion",
    "gap": "none over 50 ms inside a motion",
}


def found(matrix_: np.ndarray | None, outcome: Outcome = PASS, probability: float | None = 0.99999997) -> WiringFound:
    return WiringFound(outcome, matrix_, probability, ())


def record(frame: Airframe, cells: tuple[Cell, ...], **changes: object) -> BenchRecord:
    drawn = traces()
    declared = frame.sensor.body_from_sensor
    plain = BenchRecord(
        airframe=frame,
        recording=recording(drawn),
        verdict=PASS,
        sensing=PASS,
        correction=PASS if frame.actuators else NONE,
        wrong_pass_bound=3.1e-8,
        matrix=cells,
        gyro=found(declared),
        accelerometer=found(declared),
        magnetometer=None,
        misalignment=Misalignment(0.31, -0.82, 1.1, 0.21, 0.2, 1.5),
        lever_arm=LeverArm(
            OPEN, frame.sensor.lever_arm * 1000, (None,) * 3, (None,) * 3, "no turntable motion was recorded"
        ),
        actuators=tuple(judged(a) for a in frame.actuators),
        health=HEALTH,
        findings=(),
        next_motion=None,
        cautions=CAUTIONS,
        limits=LIMITS,
        software=SOFTWARE,
        traces=drawn,
    )
    return replace(plain, **changes)


# --- the benches -------------------------------------------------------------------------------------------------


def right_helicopter() -> BenchRecord:
    frame = helicopter()
    return record(frame, matrix(frame))


def failing_helicopter() -> BenchRecord:
    """Build a bench whose unit sits turned by 180° about the vertical, with the front servo reversed."""
    frame = helicopter()
    straight = np.eye(3)
    wrong = {f"{m}/{c}": FAIL for m in REQUIRED_TURNS[:4] for c in ("gyro", "accelerometer", "attitude")}
    wrong |= {"nose up/front": FAIL, "nose down/front": FAIL}
    judgements = tuple(judged(a, *((FAIL, "reversed") if a.name == "front" else ())) for a in frame.actuators)
    return record(
        frame,
        matrix(frame, wrong),
        verdict=FAIL,
        sensing=FAIL,
        correction=FAIL,
        wrong_pass_bound=None,
        gyro=found(straight, FAIL),
        accelerometer=found(straight, FAIL),
        actuators=judgements,
        findings=(
            Finding("small-angle", "advice", "The unit is turned by 1.1° ± 1.5° in yaw.", "Nothing needs to be done."),
            Finding(
                "mounting-differs",
                "fail",
                "The unit does not sit as declared: its x axis points forward, not aft, and its y axis right, not "
                "left. Roll and pitch are felt the wrong way round.",
                'Turn the unit by 180° on its mount, or, if it sits where you want it, declare axes = { x = "forward", '
                'y = "right", z = "down" } and set the unit to the same.',
            ),
            Finding(
                "actuator-reversed",
                "fail",
                "Servo front moves the plate up where it must go down, and down where it must go up.",
                "Reverse servo front in the unit, then run the bench again.",
            ),
        ),
        health=(
            *HEALTH[:-1],
            Health("clipped samples", FAIL, 14.0, "", 0.0, "the gyro reached its full scale in roll left"),
        ),
    )


def doubtful_helicopter() -> BenchRecord:
    """Yaw was too small to count, and the servos were watched by eye; the wiring is one of four."""
    frame = helicopter()
    declared = frame.sensor.body_from_sensor
    doubt = {"yaw right": OPEN, "yaw left": OPEN}
    mirror = np.diag([1.0, 1.0, -1.0]) @ declared
    return record(
        frame,
        matrix(frame, doubt, seen=True),
        verdict=OPEN,
        sensing=OPEN,
        correction=OPEN,
        wrong_pass_bound=None,
        gyro=WiringFound(OPEN, declared, 0.83, (mirror,)),
        accelerometer=found(declared, OPEN, 0.97),
        misalignment=None,
        actuators=tuple(judged(a, OPEN, "not shown") for a in frame.actuators),
        findings=(
            Finding(
                "motion-too-small",
                "not shown",
                "Yaw right turned the airframe by 11°; a motion counts from 20°.",
                "Do yaw right and yaw left again, by 30° or more, and hold each for half a second.",
            ),
        ),
        next_motion="yaw right",
        health=(*HEALTH[:2], Health("gyro noise", OPEN, None, "deg/s/√Hz", 0.05, "no bench-quiet rest of 2 s")),
    )


def sensor_only() -> BenchRecord:
    frame = airframe("Knot test board", "other", (), lever_arm=np.zeros(3))
    frame = replace(frame, magnetometer=Magnetometer(np.eye(3), position({"aft": 0.120, "up": 0.04})))
    return record(frame, matrix(frame), magnetometer=found(np.eye(3)))


def aeroplane() -> BenchRecord:
    surfaces = (
        surface("aileron L", "left aileron", "trailing edge up"),
        surface("aileron R", "right aileron", "trailing edge up"),
        surface("elevator", "elevator", "trailing edge up"),
        surface("rudder", "rudder", "trailing edge left"),
    )
    frame = airframe("Sanderling", "aeroplane", surfaces, lever_arm=position({"forward": 0.09, "left": 0.02}))
    return record(frame, matrix(frame))


def eight_rotors() -> BenchRecord:
    """Eight rotors with long names; one is dead."""
    names = ("front", "front right", "right", "rear right", "rear", "rear left", "left", "front left outer upper")
    turns = ("clockwise", "counter-clockwise")
    rotors = tuple(rotor(name, 45.0 * index, 0.4, turns[index % 2]) for index, name in enumerate(names))
    frame = airframe("Turnstone VIII", "multirotor", rotors, lever_arm=position({"forward": 0.04, "up": 0.03}))
    judgements = tuple(judged(a, *((FAIL, "still") if a.name == "left" else ())) for a in rotors)
    still = Finding("actuator-still", "fail", "Rotor left never moved.", "Check its wire, its plug and its channel.")
    return record(
        frame,
        matrix(frame, {"left": FAIL}),
        verdict=FAIL,
        correction=FAIL,
        actuators=judgements,
        findings=(still,),
        wrong_pass_bound=None,
    )


HOSTILE = "\x1b[2J\x1b]0;owned\x07<script>alert('x')</script> & \"q\" \u202egnp.exe \ud800 \x00 \u0085 {{ 7*7 }} ]]>"


def hostile() -> BenchRecord:
    """Every text that a file can bring in carries escape sequences, markup and letters that turn the reading round."""
    frame = airframe(HOSTILE, "helicopter", (servo(f"front{HOSTILE}", 0.0), tail("尾部" * 8)))
    plain = record(frame, matrix(frame))
    finding = Finding("mounting-differs", "fail", f"Servo {HOSTILE} is reversed.", f"Turn {HOSTILE} round.")
    return replace(
        plain,
        recording=recording(plain.traces, operator=HOSTILE, stream=Path(f"a{HOSTILE.replace(chr(0), '')}.csv")),
        findings=(finding,),
        next_motion="nose up",
        health=(Health(HOSTILE, FAIL, 1.0, HOSTILE, float("inf"), HOSTILE),),
        software=SOFTWARE | {"reference_filter": HOSTILE},
        limits={HOSTILE: HOSTILE},
        verdict=FAIL,
        sensing=FAIL,
    )


ALL = {
    "right": right_helicopter,
    "failing": failing_helicopter,
    "doubtful": doubtful_helicopter,
    "sensor-only": sensor_only,
    "aeroplane": aeroplane,
    "eight-rotors": eight_rotors,
    "hostile": hostile,
}
