"""What must hold of every sweep, plate and lost link, whatever its numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pulse_trains import Output, helicopter, read, recording, sweep, value

from benchrig.capture.recording import Pulses
from benchrig.measure.actuators.measure import measure_actuators
from benchrig.measure.link.measure import measure_link
from benchrig.measure.pulses.plate import agreements, plate_pose
from benchrig.measure.pulses.steps import take_apart
from benchrig.measure.pulses.sweep import measure_sweep

ANGLES = st.floats(0.0, 2 * np.pi)
LIFTS = st.lists(st.floats(-400, 400), min_size=3, max_size=6)
SEEDS = st.integers(0, 10_000)
FEW = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def apart(lifts):
    """Place as many servos as there are lifts evenly round the plate."""
    return 2 * np.pi * np.arange(len(lifts)) / len(lifts)


@given(LIFTS, ANGLES)
def test_a_turned_plate_tilts_the_same_way_seen_from_its_own_nose(lifts, turn):
    psi, heights = apart(lifts), np.array(lifts)
    first, second = (plate_pose(heights, np.ones(len(psi)), at) for at in (psi, psi + turn))
    tilt, turned = complex(first.nose_up, first.right_up), complex(second.nose_up, second.right_up)
    assert abs(turned - tilt * np.exp(1j * turn)) < 1e-6
    assert abs(first.lift - second.lift) < 1e-6
    assert abs(first.misfit - second.misfit) < 1e-6


@given(LIFTS, st.randoms(use_true_random=False))
def test_the_order_of_the_servos_does_not_matter(lifts, random):
    psi, order = apart(lifts), list(range(len(lifts)))
    random.shuffle(order)
    first = plate_pose(np.array(lifts), np.ones(len(psi)), psi)
    second = plate_pose(np.array(lifts)[order], np.ones(len(psi)), psi[order])
    assert np.allclose([first.lift, first.nose_up, first.right_up], [second.lift, second.nose_up, second.right_up])


@given(st.lists(ANGLES, min_size=4, max_size=6, unique=True), st.tuples(*[st.floats(-1, 1)] * 3))
def test_no_rigid_plate_breaks_an_agreement(angles, pose):
    psi = np.array(angles)
    heights = pose[0] + pose[1] * np.cos(psi) + pose[2] * np.sin(psi)
    assert np.allclose(agreements(psi) @ heights, 0.0, atol=1e-6)


@FEW
@given(SEEDS, st.integers(-250, 250), st.floats(-5.0, 50.0))
def test_a_sweep_moved_in_pulse_and_time_is_moved_and_nothing_else(seed, higher, later):
    rng = np.random.default_rng(seed)
    output = Output([(0.0, 1500), *sweep(2.0, 1500, 1200, 1800)], phase=rng.uniform(0, 0.02), limit=2500, jitter=1.0)
    plain = output.logged(np.arange(0.0, 6.0, 0.005), rng)
    moved = Pulses(plain.time + later, plain.width + higher * 1e-6)
    first = measure_sweep(take_apart(plain), 1.5, 5.5)
    second = measure_sweep(take_apart(moved), 1.5 + later, 5.5 + later)
    for name in ("centre", "lowest", "highest"):
        shift = getattr(second, name).value - getattr(first, name).value
        assert abs(shift - higher * 1e-6) < 1e-7
    assert abs(second.speed.value - first.speed.value) < 1e-6


@FEW
@given(SEEDS, st.floats(0.3, 1.0))
def test_a_mirrored_sweep_has_mirrored_ends(seed, share):
    rng = np.random.default_rng(seed)
    low, high = round(1500 - 400 * share), 1850
    output = Output([(0.0, 1500), *sweep(2.0, 1500, low, high)], phase=rng.uniform(0, 0.02), limit=2500)
    plain = output.logged(np.arange(0.0, 6.0, 0.005), rng)
    first = measure_sweep(take_apart(plain), 1.5, 5.5)
    second = measure_sweep(take_apart(Pulses(plain.time, 3000e-6 - plain.width)), 1.5, 5.5)
    assert abs(first.highest.value + second.lowest.value - 3000e-6) < 1e-9
    assert abs(first.lowest.value + second.highest.value - 3000e-6) < 1e-9
    assert first.first * second.first < 0


@FEW
@given(SEEDS, st.permutations(["s0", "s1", "s2"]), st.floats(0.0, 60.0))
def test_the_order_of_sweeps_and_the_start_of_the_clock_do_not_matter(tmp_path, seed, order, zero):
    rig = read(tmp_path, helicopter((0, 120, 240)))
    rng = np.random.default_rng(seed)
    centres = {name: int(rng.integers(1480, 1540)) for name in ("s0", "s1", "s2")}
    outputs = {
        name: Output([(0.0, centre), *sweep(2.0 + 4.0 * order.index(name), centre, centre - 300, centre + 350)])
        for name, centre in centres.items()
    }
    prompts = [("sweep", name, 1.8 + 4.0 * k, 4.7 + 4.0 * k) for k, name in enumerate(order)]
    made = recording(outputs, prompts, duration=16.0, rate=100.0)
    later = replace(
        made,
        pulses={name: Pulses(p.time + zero, p.width) for name, p in made.pulses.items()},
        time=made.time + zero,
        prompts=tuple(replace(p, start=p.start + zero, end=p.end + zero) for p in reversed(made.prompts)),
    )
    first, second = measure_actuators(rig, made), measure_actuators(rig, later)
    for name, centre in centres.items():
        for what, off in (("centre", 0), ("shortest pulse", -300), ("longest pulse", 350)):
            found, again = value(first, f"{name}, {what}"), value(second, f"{name}, {what}")
            assert abs(found.value - centre - off) < 4 * found.uncertainty
            assert abs(found.value - again.value) < 1e-6


PLACES = (1500, 1520, 1100, 1900, 760, 400, 2300)
WORDS = ("sweep", "collective up", "switch", "transmitter off", "transmitter on", "nose up")


def wild(rig, rng):
    """Record channels that jump anywhere at any time, under prompts that fit nothing."""
    duration = rng.uniform(2, 20)

    def output():
        count = int(rng.choice([1, 5, 20, 150]))
        when = np.sort(rng.uniform(0, duration, count)) * (np.arange(count) > 0)
        return Output(
            list(zip(when.tolist(), rng.choice(PLACES, count).tolist(), strict=True)),
            frame=rng.choice([0.003, 0.02]),
            jitter=rng.choice([0.0, 2.0, 30.0]),
            limit=rng.choice([np.inf, 300.0]),
            silent=[(rng.uniform(0, duration), rng.uniform(0, duration))],
        )

    prompts, now = [], 0.0
    while now < duration - 1:
        end = now + rng.uniform(0.1, 4)
        prompts.append((rng.choice(WORDS), rng.choice(["", "s0", "x"]), now, min(end, duration)))
        now = end + rng.choice([0.0, 0.5])
    outputs = {a.name: output() for a in rig.actuators if rng.random() < 0.9}
    made = recording(outputs, prompts, duration=duration, rate=rng.choice([10, 100]), commands={"s0": output()})
    some = {name: pulses for name, pulses in made.pulses.items() if len(pulses.time)}
    return replace(made, pulses=some)


@FEW
@given(SEEDS, st.sampled_from([(0, 120, 240), (0, 90, 180, 270)]))
def test_whatever_comes_every_number_has_an_uncertainty_and_every_blank_a_reason(tmp_path, seed, layout):
    loss = '\n[link_loss]\nafter_s = 1\ngoes_to_us = { s0 = 1500, s1 = "stays" }\n'
    rig = read(tmp_path, helicopter(layout, each="centre_us = 1520\n", extra=loss))
    made = wild(rig, np.random.default_rng(seed))
    for measurement in (measure_actuators(rig, made), measure_link(rig, made)):
        for quantity in measurement.quantities:
            if quantity.value is None:
                assert quantity.reason, quantity
                assert quantity.uncertainty is None, quantity
                assert quantity.outcome not in {"pass", "fail"} or "pulses stop" in quantity.reason, quantity
            else:
                assert np.isfinite(quantity.value), quantity
                assert quantity.uncertainty > 0, quantity
