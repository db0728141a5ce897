"""The measured place over drawn rigs: its side is never wrong, and nothing but the rig itself changes it.

`BENCHRIG_COUNT` sets how many rigs a count draws.
"""

from __future__ import annotations

import os
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from turning_bodies import CONSUMER, measured, rig, spun, table

from benchrig.capture.reader import read_capture
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.lever.measure import measure_lever
from benchrig.simulation.bench import simulate
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

COUNT = int(os.environ.get("BENCHRIG_COUNT", "15"))
ARM = np.array([0.062, -0.034, 0.021])
LARGE_ENOUGH = 0.020


def drawn_rig(base, rng, reach):
    """Draw where the unit sits and how it is turned: any of the 24 square ways."""
    mounting = SIGNED_PERMUTATIONS[rng.integers(24)]
    sensor = replace(
        base.sensor, lever_arm=rng.uniform(-reach, reach, 3), body_from_sensor=mounting, position_tolerance=None
    )
    return replace(base, sensor=sensor)


def spun_on_a_table(airframe, rng, seed):
    """Simulate a spin with the errors of a consumer unit, through the files a logger would leave."""
    sense = rng.choice(["clockwise", "counter-clockwise"])
    options = Options(
        motions=("level", f"turntable {sense}", "level"),
        turntable_rpm=float(rng.choice([100 / 3, 45.0])),
        turntable_tilt_deg=float(rng.uniform(0.0, 1.0)),
        turntable_rpm_declared=bool(rng.integers(2)),
        pulses=False,
        unit_attitude=False,
        temperature=False,
    )
    with tempfile.TemporaryDirectory() as folder:
        written = write_capture(simulate(airframe, seed=seed, options=options), Path(folder) / "spin")
        return read_capture(written.manifest, airframe)


def test_no_side_is_wrong_and_nothing_is_claimed_along_the_axis(demo_airframe):
    wrong, told, blamed = 0, 0, 0
    for seed in range(COUNT):
        rng = np.random.default_rng(seed)
        airframe = drawn_rig(demo_airframe("teal"), rng, 0.15)
        measurement = measure_lever(airframe, [spun_on_a_table(airframe, rng, seed)])
        *across, along = measurement.quantities[:3]
        assert along.value is None, f"rig {seed}"
        for axis, quantity in enumerate(across):
            if abs(airframe.sensor.lever_arm[axis]) < LARGE_ENOUGH:
                continue
            # distances are told along the declared word, which is right here: a negative one is on the wrong side
            wrong += quantity.value is not None and quantity.value < 0
            told += quantity.value is not None
        blamed += any(f.severity == "fail" for f in measurement.findings)
    print(f"\n{COUNT} rigs: {told} sides told, {wrong} wrong; {blamed} right rigs blamed")  # noqa: T201 - for `pytest -s`
    assert wrong == blamed == 0
    assert told > 1.5 * COUNT  # 15 % of the drawn distances are below 20 mm


def test_near_the_axis_the_place_is_right_to_less_than_a_millimetre(demo_airframe):
    """10 s at 33⅓ or 45 rpm, the sensor within 50 mm of the axis along each of the two."""
    off, pulls = [], []
    for seed in range(COUNT):
        rng = np.random.default_rng(10_000 + seed)
        airframe = drawn_rig(demo_airframe("teal"), rng, 0.05)
        measurement = measure_lever(airframe, [spun_on_a_table(airframe, rng, seed)])
        for quantity in measurement.quantities[:2]:
            off.append(quantity.value - quantity.declared)
            pulls.append(off[-1] / quantity.uncertainty)
    rms, scatter = np.sqrt(np.mean(np.square(off))), np.sqrt(np.mean(np.square(pulls)))
    print(f"\n{COUNT} rigs: {rms:.2f} mm rms, pulls {scatter:.2f}, largest {np.abs(pulls).max():.1f}")  # noqa: T201 - the same
    assert rms < 0.8 * (1 + 1 / np.sqrt(COUNT))
    assert 0.6 < scatter < 1.4
    assert np.abs(pulls).max() < 4.5


@pytest.fixture(scope="module")
def plain():
    even = spun(ARM, errors=CONSUMER)
    return even, measured(even, rig(ARM), turntable=table())


@settings(max_examples=12, deadline=None)
@given(index=st.integers(0, 23))
def test_a_unit_turned_in_its_place_and_declared_so_gives_the_same_place(plain, index):
    even, straight = plain
    mounting = SIGNED_PERMUTATIONS[index]
    turned = replace(even, angular_rate=even.angular_rate @ mounting, acceleration=even.acceleration @ mounting)
    airframe = rig(ARM)
    declared = replace(airframe, sensor=replace(airframe.sensor, body_from_sensor=mounting))
    place = measured(turned, declared, turntable=table())
    np.testing.assert_allclose(place.value, straight.value, atol=1e-9)
    np.testing.assert_allclose(place.uncertainty, straight.uncertainty, rtol=1e-6)


@settings(max_examples=8, deadline=None)
@given(hour=st.floats(0.0, 3600.0), rate_hz=st.sampled_from([50.0, 100.0, 250.0, 1000.0]))
def test_neither_the_clock_nor_the_sample_rate_moves_the_place(hour, rate_hz):
    even = spun(ARM, rate_hz=rate_hz)
    place = measured(replace(even, time=even.time + hour), rig(ARM), turntable=table())
    np.testing.assert_allclose(place.value[:2], ARM[:2], atol=3e-5)


@settings(max_examples=10, deadline=None)
@given(
    forward=st.floats(-0.3, 0.3),
    right=st.floats(-0.3, 0.3),
    tilt=st.floats(0.0, 3.0),
    rpm=st.sampled_from([33.3, -45.0]),
)
def test_any_place_on_any_table_is_found_exactly_where_the_readings_are(forward, right, tilt, rpm):
    arm = np.array([forward, right, 0.04])
    # on a level table the speed must be stated: far from its axis the gyro's scale alone tells no place
    place = measured(spun(arm, tilt_deg=tilt, rpm=rpm), rig(arm), turntable=table(rpm=rpm))
    np.testing.assert_allclose(place.value[:2], arm[:2], atol=1e-4)
