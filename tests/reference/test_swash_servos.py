"""Servos of each plate layout, right, reversed and swapped: what the plate shows of it (rows S1 to S7).

Sources: the geometry of a plane, by arithmetic; the spacing 140/140/80 of S3 as in a published article on
collective-cyclic mixing (confirmed); the layouts S4 and S5 are common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest
from pulse_trains import codes, helicopter, read, recording, swept, value, with_collective

from benchrig.measure.actuators.measure import measure_actuators
from benchrig.measure.pulses.plate import agreements, plate_matrix, plate_pose

H3, H2 = 0.8660254, 0.7071068

LAYOUTS = {
    "S1": ((180, 60, 300), [[1, -1, 0], [1, 0.5, H3], [1, 0.5, -H3]]),
    "S2": ((0, 120, 240), [[1, 1, 0], [1, -0.5, H3], [1, -0.5, -H3]]),
    "S3": ((180, 40, 320), [[1, -1, 0], [1, 0.7660444, 0.6427876], [1, 0.7660444, -0.6427876]]),
    "S4": ((180, 45, 315), [[1, -1, 0], [1, H2, H2], [1, H2, -H2]]),
    "S5": ((180, 90, 270), [[1, -1, 0], [1, 0, 1], [1, 0, -1]]),
    "S6": ((0, 90, 180, 270), [[1, 1, 0], [1, 0, 1], [1, -1, 0], [1, 0, -1]]),
    "S7": ((45, 135, 225, 315), [[1, H2, H2], [1, -H2, H2], [1, -H2, -H2], [1, H2, -H2]]),
}
FOUR = ("S6", "S7")


def raised(folder, row, factors, longer=None):
    """Measure a helicopter of a layout whose servos go up by 200 µs times a factor with the stick."""
    azimuths = LAYOUTS[row][0]
    rig = read(folder, helicopter(azimuths, longer=longer))
    names = [f"s{k}" for k in range(len(azimuths))]
    outputs, prompts, end = swept(dict.fromkeys(names, 1500))
    changes = {name: 200 * factor for name, factor in zip(names, factors, strict=True)}
    outputs, prompts, end = with_collective(outputs, prompts, end, changes)
    return measure_actuators(rig, recording(outputs, prompts, duration=end, rate=100.0))


@pytest.mark.parametrize("row", LAYOUTS)
def test_s1_to_s7_the_matrix_of_heights_is_the_published_one(row):
    np.testing.assert_allclose(plate_matrix(np.radians(LAYOUTS[row][0])), LAYOUTS[row][1], atol=1e-7)


@pytest.mark.parametrize(
    ("row", "share"),
    [
        ("S1", (1 / 3, 1 / 3, 1 / 3)),
        ("S3", (0.4338, 0.2831, 0.2831)),
        ("S4", (0.4142, 0.2929, 0.2929)),
        ("S5", (0, 0.5, 0.5)),
    ],
)
def test_s1_s3_s4_s5_the_lift_is_the_servos_by_their_published_shares(row, share):
    psi = np.radians(LAYOUTS[row][0])
    lifts = [plate_pose(np.eye(3)[k], np.ones(3), psi).lift for k in range(3)]
    assert lifts == pytest.approx(share, abs=5e-5)


def test_s2_the_nose_side_is_two_thirds_of_the_front_servo_less_a_third_of_each_other():
    psi = np.radians(LAYOUTS["S2"][0])
    noses = [plate_pose(np.eye(3)[k], np.ones(3), psi).nose_up for k in range(3)]
    assert noses == pytest.approx((2 / 3, -1 / 3, -1 / 3), abs=1e-9)


@pytest.mark.parametrize("row", FOUR)
def test_s6_s7_lifts_must_alternate_to_nothing(row):
    sums = agreements(np.radians(LAYOUTS[row][0]))
    np.testing.assert_allclose(sums, [[1, -1, 1, -1]], atol=1e-9)


@pytest.mark.parametrize("row", LAYOUTS)
def test_s1_to_s7_a_right_plate_rises_level(tmp_path, row):
    found = raised(tmp_path, row, np.ones(len(LAYOUTS[row][0])))
    assert codes(found) == []
    assert value(found, "plate, lift at collective up").value == pytest.approx(200, abs=1)
    for side in ("nose", "right"):
        assert value(found, f"plate, {side} side against its middle at collective up").outcome == "pass"


@pytest.mark.parametrize("row", LAYOUTS)
def test_s1_to_s7_one_reversed_servo_breaks_the_collective_and_is_named(tmp_path, row):
    count = len(LAYOUTS[row][0])
    for k in range(count):
        factors = np.ones(count)
        factors[k] = -1
        found = raised(tmp_path, row, factors)
        named = [f.text for f in found.findings if f.code == "actuator-reversed"]
        assert len(named) == 1
        assert named[0].startswith(f"Actuator s{k} went the way that takes lift away")
        assert "plate-binds" not in codes(found)  # the cause is named once


def test_s1_a_declared_shorter_pulse_that_lifts_is_no_reversed_servo(tmp_path):
    found = raised(tmp_path, "S1", (1, -1, 1), longer=["up", "down", "up"])
    assert codes(found) == []
    assert value(found, "plate, lift at collective up").value == pytest.approx(200, abs=1)


@pytest.mark.parametrize("row", ["S1", "S3", "S4", "S5", "S6", "S7"])
def test_a_swapped_left_and_right_pair_breaks_only_the_roll(row):
    psi = np.radians(LAYOUTS[row][0])
    # every servo gets what belongs to its mirror image across the nose
    order = [int(np.argmin(np.abs(np.exp(1j * psi) - np.exp(-1j * p)))) for p in psi]
    assert order != list(range(len(psi)))
    for wanted in ((100, 0, 0), (0, 40, 0), (0, 0, 40)):
        sent = plate_matrix(psi) @ wanted
        shown = plate_pose(sent[order], np.ones(len(psi)), psi)
        mirrored = (wanted[0], wanted[1], -wanted[2])
        assert (shown.lift, shown.nose_up, shown.right_up) == pytest.approx(mirrored, abs=1e-9)


@pytest.mark.parametrize("row", FOUR)
@pytest.mark.parametrize("k", range(4))
def test_s6_s7_a_fourth_servo_that_disagrees_binds_and_is_named(tmp_path, row, k):
    factors = np.ones(4)
    factors[k] = 0.4
    found = raised(tmp_path, row, factors)
    (binding,) = [f for f in found.findings if f.code == "plate-binds"]
    assert f"s{k} does not agree with the others" in binding.text
    # a plane takes three quarters of one servo's difference on itself
    off = value(found, "plate, servos off one plane at collective up")
    assert off.value == pytest.approx(0.6 * 200 / 4, abs=1)
    assert off.outcome == "fail"


def test_s1_a_servo_that_travels_less_tilts_the_plate_by_a_known_share(tmp_path):
    # aft servo at half: by the pseudo-inverse of S1, lift 166.7, nose side 66.7 up
    found = raised(tmp_path, "S1", (0.5, 1, 1))
    assert value(found, "plate, nose side against its middle at collective up").value == pytest.approx(40, abs=1)
    assert value(found, "plate, right side against its middle at collective up").value == pytest.approx(0, abs=1)
    assert "s0 differs from the others" in next(f.text for f in found.findings if f.code == "plate-tilts")


def test_four_servos_bring_the_caution_about_links(tmp_path):
    assert any("Four servos on one plate" in text for text in raised(tmp_path, "S6", np.ones(4)).cautions)
