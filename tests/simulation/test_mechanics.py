"""What a longer pulse does, against rules printed elsewhere, and against the table that the judge works with."""

import numpy as np
import pytest

from benchrig.declaration.actuators import SURFACES, surface_effect, tail_effect
from benchrig.declaration.airframe import Rotor
from benchrig.simulation.mechanics import corrective_effect, moment, other_way

SENSES = ("clockwise", "counter-clockwise")


def effect_of(build, actuator, kind="other", **more):
    return corrective_effect(actuator, build.declare(kind, [actuator], **more))


# B1: A16 to A18, DAVE-ML sign lists and Stevens & Lewis (from memory); B2 fatlion.org; B3 aviationglossary.com/v-tail
@pytest.mark.parametrize(
    ("drives", "word", "signs"),
    [
        ("right aileron", "trailing edge down", (-1, 0, 0)),
        ("left aileron", "trailing edge down", (1, 0, 0)),
        ("elevator", "trailing edge down", (0, -1, 0)),
        ("rudder", "trailing edge left", (0, 0, -1)),
        ("left elevon", "trailing edge up", (-1, 1, 0)),
        ("right elevon", "trailing edge down", (-1, -1, 0)),
        ("left v-tail", "trailing edge down", (0, -1, -1)),
        ("right v-tail", "trailing edge up", (0, 1, -1)),
    ],
)
def test_a_surface_turns_the_airframe_as_the_trade_has_it(build, drives, word, signs):
    effect = effect_of(build, build.servo(drives, drives, word, surface_effect(drives, word)), "aeroplane")
    np.testing.assert_array_equal(np.sign(np.round(effect, 9)), signs)


# B6 and B7: the disc, named by its high side; geometry of a plane (emcfarlane.com note on collective-cyclic mixing)
@pytest.mark.parametrize("sense", SENSES)
def test_the_nose_rises_with_the_front_of_the_disc_and_the_right_side_with_a_roll_left(build, sense):
    for azimuth, expected in ((0, (0, 1, 0)), (90, (-1, 0, 0)), (180, (0, -1, 0)), (270, (1, 0, 0))):
        lifted = effect_of(build, build.plate_servo("one", azimuth, sense), "helicopter", rotor=Rotor(sense, 0.0))
        np.testing.assert_allclose(lifted, expected, atol=1e-12)


@pytest.mark.parametrize("sense", SENSES)
@pytest.mark.parametrize("lead", [-20, 0, 45])
@pytest.mark.parametrize("word", ["plate up", "plate down"])
def test_a_plate_servo_agrees_with_the_declared_effect_at_any_azimuth(build, sense, lead, word):
    for azimuth in (0, 40, 120, 240, 315):
        actuator = build.plate_servo("one", azimuth, sense, word, lead)
        frame = build.declare("helicopter", [actuator], rotor=Rotor(sense, np.radians(lead)))
        np.testing.assert_allclose(corrective_effect(actuator, frame), actuator.effect, atol=1e-12)


# A22: FAA-H-8083-21 p. 4-4: counter-clockwise rotor, more tail pitch turns the nose left
@pytest.mark.parametrize(("sense", "word", "yaw"), [
    ("counter-clockwise", "more thrust", -1), ("clockwise", "more thrust", 1),
    ("clockwise", "less thrust", -1), ("clockwise", "nose left", -1), ("counter-clockwise", "nose right", 1),
])  # fmt: skip
def test_a_tail_rotor_holds_against_the_main_rotors_reaction(build, sense, word, yaw):
    tail = build.servo("tail", "tail rotor", word, tail_effect(word, sense))
    np.testing.assert_allclose(effect_of(build, tail, "helicopter", rotor=Rotor(sense, 0.0)), [0, 0, yaw])


# B5: drones.stackexchange.com/q/415, torque table; the signs of the lever are the moment of a force
@pytest.mark.parametrize(
    ("place", "sense", "signs"),
    [
        ((0.2, 0.2, 0), "counter-clockwise", (-1, 1, 1)),
        ((0.2, -0.2, 0), "clockwise", (1, 1, -1)),
        ((-0.2, -0.2, 0), "counter-clockwise", (1, -1, 1)),
        ((-0.2, 0.2, 0), "clockwise", (-1, -1, -1)),
    ],
)
def test_a_lifting_rotor_turns_the_airframe_by_its_lever_and_its_reaction(build, place, sense, signs):
    actuator = build.rotor("one", place, sense)
    effect = effect_of(build, actuator, "multirotor")
    np.testing.assert_array_equal(np.sign(effect), signs)
    np.testing.assert_allclose(effect, actuator.effect, atol=1e-12)


@pytest.mark.parametrize("drives", SURFACES)
def test_every_surface_agrees_in_both_words_with_the_declared_table(build, drives):
    for word in SURFACES[drives][0]:
        actuator = build.servo("one", drives, word, surface_effect(drives, word))
        np.testing.assert_allclose(effect_of(build, actuator, "aeroplane"), actuator.effect, atol=1e-12)


def test_anything_else_does_what_its_declaration_says(build):
    np.testing.assert_allclose(effect_of(build, build.servo("flap", "other", "", [0.5, 0.0, -0.25])), [1.0, 0.0, -0.5])


def test_a_moment_is_the_cross_product_of_place_and_force():
    place, force = np.array([1.0, 2.0, 3.0]), np.array([-2.0, 0.5, 4.0])
    np.testing.assert_allclose(moment(place, force), np.cross(place, force))


@pytest.mark.parametrize(
    "pair", [("nose left", "nose right"), ("more thrust", "less thrust"), ("plate up", "plate down")]
)
def test_the_other_way_of_a_word_goes_both_ways(pair):
    assert (other_way(pair[0]), other_way(pair[1])) == (pair[1], pair[0])
