"""Hangs and swings: the centre of gravity comes to rest plumb below the point, and the fixed point stays fixed."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from benchrig.capture.reader import read_capture
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.hanging import plumb
from benchrig.simulation.options import Options
from benchrig.simulation.trajectory import angular_rate, specific_force
from benchrig.simulation.unit import running_product

G = 9.80665
POINTS = [(0.0, 0.0, -0.12), (0.3, 0.0, -0.05), (-0.4, 0.05, 0.0), (0.02, 0.15, 0.06), (0.0, 0.0, 0.1)]


def hung(airframe, point, *faults, seed=1, rate_hz=50):
    options = Options(motions=("level", "hang", "level"), hang_point=tuple(point), rate_hz=rate_hz)
    return simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=options)


def swung(airframe, pivot, *faults, seed=1):
    options = Options(motions=("level", "swing", "level"), pivot=tuple(pivot), rate_hz=50)
    return simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=options)


def place_of(plan, point, time):
    """Find where a point of the airframe is in the world."""
    return plan.path.pivot(time) + plan.path.attitude(time).apply(np.asarray(point) - plan.pivot)


# P6: a hung body rests with its centre of gravity below the point it hangs from
@pytest.mark.parametrize("point", POINTS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_centre_of_gravity_comes_to_rest_plumb_below_the_point(point, seed, helicopter):
    bench = hung(helicopter, point, seed=seed)
    made = bench.plan.motions[1]
    time = np.linspace(made.released - 0.3, made.released, 50)
    below = place_of(bench.plan, (0, 0, 0), time) - place_of(bench.plan, point, time)
    assert np.degrees(np.arctan2(np.hypot(below[:, 0], below[:, 1]), below[:, 2])).max() < 0.4
    np.testing.assert_allclose(made.down, -np.array(point) / np.linalg.norm(point), atol=1e-12)
    resting = specific_force(bench.plan.path, time[-1:] + 0.0, np.zeros(3))[0]
    assert -resting @ made.down / G == pytest.approx(1.0, abs=1e-3)


def test_the_heading_of_a_hang_is_free(helicopter):
    headings = []
    for seed in range(8):
        bench = hung(helicopter, (0.0, 0.0, -0.12), seed=seed)
        forward = bench.plan.path.attitude(np.array([bench.plan.motions[1].released])).apply([1.0, 0.0, 0.0])[0]
        headings.append(np.arctan2(forward[1], forward[0]))
    assert abs(np.exp(1j * np.array(headings)).mean()) < 0.8


def test_a_hang_swings_by_about_two_degrees_and_dies_away(helicopter):
    for seed in range(6):
        bench = hung(helicopter, (0.1, 0.0, -0.12), seed=seed)
        made = bench.plan.motions[1]
        time = np.linspace(made.start, made.released, 1601)
        off = np.degrees(np.arccos(bench.plan.path.attitude(time).inv().apply([0, 0, 1.0]) @ made.down))
        assert 0.7 < off[time < made.start + 2].max() < 3.5
        assert off[time > made.released - 1].max() < 0.3


# the physical pendulum: T = 2π √((k² + l²) / (g l)); k is drawn from 0.08 to 0.15 m
def test_a_hang_swings_at_the_pace_of_a_physical_pendulum(helicopter):
    bench = hung(helicopter, (0.0, 0.0, -0.12), seed=3)
    made = bench.plan.motions[1]
    time = np.linspace(made.start, made.released, 4001)
    lean = bench.plan.path.attitude(time).inv().apply([0, 0, 1.0])[:, 0]
    crossings = time[1:][np.diff(np.sign(lean)) != 0]
    period = 2 * np.median(np.diff(crossings))
    slow, fast = (2 * np.pi * np.sqrt((k**2 + 0.12**2) / (G * 0.12)) for k in (0.15, 0.08))
    assert fast < period < slow


def test_the_point_of_a_hang_and_the_pivot_of_a_swing_stay_where_they_are(helicopter):
    for bench, point in (
        (hung(helicopter, (0.3, 0.02, -0.05)), (0.3, 0.02, -0.05)),
        (swung(helicopter, (0.05, -0.02, -0.2)), (0.05, -0.02, -0.2)),
    ):
        made = bench.plan.motions[1]
        place = place_of(bench.plan, point, np.linspace(made.start, made.released - 1e-6, 500))
        assert np.ptp(place, axis=0).max() < 1e-12


# what a sensor at the pivot itself feels is gravity alone, however it is turned
def test_a_sensor_at_the_pivot_of_a_swing_feels_gravity_alone(helicopter):
    pivot = np.array([0.05, -0.02, -0.2])
    bench = swung(helicopter, pivot)
    made = bench.plan.motions[1]
    time = np.linspace(made.start + 0.1, made.released - 0.1, 400)
    felt = specific_force(bench.plan.path, time, pivot - bench.plan.pivot)
    assert np.linalg.norm(felt, axis=1) == pytest.approx(G, abs=1e-5)
    felt = specific_force(bench.plan.path, time, helicopter.sensor.lever_arm - bench.plan.pivot)
    assert np.ptp(np.linalg.norm(felt, axis=1)) > 1.0


def test_a_swing_goes_25_degrees_to_and_fro_about_two_axes_and_twists(helicopter):
    for seed in range(4):
        bench = swung(helicopter, (0.0, 0.0, -0.15), seed=seed)
        made = bench.plan.motions[1]
        assert made.released - made.start == pytest.approx(12.0)
        time = np.linspace(made.start, made.released, 600)
        start = bench.plan.path.attitude(time[:1])
        turned = np.degrees((start.inv() * bench.plan.path.attitude(time)).as_rotvec())
        for axis in (0, 1):
            assert 18 < np.abs(turned[:, axis]).max() < 35
        assert np.abs(turned[:, 2]).max() > 12
        assert np.degrees(np.abs(angular_rate(bench.plan.path, time)).max()) < 400


def test_no_path_jumps_where_the_point_of_turning_changes(helicopter):
    options = Options(motions=("level", "hang", "nose up", "swing", "free", "inverted", "level"), rate_hz=100)
    for faults in ((), ("no-rest",), ("hand-rests",), ("shaky=3",)):
        bench = simulate(helicopter, seed=2, faults=parse_faults(faults, helicopter), options=options)
        time = np.arange(0.01, bench.plan.duration, 0.002)
        force = specific_force(bench.plan.path, time, helicopter.sensor.lever_arm - bench.plan.pivot)
        assert np.linalg.norm(force, axis=1).max() < 4.5 * G, faults


def test_forces_and_rates_integrate_back_to_the_path_through_every_kind_of_motion(helicopter):
    options = Options(motions=("level", "hang", "swing", "on tail", "turntable clockwise", "tilted turn", "level"))
    plan = simulate(helicopter, seed=4, options=replace(options, rate_hz=20, posture="on tail", spin_s=3.0)).plan
    step = 2e-3
    time = np.arange(0.0, plan.duration, step)
    attitude = plan.path.attitude(time)
    # midpoint rates, one small turn after another
    steps = Rotation.from_rotvec(step * angular_rate(plan.path, time[:-1] + 0.5 * step))
    turned = attitude[:1] * running_product(steps)[-1:]
    assert np.degrees((turned.inv() * attitude[-1:]).magnitude()[0]) < 0.05
    sensor = helicopter.sensor.lever_arm
    world = attitude.apply(specific_force(plan.path, time, sensor - plan.pivot)) + np.array([0, 0, G])
    velocity = np.vstack([np.zeros(3), np.cumsum(0.5 * (world[1:] + world[:-1]) * step, axis=0)])
    place = np.vstack([np.zeros(3), np.cumsum(0.5 * (velocity[1:] + velocity[:-1]) * step, axis=0)])
    real = place_of(plan, sensor, time)
    assert np.abs(place - (real - real[0])).max() < 0.003


def test_the_truth_has_the_point_and_the_vertical_and_the_manifest_neither(helicopter, tmp_path):
    written = write_capture(hung(helicopter, (0.3, 0.0, -0.05), "wrong-point=20"), tmp_path / "hang")
    truth = tomllib.loads(written.truth.read_text())
    assert truth["hang"]["point_mm"] == {"forward": 280.0, "right": 0.0, "up": 50.0}
    hang = truth["motion"][1]
    np.testing.assert_allclose(hang["down"], np.array([-0.28, 0, 0.05]) / np.hypot(0.28, 0.05), atol=1e-6)
    assert "down" not in written.manifest.read_text()
    assert [prompt.name for prompt in read_capture(written.manifest, helicopter).prompts] == ["level", "hang", "level"]


def test_the_manifest_names_the_pivot_of_a_swing_and_a_fault_moves_it(helicopter, tmp_path):
    for faults, said in (((), [0.05, -0.02, -0.2]), (("pivot-wrong=30",), [0.08, -0.02, -0.2])):
        bench = swung(helicopter, (0.05, -0.02, -0.2), *faults)
        written = write_capture(bench, tmp_path / f"swing{len(faults)}")
        np.testing.assert_allclose(read_capture(written.manifest, helicopter).swing_pivot, said, atol=1e-9)


def test_a_pivot_in_the_hand_moves(helicopter):
    pivot = (0.0, 0.0, -0.15)
    bench = swung(helicopter, pivot, "pivot-moves=20")
    made = bench.plan.motions[1]
    place = place_of(bench.plan, pivot, np.linspace(made.start, made.released, 500))
    assert 0.02 < np.ptp(place, axis=0).max() < 0.045


def test_a_point_below_the_centre_of_gravity_turns_the_airframe_over():
    over = plumb(np.array([0.0, 0.0, -1.0]), 1.0)
    np.testing.assert_allclose(over.apply([0.0, 0.0, -1.0]), [0.0, 0.0, 1.0], atol=1e-12)
