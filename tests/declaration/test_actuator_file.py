"""What a declared actuator does to the airframe, and sets of actuators that cannot be right."""

from __future__ import annotations

import numpy as np
import pytest


def actuator(name: str, drives: str, rest: str) -> str:
    return f'[[actuator]]\nname = "{name}"\ndrives = "{drives}"\n{rest}\n'


def rotor(name: str, place: str, turns: str) -> str:
    return actuator(name, "rotor", f'position_mm = {{ {place} }}\nturns = "{turns}"\nlonger_pulse = "more thrust"')


def plate(name: str, azimuth: float, word: str = "plate up") -> str:
    return actuator(name, "swashplate", f'azimuth_deg = {azimuth}\nlonger_pulse = "{word}"')


def helicopter(turns: str, lead: float = 0, *actuators: str) -> str:
    head = '[airframe]\nname = "Dunlin 450"\nkind = "helicopter"\n[sensor]\naxes = { x = "forward", y = "right" }\n'
    return f'{head}[rotor]\nturns = "{turns}"\nplate_lead_deg = {lead}\n{"".join(actuators)}'


# Roll right, nose up, nose right positive; check values A16 to A18, B1 to B3 seen from the longer pulse.
# Sources: DAVE-ML reference, "Common sign convention notation"; fatlion.org "V-tails and elevons" (elevons);
# aviationglossary.com "v-tail"; the aileron's sense follows from lift and needs no convention.
SURFACES = [
    ("left aileron", "up", (-1, 0, 0)),
    ("left aileron", "down", (1, 0, 0)),
    ("right aileron", "up", (1, 0, 0)),
    ("right aileron", "down", (-1, 0, 0)),
    ("elevator", "up", (0, 1, 0)),
    ("elevator", "down", (0, -1, 0)),
    ("rudder", "left", (0, 0, -1)),
    ("rudder", "right", (0, 0, 1)),
    ("left elevon", "up", (-1, 1, 0)),
    ("right elevon", "up", (1, 1, 0)),
    ("left elevon", "down", (1, -1, 0)),
    ("right elevon", "down", (-1, -1, 0)),
    ("left v-tail", "up", (0, 1, 1)),
    ("right v-tail", "up", (0, 1, -1)),
    ("left v-tail", "down", (0, -1, -1)),
    ("right v-tail", "down", (0, -1, 1)),
]


@pytest.mark.parametrize(("drives", "way", "effect"), SURFACES)
def test_a_surface_turns_the_aeroplane_as_its_trailing_edge_says(declare, aeroplane, drives, way, effect) -> None:
    read = declare(aeroplane + actuator("a", drives, f'longer_pulse = "trailing edge {way}"')).actuators[0]
    assert read.effect.tolist() == list(effect)
    assert read.longer_pulse == f"trailing edge {way}"
    assert sum(move.tolist() == list(effect) for move in read.moves.values()) == 1
    np.testing.assert_array_equal(sum(read.moves.values()), np.zeros(3))


@pytest.mark.parametrize(("azimuth", "effect"), [(0, (0, 1)), (90, (-1, 0)), (180, (0, -1)), (270, (1, 0))])
def test_a_plate_lifted_on_one_side_tilts_the_airframe_away_from_it(declare, azimuth, effect) -> None:
    # Tilting the plate up at the nose raises the nose; US Army AL0966 p. 23: plate and disc agree.
    up, down = (
        declare(helicopter("clockwise", 0, plate("a", azimuth, w))).actuators[0] for w in ("plate up", "plate down")
    )
    assert up.effect.tolist() == [*effect, 0]
    assert (down.effect + up.effect).tolist() == [0, 0, 0]
    assert up.moves["plate down"].tolist() == down.effect.tolist()


@pytest.mark.parametrize(("turns", "effect"), [("clockwise", (1, 0)), ("counter-clockwise", (-1, 0))])
def test_a_plate_that_leads_by_a_quarter_acts_a_quarter_back_in_the_rotors_sense(declare, turns, effect) -> None:
    # At the nose, leading by 90°: the disc is raised 90° before it in the rotor's sense - on the left for clockwise.
    front = declare(helicopter(turns, 90, plate("a", 0))).actuators[0]
    assert front.effect.tolist() == [*effect, 0]


@pytest.mark.parametrize(
    ("turns", "word", "yaw"),
    [
        ("clockwise", "nose left", -1),
        ("counter-clockwise", "nose left", -1),
        ("clockwise", "nose right", 1),
        ("clockwise", "more thrust", 1),
        ("clockwise", "less thrust", -1),
        ("counter-clockwise", "more thrust", -1),
        ("counter-clockwise", "less thrust", 1),
    ],
)
def test_a_tail_rotor_turns_the_nose_as_its_word_and_the_main_rotor_say(declare, turns, word, yaw) -> None:
    # FAA-H-8083-21 p. 4-4: main rotor counter-clockwise, more tail pitch turns the nose left; mirrored for clockwise.
    tail = declare(helicopter(turns, 0, actuator("tail", "tail rotor", f'longer_pulse = "{word}"'))).actuators[0]
    assert tail.effect.tolist() == [0, 0, yaw]
    assert set(tail.moves) == {"nose left", "nose right", "more thrust", "less thrust"}


def no_rotor(text: str) -> str:
    start, end = text.index("[rotor]"), text.index("[[actuator]]")
    return text[:start] + text[end:]


def test_words_about_the_nose_need_no_main_rotor_and_leave_the_words_about_thrust_out(declare) -> None:
    text = no_rotor(helicopter("clockwise", 0, actuator("tail", "tail rotor", 'longer_pulse = "nose left"')))
    assert set(declare(text).actuators[0].moves) == {"nose left", "nose right"}


def test_words_about_thrust_need_the_main_rotors_sense(refusal) -> None:
    text = no_rotor(helicopter("clockwise", 0, actuator("tail", "tail rotor", 'longer_pulse = "more thrust"')))
    assert (
        'actuator "tail" says "more thrust", but there is no [rotor]; expected a table [rotor] with turns'
        in refusal(text)
    )


def test_a_missing_main_rotor_is_told_once_for_all_its_servos(refusal) -> None:
    text = no_rotor(helicopter("clockwise", 0, plate("a", 0), plate("b", 120), plate("c", 240)))
    assert len(refusal(text).splitlines()) == 1


@pytest.mark.parametrize(
    ("place", "turns", "effect"),
    [
        ("forward = 100, right = 100", "counter-clockwise", (-0.707107, 0.707107, 1)),
        ("aft = 100, left = 100", "clockwise", (0.707107, -0.707107, -1)),
        ("right = 50", "clockwise", (-1, 0, -1)),
        ("up = 30", "clockwise", (0, 0, -1)),
    ],
)
def test_a_lifting_rotor_acts_by_its_lever_and_its_reaction(declare, multirotor, place, turns, effect) -> None:
    # The reaction turns the airframe against the rotor: drones.stackexchange.com/q/415, torque table.
    read = declare(multirotor + rotor("m", place, turns)).actuators[0]
    np.testing.assert_allclose(read.effect, effect, atol=1e-6)
    np.testing.assert_allclose(read.moves["less thrust"], -np.array(effect), atol=1e-6)
    assert read.turns == turns
    assert read.position is not None


def test_a_lifting_rotor_gives_more_thrust_with_a_longer_pulse_and_nothing_else(refusal, multirotor) -> None:
    text = multirotor + rotor("m", "right = 5", "clockwise").replace("more thrust", "less thrust")
    assert 'longer_pulse = "less thrust" is not a word known here; expected "more thrust"' in refusal(text)


@pytest.mark.parametrize("missing", ["position_mm", "turns", "longer_pulse"])
def test_a_lifting_rotor_needs_place_sense_and_word(refusal, multirotor, missing) -> None:
    lines = (multirotor + rotor("m", "right = 5", "clockwise")).splitlines()
    text = "\n".join(line for line in lines if not line.startswith(missing))
    assert refusal(text) == f'dunlin.toml:6: actuator "m" has no {missing}; add {missing} = …'


@pytest.mark.parametrize(
    ("effect", "read"),
    [
        ('roll = "right", pitch = "none", yaw = "none"', (1, 0, 0)),
        ('roll = "left"', (-1, 0, 0)),
        ('pitch = "up"', (0, 1, 0)),
        ('pitch = "nose down", yaw = "left"', (0, -1, -1)),
        ('yaw = "nose right"', (0, 0, 1)),
    ],
)
def test_an_actuator_of_another_kind_does_what_its_effect_says(declare, other, effect, read) -> None:
    vane = declare(other + actuator("vane", "other", f"effect = {{ {effect} }}")).actuators[0]
    assert vane.effect.tolist() == list(read)
    assert vane.longer_pulse == ""
    assert vane.moves["as declared"].tolist() == list(read)
    assert (vane.moves["opposite"] + vane.effect).tolist() == [0, 0, 0]


@pytest.mark.parametrize(
    ("rest", "words"),
    [
        ("", 'actuator "vane" has no effect; add effect = …'),
        ("effect = {}", "turns the airframe about no axis; expected at least one of roll, pitch and yaw"),
        ('effect = { roll = "none", yaw = "none" }', "turns the airframe about no axis"),
        ('effect = { roll = "up" }', 'effect.roll = "up" is not a word known here; expected "right", "left" or "none"'),
        ('effect = { heave = "up" }', 'effect.heave is not a key known here; expected "roll", "pitch" or "yaw"'),
    ],
)
def test_an_effect_that_says_nothing_is_refused(refusal, other, rest, words) -> None:
    assert words in refusal(other + actuator("vane", "other", rest))


QUAD = [
    ("forward = 100, right = 100"),
    ("aft = 100, right = 100"),
    ("aft = 100, left = 100"),
    ("forward = 100, left = 100"),
]


def quad(*senses: str) -> str:
    words = {"c": "clockwise", "n": "counter-clockwise"}
    return "".join(
        rotor(f"m{i}", place, words[sense]) for i, (place, sense) in enumerate(zip(QUAD, senses, strict=True))
    )


@pytest.mark.parametrize("senses", ["cncn", "ncnc"])
def test_four_rotors_whose_neighbours_turn_opposite_ways_are_taken(declare, multirotor, senses) -> None:
    assert declare(multirotor + quad(*senses)).effects.shape == (4, 3)


@pytest.mark.parametrize("senses", ["cccc", "nnnn", "cnnc", "ccnn"])
def test_four_rotors_that_leave_yaw_to_roll_or_pitch_or_thrust_are_refused(refusal, multirotor, senses) -> None:
    message = refusal(multirotor + quad(*senses))
    assert "cannot command roll, pitch and yaw each by itself" in message
    assert "turns or position_mm of one rotor is wrong" in message


def test_two_rotors_in_one_place_need_opposite_senses(declare, refusal, multirotor) -> None:
    first, second = rotor("upper", "right = 100", "clockwise"), rotor("lower", "right = 100", "counter-clockwise")
    assert len(declare(multirotor + first + second).actuators) == 2
    message = refusal(multirotor + first + second.replace("counter-", ""))
    assert '"lower" has the place and the sense of "upper"' in message


def test_rotors_of_one_sense_in_different_places_are_taken(declare, multirotor) -> None:
    right, left = rotor("right", "right = 100", "clockwise"), rotor("left", "left = 100", "clockwise")
    for pair in (right + left, left + right):
        assert len(declare(multirotor + pair).actuators) == 2


@pytest.mark.parametrize("azimuths", [(180, 60, 300), (0, 120, 240), (180, 40, 320), (180, 45, 315), (0, 90, 180, 270)])
def test_the_usual_plate_layouts_are_taken(declare, azimuths) -> None:
    # Check values S1 to S6 (layouts of 135° and 90° are common practice, without a published source).
    servos = [plate(f"s{azimuth}", azimuth) for azimuth in azimuths]
    assert np.linalg.matrix_rank(declare(helicopter("clockwise", 0, *servos)).effects) == 2


def test_servos_on_one_line_through_the_shaft_are_refused_unless_another_tilts_the_other_way(declare, refusal) -> None:
    line = [plate("front", 0), plate("back", 180)]
    assert "tilt it one way only" in refusal(helicopter("clockwise", 0, *line))
    vane = actuator("vane", "other", 'effect = { roll = "right" }')
    assert len(declare(helicopter("clockwise", 0, *line, vane)).actuators) == 3


def test_two_servos_at_one_azimuth_are_refused(refusal) -> None:
    servos = [plate("a", 0), plate("b", 120), plate("c", 360)]
    assert '"c" moves the plate at the same azimuth as "a"' in refusal(helicopter("clockwise", 0, *servos))


def test_one_servo_alone_is_taken(declare) -> None:
    assert len(declare(helicopter("clockwise", 0, plate("a", 0))).actuators) == 1
