"""Which way a surface, a rotor, a plate and a tail must move against a disturbance (rows A16 to A25, B1 to B7).

A disturbance is + where the right side goes down, the nose up, the nose right. Against it the airframe must be turned
the other way: the corrective move is the one whose effect has the opposite sign.

Sources, with what is known of each:

- DAVE-ML reference, "Common sign convention notation" (+TED, +TEL; confirmed); ISO 1151-4:1994 (from memory).
- DARcorporation, AAA 5.1 Help, "Left Aileron Deflection Angle", against ISO 1151 / Stevens & Lewis (first confirmed).
- rotaryxcv PPL course, "Gyroscopic precession"; US Army AL0966, fig. 3-5 and p. 23 (confirmed); FAA-H-8083-21 ch. 3
  (from memory) and p. 4-4 (confirmed).
- Leishman, Principles of Helicopter Aerodynamics, ch. 4 (from memory; the numbers by arithmetic).
- fatlion.org, "V-tails and elevons"; aviationglossary.com, "v-tail" (confirmed).
- drones.stackexchange.com/q/415, torque of a driven rotor (confirmed for the reaction; the signs derived).
"""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.declaration.actuators import DRIVES, SURFACES, plate_effect, rotor_effect, surface_effect, tail_effect
from benchrig.simulation.mechanics import moment

ROLL, PITCH, YAW = 0, 1, 2
CLOCK_DEG = {12: 0.0, 3: 90.0, 6: 180.0, 9: 270.0}


def against(drives: str, axis: int) -> str | None:
    """Name the move of a surface that turns against a + disturbance about `axis`; None if it must stay still."""
    for word in DRIVES[drives]:
        if surface_effect(drives, word)[axis] < 0:
            return word
    return None


def side_that_rises(effect: np.ndarray) -> float:
    """Give the clock angle, deg, of the side of the disc that rises: it turns the airframe away from it."""
    return float(np.degrees(np.arctan2(-effect[ROLL], effect[PITCH])) % 360)


def test_a16_elevator_trailing_edge_down_puts_the_nose_down():
    # A16, DAVE-ML +TED (confirmed); ISO 1151-4 (from memory)
    assert surface_effect("elevator", "trailing edge down").tolist() == [0.0, -1.0, 0.0]
    assert surface_effect("elevator", "trailing edge up").tolist() == [0.0, 1.0, 0.0]


def test_a17_ailerons_are_told_by_edges_and_never_by_a_sign():
    # A17: two rival sign rules (AAA 5.1 Help, confirmed; ISO 1151, from memory) agree on what the edges do
    left_down = surface_effect("left aileron", "trailing edge down")
    right_up = surface_effect("right aileron", "trailing edge up")
    assert left_down.tolist() == right_up.tolist() == [1.0, 0.0, 0.0]
    assert all(word.startswith("trailing edge ") for words, _ in SURFACES.values() for word in words)


def test_a18_rudder_trailing_edge_left_puts_the_nose_left():
    # A18: +TEL in the DAVE-ML list (confirmed)
    assert surface_effect("rudder", "trailing edge left").tolist() == [0.0, 0.0, -1.0]


@pytest.mark.parametrize(("most_pitch", "highest"), [(3, 12), (6, 3), (9, 6), (12, 9)])
def test_a19_the_disc_answers_a_quarter_turn_later(most_pitch, highest):
    # A19, rotaryxcv course; US Army AL0966 fig. 3-5 (confirmed): rotor counter-clockwise from above. A plate that sets
    # the pitch of the blade right above it stands a quarter turn behind the disc: its lead is -90°.
    effect = plate_effect(np.radians(CLOCK_DEG[most_pitch]), np.radians(-90.0), "counter-clockwise")
    assert side_that_rises(effect) == pytest.approx(CLOCK_DEG[highest] % 360, abs=1e-9)
    # and the mirror image for the other sense
    mirrored = plate_effect(np.radians(-CLOCK_DEG[most_pitch]), np.radians(-90.0), "clockwise")
    assert side_that_rises(mirrored) % 360 == pytest.approx(-CLOCK_DEG[highest] % 360, abs=1e-9)


@pytest.mark.parametrize("sense", ["clockwise", "counter-clockwise"])
@pytest.mark.parametrize("clock", [12, 3, 6, 9])
def test_a20_with_the_linkage_a_quarter_turn_ahead_plate_and_disc_agree(sense, clock):
    # A20, US Army AL0966 p. 23 (confirmed): a plate high at 12 goes with a disc high at 12
    assert side_that_rises(plate_effect(np.radians(CLOCK_DEG[clock]), 0.0, sense)) == pytest.approx(CLOCK_DEG[clock])


@pytest.mark.parametrize(
    ("nu", "lock", "lag_deg"), [(1.00, 6.0, 90.00), (1.03, 6.0, 85.36), (1.10, 8.0, 78.14), (1.10, 5.0, 71.43)]
)
def test_a21_a_stiff_rotor_lags_less_and_the_declared_lead_takes_it_up(nu, lock, lag_deg):
    # A21, Leishman ch. 4 (from memory), numbers by arithmetic: lag = atan2(lock / 8, nu² - 1)
    lag = np.arctan2(lock / 8, nu**2 - 1)
    assert np.degrees(lag) == pytest.approx(lag_deg, abs=5e-3)
    # a linkage a quarter turn ahead puts the plate (90° - lag) ahead of the disc, in the rotor's sense
    lead = np.pi / 2 - lag
    np.testing.assert_allclose(plate_effect(lead, lead, "clockwise"), [0.0, 1.0, 0.0], atol=1e-15)
    np.testing.assert_allclose(plate_effect(-lead, lead, "counter-clockwise"), [0.0, 1.0, 0.0], atol=1e-15)


def test_a22_a_counter_clockwise_rotor_needs_the_tail_to_hold_the_nose_left():
    # A22, FAA-H-8083-21 p. 4-4 (confirmed): the fuselage wants to yaw right, more tail thrust brings the nose left
    assert tail_effect("more thrust", "counter-clockwise").tolist() == [0.0, 0.0, -1.0]
    assert tail_effect("less thrust", "counter-clockwise").tolist() == [0.0, 0.0, 1.0]


def test_a23_the_other_sense_turns_every_thrust_word_round():
    # A23, common practice, no source: most models turn clockwise. Nothing is assumed: both senses are mirror images.
    for word in ("more thrust", "less thrust"):
        assert tail_effect(word, "clockwise").tolist() == (-tail_effect(word, "counter-clockwise")).tolist()
    for word in ("nose left", "nose right"):
        assert tail_effect(word, "clockwise").tolist() == tail_effect(word, "counter-clockwise").tolist()


@pytest.mark.parametrize(("sense", "word"), [("clockwise", "less thrust"), ("counter-clockwise", "more thrust")])
def test_a24_the_tail_thrust_that_opposes_a_turn_to_the_right(sense, word):
    # A24, derived from A22 and A23
    assert tail_effect(word, sense)[YAW] < 0


@pytest.mark.parametrize("sense", ["clockwise", "counter-clockwise"])
def test_a25_a_nose_turned_right_asks_for_the_tail_that_turns_it_left(sense):
    # A25, common practice, no source: "turn the nose right by hand, the tail must give left rudder"
    assert tail_effect("nose left", sense).tolist() == [0.0, 0.0, -1.0]


TABLE = [
    # B1, from A16 to A18 (confirmed)
    ("B1", "right aileron", "trailing edge down", None, None),
    ("B1", "left aileron", "trailing edge up", None, None),
    ("B1", "elevator", None, "trailing edge down", None),
    ("B1", "rudder", None, None, "trailing edge left"),
    # B2, fatlion.org "V-tails and elevons" (confirmed)
    ("B2", "right elevon", "trailing edge down", "trailing edge down", None),
    ("B2", "left elevon", "trailing edge up", "trailing edge down", None),
    # B3, aviationglossary.com "v-tail" (confirmed): nose left by left down and right up
    ("B3", "left v-tail", None, "trailing edge down", "trailing edge down"),
    ("B3", "right v-tail", None, "trailing edge down", "trailing edge up"),
]


@pytest.mark.parametrize(("row", "drives", "roll", "pitch", "yaw"), TABLE)
def test_b1_b2_b3_surfaces_against_a_disturbance(row, drives, roll, pitch, yaw):
    assert [against(drives, axis) for axis in (ROLL, PITCH, YAW)] == [roll, pitch, yaw], row


def test_b4_the_inverted_v_pitches_alike_and_yaws_the_other_way():
    # B4, derived from the normals of the panels (from memory). An inverted V is declared by its effects; here they are
    # found from the force on each panel, which is thrown against its trailing edge, and held against the upright V's.
    aft = np.array([-0.6, 0.0, 0.0])

    def panel(left: bool, *, inverted: bool) -> np.ndarray:  # noqa: FBT001 - a side
        sideways = (1.0 if left else -1.0) * (-1.0 if inverted else 1.0)
        up_and_in = np.array([0.0, sideways, -1.0])  # the way an upward trailing edge goes
        return np.sign(np.round(moment(aft, -up_and_in), 9))

    for side in ("left", "right"):
        upright = panel(side == "left", inverted=False)
        np.testing.assert_array_equal(upright, surface_effect(f"{side} v-tail", "trailing edge up"))
        inverted = panel(side == "left", inverted=True)
        np.testing.assert_array_equal(inverted, upright * [1.0, 1.0, -1.0])
    # + yaw is opposed by left up and right down, + pitch by both down
    assert panel(left=True, inverted=True).tolist() == [0.0, 1.0, -1.0]
    assert panel(left=False, inverted=True).tolist() == [0.0, 1.0, 1.0]


@pytest.mark.parametrize("sense", ["clockwise", "counter-clockwise"])
@pytest.mark.parametrize("forward", [-0.2, 0.0, 0.15])
@pytest.mark.parametrize("right", [-0.2, 0.0, 0.25])
def test_b5_rotors_of_any_layout_against_a_disturbance(sense, forward, right):
    # B5, drones.stackexchange.com/q/415 for the reaction (confirmed), signs derived
    change = -np.sign(rotor_effect(np.array([forward, right, 0.0]), sense))  # of thrust, against + roll, pitch, yaw
    assert change[ROLL] == np.sign(right), "right side down: rotors on the right speed up"
    assert change[PITCH] == -np.sign(forward), "nose up: rotors in front slow down"
    assert change[YAW] == (1 if sense == "clockwise" else -1), "nose right: clockwise rotors speed up"


@pytest.mark.parametrize(
    ("disturbance", "clock", "rises"),
    [(ROLL, 3, True), (ROLL, 9, False), (PITCH, 12, False), (PITCH, 6, True)],
)
def test_b6_the_plate_against_a_disturbance(disturbance, clock, rises):
    # B6, from A19 and A20 (confirmed, derived): the low side rises, the high side falls
    effect = plate_effect(np.radians(CLOCK_DEG[clock]), 0.0, "clockwise")
    assert bool(-effect[disturbance] > 0) is rises
    other = PITCH if disturbance == ROLL else ROLL
    assert effect[other] == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize("azimuth_deg", [0.0, 40.0, 60.0, 90.0, 135.0, 180.0, 270.0, 300.0])
def test_b7_any_plate_servo_follows_the_plane(azimuth_deg):
    # B7, geometry of a plane: dz = c + a cos psi + b sin psi, a > 0 for nose up, b > 0 for roll left (arithmetic)
    psi = np.radians(azimuth_deg)
    effect = plate_effect(psi, 0.0, "clockwise")
    against_roll, against_pitch = -effect[ROLL], -effect[PITCH]
    assert against_roll == pytest.approx(np.sin(psi)), "+ roll asks for b > 0"
    assert against_pitch == pytest.approx(-np.cos(psi)), "+ pitch asks for a < 0"
