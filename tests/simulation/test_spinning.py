"""Turntable benches: the pull towards the axis, the shim, the posture, and what the manifest says and leaves out."""

import tomllib

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.errors import UsageError
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

G = 9.80665
SPIN = ("level", "turntable clockwise", "level")


def spun(airframe, *faults, seed=1, **options):
    options = Options(**{"motions": SPIN, "rate_hz": 50} | options)
    return simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=options)


def steady(bench, index=1):
    made = bench.plan.motions[index]
    return (bench.time > made.start + 1.5) & (bench.time < made.held - 1.5)


def mean_force(bench):
    """Average over whole turns, so that a tilted table's gravity goes round and out."""
    time = bench.time[steady(bench)]
    turn = 60 / bench.options.turntable_rpm
    whole = time < time[0] + turn * np.floor((time[-1] - time[0]) / turn)
    return bench.truth.specific_force[steady(bench)][whole].mean(axis=0)


# K7: IEC 60098:2020 table 1, and K10: ω²r towards the axis
@pytest.mark.parametrize(("rpm", "rate"), [(100 / 3, 3.490659), (45, 4.712389), (78, 8.168141)])
def test_a_sensor_is_pulled_towards_the_axis_from_wherever_it_sits(rpm, rate, helicopter):
    pivot = np.array([0.05, -0.03, 0.4])
    bench = spun(helicopter, turntable_rpm=rpm, turntable_pivot=tuple(pivot), turntable_tilt_deg=0)
    outward = bench.truth.lever_arm - pivot
    np.testing.assert_allclose(mean_force(bench)[:2], -(rate**2) * outward[:2], atol=0.006)
    assert np.linalg.norm(bench.truth.angular_rate[steady(bench)], axis=1) == pytest.approx(rate, abs=0.005)


@pytest.mark.parametrize("tilt", [1.0, 3.0])
def test_a_shim_makes_gravity_go_round_once_a_turn(tilt, helicopter):
    bench = spun(helicopter, turntable_tilt_deg=tilt, turntable_pivot=tuple(helicopter.sensor.lever_arm))
    force = bench.truth.specific_force[steady(bench), 0]
    angle = 2 * np.pi * 100 / 3 / 60 * bench.time[steady(bench)]
    fit = np.linalg.lstsq(np.column_stack([np.cos(angle), np.sin(angle), np.ones(len(angle))]), force, rcond=None)[0]
    # the bearing's own 0.03° comes on top
    assert np.hypot(*fit[:2]) / G == pytest.approx(np.sin(np.radians(tilt)), abs=np.radians(0.035))


def test_the_usual_table_leans_by_a_third_of_a_degree_and_a_tilted_bench_takes_its_place(helicopter):
    for faults, tilt in (((), 0.3), (("unlevel-start=8",), 8.0)):
        down = spun(helicopter, *faults).plan.plane.apply([0.0, 0.0, 1.0])
        assert np.degrees(np.arccos(down[2])) == pytest.approx(tilt, abs=1e-6)


# which axis of the body lies along the table's: the named part is down
@pytest.mark.parametrize(
    ("posture", "axis"),
    [
        ("level", (0, 0, 1)), ("inverted", (0, 0, -1)), ("on nose", (1, 0, 0)), ("on tail", (-1, 0, 0)),
        ("on right side", (0, 1, 0)), ("on left side", (0, -1, 0)),
    ],
)  # fmt: skip
@pytest.mark.parametrize("word", ["clockwise", "counter-clockwise"])
def test_the_airframe_turns_about_what_is_down_on_the_table(posture, axis, word, helicopter):
    bench = spun(helicopter, motions=("level", f"turntable {word}", "level"), posture=posture)
    rate = bench.truth.angular_rate[steady(bench)].mean(axis=0)
    sign = 1 if word == "clockwise" else -1
    assert np.linalg.norm(rate) == pytest.approx(200 * np.pi / 180, abs=1e-3)
    # propped up by hand: a few degrees off
    assert sign * np.array(axis) @ rate / np.linalg.norm(rate) > np.cos(np.radians(10))
    pulled = mean_force(bench) + G * sign * rate / np.linalg.norm(rate)
    outward = bench.truth.lever_arm - sign * rate * (sign * rate @ bench.truth.lever_arm) / (rate @ rate)
    np.testing.assert_allclose(pulled, -(rate @ rate) * outward, atol=0.02)


def test_a_bench_that_starts_with_a_spin_on_a_side_starts_on_that_side(helicopter):
    bench = spun(helicopter, motions=("turntable clockwise", "on tail"), posture="on right side")
    assert bench.truth.specific_force[0, 1] / G < -0.98
    assert bench.truth.specific_force[-1, 0] / G > 0.98


def test_the_spin_lasts_as_long_as_asked(helicopter):
    made = spun(helicopter, spin_s=25.0).plan.motions[1]
    assert np.linalg.norm(made.turn) == pytest.approx(25 * 200 * np.pi / 180)
    assert made.held - made.start == pytest.approx(25 / 0.92)


def test_the_manifest_says_speed_and_axis_unless_they_are_not_known(helicopter, tmp_path):
    pivot = (0.02, -0.01, 0.0)
    known = write_capture(spun(helicopter, turntable_pivot=pivot), tmp_path / "known").manifest
    table = read_capture(known, helicopter).turntable
    assert table.rate == pytest.approx(200 * np.pi / 180, rel=1e-5)
    np.testing.assert_allclose(table.pivot, pivot, atol=1e-9)
    bench = spun(helicopter, turntable_rpm_declared=False, turntable_pivot_declared=False)
    table = read_capture(write_capture(bench, tmp_path / "unknown").manifest, helicopter).turntable
    assert table.rate is None
    assert table.pivot is None


def test_a_table_that_turns_the_other_way_shows_in_the_gyro_and_not_in_the_prompt(helicopter):
    bench = spun(helicopter, "spin-reversed")
    assert bench.truth.angular_rate[steady(bench), 2].mean() < -3
    assert bench.prompts[1][0] == "turntable clockwise"
    assert bench.plan.motions[1].done == "turntable counter-clockwise"


def test_a_fast_table_is_declared_slower_than_it_is(helicopter, tmp_path):
    bench = spun(helicopter, "table-fast=5")
    assert np.degrees(bench.truth.angular_rate[steady(bench), 2].mean()) == pytest.approx(210, abs=0.02)
    written = write_capture(bench, tmp_path / "fast")
    assert read_capture(written.manifest, helicopter).turntable.rate == pytest.approx(200 * np.pi / 180, rel=1e-5)
    assert tomllib.loads(written.truth.read_text())["turntable"]["rpm"] == pytest.approx(35.0)


def test_a_wrong_pivot_is_wrong_in_the_manifest_alone(helicopter, tmp_path):
    bench = spun(helicopter, "pivot-wrong=30", turntable_pivot=(-0.05, 0.0, 0.0))
    np.testing.assert_array_equal(
        bench.truth.specific_force, spun(helicopter, turntable_pivot=(-0.05, 0, 0)).truth.specific_force
    )
    written = write_capture(bench, tmp_path / "wrong")
    np.testing.assert_allclose(read_capture(written.manifest, helicopter).turntable.pivot, [-0.02, 0, 0], atol=1e-9)
    assert tomllib.loads(written.truth.read_text())["turntable"]["pivot_mm"] == {"aft": 50.0, "right": 0.0, "down": 0.0}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"posture": "on its head"}, r'--posture: "on its head" is no pose; expected one of: level, inverted'),
        ({"spin_s": 0.5}, r"--spin-s: 0\.5 s; expected 1 to 600 s"),
        ({"turntable_tilt_deg": 25}, r"--turntable-tilt-deg: 25 deg; expected 0 to 20 deg"),
        ({"turntable_pivot": (6.0, 0, 0)}, r"--turntable-pivot-mm: 6000 mm from the centre of gravity"),
        ({"hang_point": (0, 0, 0.001)}, r"--hang-point-mm: 1 mm from the centre of gravity; expected 5 to 5000 mm"),
    ],
)
def test_turntables_that_cannot_be_are_refused(change, message):
    with pytest.raises(UsageError, match=message):
        Options(**change)


def test_a_fault_of_the_table_needs_a_table(helicopter):
    with pytest.raises(
        UsageError, match=r"spin-reversed: could not show in any of these motions; expected one of: turn"
    ):
        spun(helicopter, "spin-reversed", motions=("level", "nose up"))
