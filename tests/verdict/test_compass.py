"""The compass's axes are named by the field's turning, up to one common sign that only the hemisphere can tell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.geometry.directions import axis_words
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS, matrix_from_angles
from benchrig.job import judge
from benchrig.outcome import Outcome
from benchrig.verdict.bench import measure_bench
from benchrig.verdict.compass import weigh_compass
from benchrig.verdict.compass_judgement import judge_compass
from benchrig.verdict.limits import WRONG
from benchrig.verdict.response import real_motion

MOTIONS = ("nose up", "nose down", "roll right", "roll left", "yaw right", "yaw left")
DECLARED = {"x": "forward", "y": "right", "z": "down"}
SIDES = (None, "north", "south")


def on(side, airframe):
    return replace(airframe, magnetometer=replace(airframe.magnetometer, hemisphere=side))


@pytest.fixture(scope="module")
def dunlin(demo_airframe):
    return demo_airframe("dunlin")


@pytest.fixture(scope="module")
def bench(dunlin, simulated_recording):
    """Measure a right bench of the dunlin, whose compass reads in body axes; its file says north."""
    return measure_bench(dunlin, simulated_recording("dunlin"))


def reading(bench, field, side="north"):
    """Exchange what the compass read, and the side of the magnetic equator."""
    return replace(bench, even=replace(bench.even, magnetic_field=field), airframe=on(side, bench.airframe))


def painted(bench, dip_deg, iron=(0.0, 0.0, 0.0)):
    """Give the readings of a perfect compass in a field of 40 µT, T, shape (N, 3)."""
    dip = np.radians(dip_deg)
    field = 40e-6 * np.array([np.cos(dip), 0.0, np.sin(dip)])
    return np.einsum("nij,i->nj", matrix_from_angles(real_motion(bench)[:, 3:]), field) + np.asarray(iron)


def outcomes(judgement):
    return {cell.outcome for cell in judgement.cells}


def codes(findings):
    return [finding.code for finding in findings]


@pytest.mark.parametrize("side", ["north", "south"])
def test_each_of_the_48_axis_maps_is_named(bench, side):
    # turned round as a whole, the northern field points up, as the southern one does
    field = bench.even.magnetic_field * (1 if side == "north" else -1)
    for k, wiring in enumerate(SIGNED_PERMUTATIONS):
        judged = judge_compass(reading(bench, field @ wiring, side), MOTIONS)
        assert np.array_equal(judged.wiring.found, wiring), k
        assert judged.wiring.probability > 1 - WRONG
        assert judged.wiring.outcome is (Outcome.FAIL if k else Outcome.PASS)
        assert Outcome.PASS not in outcomes(judged) or Outcome.FAIL in outcomes(judged) or k == 0


def test_without_the_hemisphere_no_axis_map_passes_and_only_the_opposite_of_the_declared_one_does_not_fail(bench):
    unfailed = []
    for wiring in SIGNED_PERMUTATIONS:
        judged = judge_compass(reading(bench, bench.even.magnetic_field @ wiring, None), MOTIONS)
        assert Outcome.PASS not in outcomes(judged)
        assert all(cell.required == (cell.outcome is Outcome.FAIL) for cell in judged.cells)
        assert judged.wrong == 0.0
        if judged.wiring.outcome is not Outcome.FAIL:
            unfailed.append(wiring.tolist())
            assert codes(judged.findings) == ["compass-not-judged"]
            assert "common sign" in judged.findings[0].text
            assert "hemisphere" in judged.findings[0].fix
    assert unfailed == [np.eye(3).tolist(), (-np.eye(3)).tolist()]


def test_a_wrong_map_fails_the_motions_that_move_a_wrong_channel_and_no_other(bench):
    mirrored = judge_compass(reading(bench, bench.even.magnetic_field * [-1, 1, 1]), MOTIONS)
    failed = {cell.motion for cell in mirrored.cells if cell.outcome is Outcome.FAIL}
    assert failed == set(MOTIONS) - {"roll right", "roll left"}
    said = {cell.motion: (cell.expected, cell.observed) for cell in mirrored.cells}
    assert said["yaw right"] == ("+mx +my", "-mx +my")
    assert said["roll left"] == ("+my +mz", "+my +mz")


@pytest.mark.parametrize(
    ("side", "dip", "opposite"), [("north", 60, False), ("south", 60, True), ("south", -60, False)]
)
def test_the_side_of_the_magnetic_equator_decides_the_common_sign(bench, side, dip, opposite):
    wiring = judge_compass(reading(bench, painted(bench, dip), side), MOTIONS).wiring
    assert axis_words(wiring.found) == ({"x": "aft", "y": "left", "z": "up"} if opposite else DECLARED)


@pytest.mark.parametrize("dip", [-8, 0, 8])
def test_near_the_magnetic_equator_the_sign_is_not_shown(bench, dip):
    judged = judge_compass(reading(bench, painted(bench, dip)), MOTIONS)
    assert outcomes(judged) == {Outcome.NOT_SHOWN}
    assert all(cell.required for cell in judged.cells)
    assert codes(judged.findings) == ["compass-not-shown"]


@pytest.mark.parametrize("dip", [25, 45, 80])
def test_at_an_ordinary_dip_it_is_shown(bench, dip):
    assert outcomes(judge_compass(reading(bench, painted(bench, dip)), MOTIONS)) == {Outcome.PASS}


def test_the_fit_finds_field_and_dip_under_the_iron_of_the_airframe(bench):
    weighed = weigh_compass(reading(bench, painted(bench, 60, iron=(2e-4, -1e-4, 3e-4))), bench.airframe.magnetometer)
    assert weighed.field == pytest.approx(40e-6, rel=0.02)
    assert np.degrees(weighed.dip) == pytest.approx(60, abs=3)
    assert weighed.probability[0] > 1 - WRONG


@pytest.mark.parametrize(
    "spoil",
    [
        lambda field: field + np.array([2e-4, -1e-4, 3e-4]),
        lambda field: field @ np.array([[1.1, 0.05, 0.0], [0.05, 0.95, 0.0], [0.0, 0.0, 1.0]]),
        lambda field: np.where(np.arange(len(field))[:, None] % 10 == 0, field, np.nan),
        lambda field: field[np.arange(len(field)) // 10 * 10],
    ],
    ids=["strong iron", "unlike gains", "ten readings a second, else nothing", "ten readings a second, held"],
)
def test_what_an_ordinary_compass_does_leaves_the_pass_standing(bench, spoil):
    assert outcomes(judge_compass(reading(bench, spoil(bench.even.magnetic_field)), MOTIONS)) == {Outcome.PASS}


@pytest.mark.parametrize(
    ("spoil", "reason"),
    [
        (lambda field: np.tile(field[:1], (len(field), 1)), "unit, range or channel"),
        (lambda field: field * 100, "unit, range or channel"),
        (lambda field: np.random.default_rng(1).permutation(field), "µT"),
        (lambda field: field + 4e-5 * np.sin(np.arange(len(field)) / 150)[:, None], "does not follow the turns"),
        (lambda field: np.full_like(field, np.nan), "no unbroken stretch"),
    ],
    ids=["frozen", "a wrong unit", "shuffled", "a current that comes and goes", "blank"],
)
def test_a_field_that_does_not_turn_with_the_airframe_is_neither_a_pass_nor_a_fail(bench, spoil, reason):
    judged = judge_compass(reading(bench, spoil(bench.even.magnetic_field)), MOTIONS)
    assert outcomes(judged) == {Outcome.NOT_SHOWN}
    assert all(cell.required and cell.observed is None and reason in cell.reason for cell in judged.cells)
    assert codes(judged.findings) == ["compass-not-shown"]


def test_no_wrong_map_passes_and_the_right_one_does_not_fail_whatever_the_iron_does_to_the_gains(bench):
    # seeded: iron turns and stretches what is read by 10 % (one standard deviation of each of nine numbers)
    rng = np.random.default_rng(20)
    for _ in range(60):
        gains = np.eye(3) + rng.normal(0.0, 0.1, (3, 3))
        field = bench.even.magnetic_field @ gains + rng.normal(0.0, 5e-5, 3)
        assert judge_compass(reading(bench, field), MOTIONS).wiring.outcome is not Outcome.FAIL
        wrong = SIGNED_PERMUTATIONS[rng.integers(1, 48)]
        assert judge_compass(reading(bench, field @ wrong), MOTIONS).wiring.outcome is not Outcome.PASS


def test_one_channel_dead_is_never_a_pass(bench):
    for axis in range(3):
        field = np.array(bench.even.magnetic_field)
        field[:, axis] = field[0, axis]
        assert judge_compass(reading(bench, field), MOTIONS).wiring.outcome is not Outcome.PASS


def test_turns_about_the_vertical_alone_do_not_show_the_compass(demo_airframe, simulated_recording):
    recording = simulated_recording("dunlin", motions=("level", "yaw right", "yaw left", "yaw right", "level"))
    judged = judge_compass(measure_bench(demo_airframe("dunlin"), recording), MOTIONS)
    assert outcomes(judged) == {Outcome.NOT_SHOWN}


def test_after_a_gap_the_longer_stretch_decides(bench):
    half = len(bench.even.time) // 3
    cut = reading(bench, bench.even.magnetic_field)
    cut = replace(cut, even=replace(cut.even, segment=(np.arange(len(cut.even.time)) >= half).astype(np.int64)))
    broken = np.array(bench.even.magnetic_field)
    broken[:half] *= -1
    judged = judge_compass(replace(cut, even=replace(cut.even, magnetic_field=broken)), MOTIONS)
    assert judged.wiring.outcome is Outcome.PASS


@pytest.mark.parametrize(
    "fault", ["magnetometer-sign=x", "magnetometer-sign=xyz", "magnetometer-mounting=aft,left,down"]
)
def test_a_simulated_fault_of_the_compass_alone_fails_the_bench_and_is_named(dunlin, simulated_recording, fault):
    record = judge(dunlin, simulated_recording("dunlin", fault, seed=2))
    assert record.verdict is record.sensing is Outcome.FAIL
    assert record.gyro.outcome is record.accelerometer.outcome is Outcome.PASS
    assert [f.code for f in record.findings if f.severity == "fail"] == ["compass-axes-differ"]
    named = {
        "magnetometer-sign=x": "its x axis reads along aft, the file says forward.",
        "magnetometer-sign=xyz": "its z axis reads along up, the file says down.",
        "magnetometer-mounting=aft,left,down": "its y axis reads along left, the file says right",
    }
    assert named[fault] in record.findings[0].text


def test_a_right_bench_passes_with_the_compass_and_says_how_sure_it_is(dunlin, simulated_recording):
    record = judge(dunlin, simulated_recording("dunlin"))
    cells = [cell for cell in record.matrix if cell.check == "magnetometer"]
    assert record.verdict is Outcome.PASS
    assert [cell.motion for cell in cells] == list(MOTIONS)
    assert all(cell.required and cell.outcome is Outcome.PASS and cell.wrong_pass_bound < WRONG for cell in cells)
    assert all(5 < cell.size < 60 and cell.unit == "uT" for cell in cells)
    assert "compass" in record.limits


def test_without_the_hemisphere_the_bench_passes_on_the_unit_alone_and_says_so(dunlin, simulated_recording):
    record = judge(on(None, dunlin), simulated_recording("dunlin"))
    assert record.verdict is Outcome.PASS
    assert [(f.code, f.severity) for f in record.findings] == [("compass-not-judged", "advice")]
    opposite = [wiring.tolist() for wiring in record.magnetometer.also_possible]
    assert opposite == [(-record.magnetometer.found).tolist()]


def test_a_compass_that_does_not_follow_keeps_the_bench_from_passing(dunlin, simulated_recording):
    recording = simulated_recording("dunlin")
    still = replace(recording, magnetic_field=np.tile(recording.magnetic_field[:1], (len(recording.time), 1)))
    assert judge(dunlin, still).verdict is Outcome.NOT_SHOWN


@pytest.mark.parametrize("side", SIDES)
def test_a_declared_compass_that_was_not_recorded_is_advice(dunlin, simulated_recording, side):
    record = judge(on(side, dunlin), replace(simulated_recording("dunlin"), magnetic_field=None))
    assert record.verdict is Outcome.PASS
    assert record.magnetometer is None
    assert [(f.code, f.severity) for f in record.findings] == [("compass-not-judged", "advice")]
    assert "no columns" in record.findings[0].text


def test_a_recorded_compass_that_is_not_declared_is_left_alone(dunlin, simulated_recording):
    record = judge(replace(dunlin, magnetometer=None), simulated_recording("dunlin"))
    assert record.verdict is Outcome.PASS
    assert not record.findings
    assert record.magnetometer is None
    assert not any(cell.check == "magnetometer" for cell in record.matrix)


@pytest.mark.parametrize("fault", ["gyro-sign=y", "accelerometer-sign=x", "mounting=forward,right,down"])
def test_a_fault_of_the_unit_does_not_blame_the_compass(dunlin, simulated_recording, fault):
    record = judge(dunlin, simulated_recording("dunlin", fault))
    assert record.verdict is Outcome.FAIL
    assert "compass-axes-differ" not in codes(record.findings)
    assert record.magnetometer.found.tolist() == np.eye(3).tolist()


def test_where_the_unit_is_not_sure_itself_the_compass_is_not_shown(bench):
    open_ = replace(bench.wirings, log_probability=np.full((48, 48), -np.log(2304.0)))
    judged = judge_compass(replace(bench, wirings=open_), MOTIONS)
    assert outcomes(judged) == {Outcome.NOT_SHOWN}
    assert "unit's own axes" in judged.findings[0].fix


def test_a_compass_that_is_not_square_to_the_airframe_is_judged_by_its_rotation(bench):
    turn = matrix_from_angles(np.radians([10.0, 20.0, 30.0]))
    askew = replace(bench.airframe, magnetometer=replace(bench.airframe.magnetometer, body_from_sensor=turn))
    askew_bench = replace(reading(bench, bench.even.magnetic_field @ turn), airframe=askew)
    assert outcomes(judge_compass(askew_bench, MOTIONS)) == {Outcome.PASS}
    wrong = replace(reading(bench, bench.even.magnetic_field @ turn @ np.diag([-1.0, 1.0, 1.0])), airframe=askew)
    judged = judge_compass(wrong, MOTIONS)
    assert judged.wiring.outcome is Outcome.FAIL
    assert "against its declared rotation" in judged.findings[0].text


@pytest.mark.parametrize("every", [2, 7])
def test_a_compass_slower_than_the_gyro_is_judged_by_the_rows_it_fills(dunlin, simulated_recording, every):
    recording = simulated_recording("dunlin")
    field = recording.magnetic_field.copy()
    field[np.arange(len(field)) % every != 0] = np.nan
    record = judge(dunlin, replace(recording, magnetic_field=field))
    assert record.verdict is record.magnetometer.outcome is Outcome.PASS
