"""Every named fault: that it is read, that it shows, and that it shows where it should and nowhere else."""

from dataclasses import replace

import numpy as np
import pytest

from benchrig.errors import UsageError
from benchrig.simulation.bench import simulate
from benchrig.simulation.document import manifest_text
from benchrig.simulation.fault_list import FAULTS, Number
from benchrig.simulation.faults import Fault, parse_faults
from benchrig.simulation.files import _csv
from benchrig.simulation.options import Options
from benchrig.simulation.stream import columns

VALUES = {
    "axes": "y", "two axes": "xz", "words": "right, down", "body axis": "pitch", "motion": "nose up",
    "actuator": "front", "two actuators": "front, tail", "line": "80,0.05", "none": "",
}  # fmt: skip
QUICK = Options(rate_hz=50, seen=True)


def some(name):
    kind = FAULTS[name].value
    return name if isinstance(kind, Number) or kind == "none" else f"{name}={VALUES[kind]}"


def made(airframe, *faults, options=QUICK, seed=5):
    return simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=options)


def files(bench):
    groups = columns(bench)
    return _csv(groups) + manifest_text(bench, groups, "x.csv").encode()


@pytest.fixture(scope="module")
def right_files(helicopter):
    made_already = {}

    def make(options):
        if options not in made_already:
            made_already[options] = files(made(helicopter, options=options))
        return made_already[options]

    return make


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_shows_in_the_files(name, helicopter, right_files):
    needed = FAULTS[name].needs[:1]
    options = replace(QUICK, motions=("level", *needed)) if needed else QUICK
    assert files(made(helicopter, some(name), options=options)) != right_files(options)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("gyro-sing=x", r'--fault gyro-sing=x: there is no fault "gyro-sing"; did you mean gyro-sign\?'),
        ("gyro-sign=q", r'the value "q" does not fit; expected one or more of the sensor\'s axes'),
        ("gyro-sign", r'the value "" does not fit'),
        ("gyro-swap=xx", r"expected two of the sensor's axes"),
        ("gyro-scale=big", r'"big" is no number; expected a number from 0.05 to 20'),
        ("gyro-scale=nan", r"nan is out of range"),
        ("unlevel-start=61", r"61 is out of range; expected a number from 0 to 60 deg"),
        ("mounting=aft,forward", r"expected two or three direction words"),
        ("servo-still=rudder", r'an actuator of the airframe: "front", "left rear", "right rear", "tail"'),
        ("servos-swapped=tail,tail", r"expected two actuators"),
        ("operator-wrong=level", r"expected one of: nose up, nose down"),
        ("no-rest=1", r"expected no value"),
        ("vibration=80", r'the value "80" does not fit; expected 0.5 to 5000 Hz and 0 to 50 g, such as 80,0.2'),
        ("vibration=80,x", r'the value "80,x" does not fit'),
        ("vibration=0.1,1", r'the value "0.1,1" does not fit'),
        ("vibration=80,1,2", r'the value "80,1,2" does not fit'),
    ],
)
def test_a_fault_that_does_not_fit_is_refused_with_what_is_allowed(text, message, helicopter):
    with pytest.raises(UsageError, match=message):
        parse_faults([text], helicopter)


def test_every_bad_fault_is_named_at_once(helicopter):
    with pytest.raises(UsageError) as caught:
        parse_faults(["gyro-sign=q", "nonsense", "noise=2"], helicopter)
    assert len(caught.value.problems) == 2


def test_a_compass_fault_needs_a_compass(aeroplane):
    with pytest.raises(UsageError, match="declares no magnetometer"):
        parse_faults(["magnetometer-sign=x"], aeroplane)


def test_a_fault_of_the_gyro_leaves_everything_before_the_unit_as_it_was(helicopter):
    right, wrong = made(helicopter), made(helicopter, "gyro-sign=x")
    np.testing.assert_array_equal(wrong.accelerometer, right.accelerometer)
    np.testing.assert_array_equal(wrong.time, right.time)
    assert np.corrcoef(wrong.gyro[:, 0], right.gyro[:, 0])[0, 1] < -0.99
    assert np.corrcoef(wrong.gyro[:, 1], right.gyro[:, 1])[0, 1] > 0.99


@pytest.mark.parametrize(
    ("fault", "gyro", "accelerometer"),
    [
        ("mounting=right,down", [[0, 0, 1], [1, 0, 0], [0, 1, 0]], [[0, 0, 1], [1, 0, 0], [0, 1, 0]]),
        ("gyro-swap=xy", [[0, -1, 0], [-1, 0, 0], [0, 0, 1]], np.diag([-1, -1, 1])),
        ("accelerometer-sign=z", np.diag([-1, -1, 1]), np.diag([-1, -1, -1])),
        ("both-sign=x", np.diag([1, -1, 1]), np.diag([1, -1, 1])),
        ("accelerometer-gravity", np.diag([-1, -1, 1]), np.diag([1, 1, -1])),
    ],
)
def test_the_truth_names_the_wiring_that_a_fault_makes(fault, gyro, accelerometer, helicopter):
    wiring = made(helicopter, fault).wiring
    np.testing.assert_array_equal(wiring.gyro, gyro)
    np.testing.assert_array_equal(wiring.accelerometer, accelerometer)


@pytest.mark.parametrize("fault", ["mounting=up,left", "gyro-swap=yz", "both-sign=y", "accelerometer-swap=xz"])
def test_the_named_wiring_turns_the_readings_into_the_true_motion(fault, helicopter):
    bench = made(helicopter, fault)
    rate = bench.gyro @ bench.wiring.gyro.T
    force = bench.accelerometer @ bench.wiring.accelerometer.T
    for axis in range(3):
        assert np.corrcoef(rate[:, axis], bench.truth.angular_rate[:, axis])[0, 1] > 0.98
        assert np.corrcoef(force[:, axis], bench.truth.specific_force[:, axis])[0, 1] > 0.9


@pytest.mark.parametrize(
    ("fault", "asked", "done"),
    [
        ("operator-wrong=nose up", "nose up", "nose down"),
        ("operator-wrong-pair=yaw", "yaw left", "yaw right"),
        ("operator-reversed", "roll left", "roll right"),
        ("operator-reversed", "yaw left", "yaw left"),
        ("operator-other=nose up", "nose up", "yaw right"),
    ],
)
def test_the_operator_makes_the_motion_that_the_fault_says(fault, asked, done, helicopter):
    motion = next(m for m in made(helicopter, fault).plan.motions if m.asked == asked)
    axis, sign = {"nose": 1, "roll": 0, "yaw": 2}[done.split()[0]], 1 if done.split()[1] in ("up", "right") else -1
    assert motion.done == done
    assert motion.turn[axis] * sign > np.radians(20)


def test_an_operator_who_takes_the_right_side_for_the_nose_rolls_left_for_nose_up(helicopter):
    bench = made(helicopter, "operator-nose=90", options=Options(rate_hz=50, slop_deg=0))
    turn = np.degrees(next(m for m in bench.plan.motions if m.asked == "nose up").turn)
    assert turn[0] < -20
    assert abs(turn[1]) < 1e-9


def test_a_reversed_servo_answers_the_other_way_and_the_others_as_before(helicopter):
    right, wrong = made(helicopter), made(helicopter, "servo-reversed=left rear")
    np.testing.assert_array_equal(wrong.pulses["left rear"] + right.pulses["left rear"], 2 * 1520)
    np.testing.assert_array_equal(wrong.pulses["front"], right.pulses["front"])


def test_a_reversed_linkage_leaves_the_pulses_and_turns_what_is_seen(helicopter):
    right, wrong = made(helicopter), made(helicopter, "linkage-reversed=tail")
    np.testing.assert_array_equal(wrong.pulses["tail"], right.pulses["tail"])
    assert files(wrong).count(b"more thrust") == files(right).count(b"less thrust") > 0


def test_a_plate_mixed_30_degrees_round_answers_a_pitch_with_the_wrong_side(helicopter):
    calm = Options(rate_hz=50, slop_deg=0)
    for fault, balanced in (((), True), (("plate-turned=30",), False)):
        bench = made(helicopter, *fault, options=calm)
        motion = next(m for m in bench.plan.motions if m.asked == "nose up")
        held = (bench.time > motion.held + 0.3) & (bench.time < motion.released)
        left, right = (np.median(bench.pulses[f"{side} rear"][held]) - 1520 for side in ("left", "right"))
        assert (abs(left + right) < 0.3 * abs(left - right)) == balanced


def test_gaps_are_missing_rows_and_a_late_clock_shifts_the_accelerometer_alone(helicopter):
    time = columns(made(helicopter, "gaps=2"))[0].values[:, 0]
    assert np.sum(np.diff(time) > 150e3) == 2
    right, late = made(helicopter), made(helicopter, "accelerometer-late=200")
    shifted = np.interp(right.time - 0.2, right.time, right.truth.specific_force[:, 0])
    assert np.abs(shifted - late.truth.specific_force[:, 0])[20:].mean() < 0.05
    np.testing.assert_array_equal(late.truth.angular_rate, right.truth.angular_rate)


def test_a_frozen_stream_keeps_counting_time(helicopter):
    groups = columns(made(helicopter, "frozen-stream=10"))
    late = groups[0].values[:, 0] > 10.1e6
    assert np.all(np.diff(groups[0].values[:, 0]) > 0)
    for group in groups[1:]:
        assert np.ptp(group.values[late], axis=0).max() == 0


def test_a_range_that_ends_early_clips_and_units_that_are_mistaken_differ_by_their_factor(helicopter):
    assert np.degrees(np.abs(made(helicopter, "gyro-clip=40").gyro).max()) == pytest.approx(40, abs=0.1)
    right, wrong = columns(made(helicopter)), columns(made(helicopter, "gyro-radians"))
    np.testing.assert_allclose(np.degrees(wrong[1].values), right[1].values, atol=1e-3)
    assert wrong[1].unit == "deg/s"


def test_a_fault_is_written_as_it_was_typed():
    assert str(Fault("gyro-sign", "x")) == "gyro-sign=x"
    assert str(Fault("no-rest")) == "no-rest"


@pytest.mark.parametrize(
    ("motions", "fault", "message"),
    [
        (
            ("level", "nose up"),
            "operator-wrong=yaw left",
            '"yaw left" is not among the motions; ask for it with --motion',
        ),
        (("nose up",), "motion-missing=nose up", "no motion is left"),
    ],
)
def test_a_fault_that_could_not_show_is_refused(motions, fault, message, helicopter):
    with pytest.raises(UsageError, match=message):
        made(helicopter, fault, options=Options(motions=motions))


def test_rests_in_the_hand_shake_and_the_last_one_on_the_bench_does_not(helicopter):
    bench = made(helicopter, "hand-rests", options=Options())
    ends = [m.back for m in bench.plan.motions if m.asked not in ("level", "free")]
    for end in ends:
        resting = (bench.time > end + 0.1) & (bench.time < end + 0.9)
        assert np.degrees(bench.gyro[resting].std(axis=0)).max() > 0.5
    last = bench.time > bench.plan.motions[-1].start + 0.1
    assert np.degrees(bench.gyro[last].std(axis=0)).max() < 0.15
