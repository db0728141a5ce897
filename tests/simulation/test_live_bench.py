"""The bench that runs on: it does what it is asked when it is asked, and else is the bench that `simulate` makes."""

import itertools

import numpy as np
import pytest

from benchrig.errors import UsageError
from benchrig.geometry.turns import REQUIRED_TURNS, TURNS
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import Fault, Faults
from benchrig.simulation.live_bench import SETTLED_S, LiveBench
from benchrig.simulation.live_hand import LIVE_MOTIONS, REACTION_S
from benchrig.simulation.live_unit import zeroed
from benchrig.simulation.options import Options
from benchrig.simulation.pulse_program import program_of
from benchrig.simulation.pulses import pulses
from benchrig.simulation.unit import estimate


def columns_of(bench, rows, role):
    (group,) = (group for group in bench.groups if group.role == role)
    return rows[:, [bench.columns.index(name) for name in group.names]]


def run_of(bench, motions):
    """Ask for each motion once the one before is over."""
    rows = [bench.rows(3.0)]
    for motion in motions:
        bench.ask(motion)
        while not bench.is_idle:
            rows.append(bench.rows(0.25))
    return np.concatenate(rows)


def test_it_lies_still_until_it_is_asked(helicopter):
    bench = LiveBench(helicopter, seed=4)
    rows = bench.rows(5.0)
    assert len(rows) == pytest.approx(500, abs=1)
    assert columns_of(bench, rows, "gyro").std(axis=0).max() < 0.2
    assert rows[0, 0] == pytest.approx(SETTLED_S * 1e6, abs=2e4)
    assert np.all(np.diff(rows[:, 0]) > 0)


@pytest.mark.parametrize("motion", REQUIRED_TURNS)
def test_it_makes_the_motion_that_it_is_asked_for_after_a_person_s_reaction(multirotor, motion):
    bench = LiveBench(multirotor, seed=5)
    bench.rows(3.0)
    asked_at = bench.now
    made = bench.ask(motion)
    axis, sign = TURNS[motion]
    assert REACTION_S[0] <= made.start - asked_at <= REACTION_S[1]
    rows = bench.rows(made.held + 0.2 - asked_at)
    # the multirotor's unit sits as the airframe's axes do, so the gyro's columns are roll, pitch and yaw
    rate = columns_of(bench, rows, "gyro")
    time = rows[:, 0] * 1e-6
    still = rate[time < asked_at + 0.5].mean(axis=0)
    turned = np.sum((rate - still) * np.diff(time, prepend=asked_at)[:, None], axis=0)
    assert sign * turned[axis] > 20


def test_the_rows_do_not_depend_on_how_they_are_fetched(aeroplane):
    def fetched(step):
        bench = LiveBench(aeroplane, seed=6)
        rows = []
        for second in range(12):
            if second == 2:
                bench.ask("nose up")
            rows += [bench.rows(step) for _ in range(round(1 / step))]
        return np.concatenate(rows)

    np.testing.assert_array_equal(fetched(1.0), fetched(1 / 16))


def test_what_was_already_given_does_not_change_by_what_is_asked_later(helicopter):
    late = (Fault("accelerometer-late", "-500"),)
    asked, left = LiveBench(helicopter, 7, late), LiveBench(helicopter, 7, late)
    np.testing.assert_array_equal(asked.rows(4.0), left.rows(4.0))
    made = asked.ask("roll left")
    both = [bench.rows(made.start - 0.7 - bench.now) for bench in (asked, left)]
    np.testing.assert_array_equal(*both)


def test_the_unit_that_goes_on_in_blocks_is_the_unit_of_a_whole_bench(helicopter):
    faults = Faults((Fault("servos-late", "400"),))
    whole = simulate(helicopter, seed=8, faults=faults.chosen)
    unit = zeroed(whole.time, whole.gyro, helicopter, faults, 100.0)
    cuts = [0, 200, 217, 500, 503, 2000, len(whole.time)]
    made = [unit.go_on(whole.time[a:b], whole.gyro[a:b], whole.accelerometer[a:b]) for a, b in itertools.pairwise(cuts)]
    attitude = np.concatenate([believed.attitude for believed, _ in made])
    at_once = estimate(whole.time, whole.gyro, whole.accelerometer, helicopter)
    np.testing.assert_allclose(attitude, at_once.attitude, atol=1e-4)
    expected = pulses(at_once, helicopter, faults, program_of((), helicopter, faults, 0.0))
    for name, pulse in expected.items():
        np.testing.assert_allclose(np.concatenate([sent[name] for _, sent in made]), pulse, atol=1)


def test_a_motion_that_no_hand_makes_is_refused_with_those_that_one_does(helicopter):
    bench = LiveBench(helicopter, seed=1)
    with pytest.raises(UsageError, match=r'"\\u001b\[2J": is no motion that a hand makes'):
        bench.ask("\x1b[2J")
    with pytest.raises(UsageError, match=r'"turntable clockwise": is no motion that a hand makes; expected one of: .*'):
        bench.ask("turntable clockwise")


@pytest.mark.parametrize("motion", LIVE_MOTIONS)
def test_every_motion_that_can_be_asked_for_ends_with_the_airframe_at_rest(multirotor, motion):
    bench = LiveBench(multirotor, seed=9)
    made = bench.ask(motion)
    assert made.asked == motion
    bench.rows(bench.busy_until + 0.2 - bench.now)
    assert bench.is_idle
    assert columns_of(bench, bench.rows(1.0), "gyro").std(axis=0).max() < 0.2


def test_an_operator_who_is_asked_twice_makes_one_motion_after_the_other(multirotor):
    bench = LiveBench(multirotor, seed=10)
    first, second = bench.ask("nose up"), bench.ask("nose down")
    assert second.start > first.back
    assert [made.asked for made in bench.made] == ["nose up", "nose down"]


def test_faults_of_the_operator_the_wiring_and_the_logging_are_those_of_a_whole_bench(multirotor):
    faults = [
        Fault("operator-wrong", "nose up"),
        Fault("gyro-frozen", "z"),
        Fault("frozen-stream", "9"),
        Fault("gaps", "1"),
    ]
    bench = LiveBench(multirotor, 11, faults)
    made = bench.ask("nose up")
    rows = bench.rows(12.0)
    time = rows[:, 0] * 1e-6
    assert made.done == "nose down"
    assert len(np.unique(columns_of(bench, rows, "gyro")[:, 2])) == 1
    assert len(np.unique(rows[time > SETTLED_S + 9.1, 1:], axis=0)) == 1
    assert np.diff(time).max() == pytest.approx(0.2, abs=0.03)
    middle = time[np.argmax(np.diff(time))] + 0.1
    assert made.start < middle < made.held


def test_a_motion_left_out_by_a_fault_is_not_made(multirotor):
    bench = LiveBench(multirotor, 12, [Fault("motion-missing", "free")])
    assert bench.ask("free") is None
    assert bench.is_idle


def test_an_airframe_that_is_never_put_down_goes_on_shaking_in_the_hand(multirotor):
    bench = LiveBench(multirotor, 13, [Fault("hand-rests")])
    bench.ask("nose up")
    run_of(bench, ["nose up"])
    assert columns_of(bench, bench.rows(4.0), "gyro").std(axis=0).min() > 0.4


def test_a_drop_is_a_jolt_that_a_hand_does_not_make(multirotor):
    bench = LiveBench(multirotor, 14)
    start = bench.drop()
    rows = bench.rows(start + 1.0 - bench.now)
    assert np.linalg.norm(columns_of(bench, rows, "accelerometer"), axis=1).max() > 2.0
    assert columns_of(bench, bench.rows(1.0), "gyro").std(axis=0).max() < 0.2


def test_what_the_operator_saw_is_told_of_motions_that_are_over(helicopter):
    bench = LiveBench(helicopter, 15, options=Options(slop_deg=3.0, pulses=False))
    run_of(bench, ["nose up", "roll right"])
    bench.ask("yaw left")
    assert {look.motion for look in bench.sights()} == {"nose up", "roll right"}
    (front,) = (look for look in bench.sights() if (look.motion, look.actuator) == ("nose up", "front"))
    assert front.moved == "plate down"  # which lowers the nose again
