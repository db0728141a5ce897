"""What holds for every mounting and for every text that may be handed in as an airframe file."""

from __future__ import annotations

import re
from itertools import combinations, permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.declaration.airframe_file import read_airframe
from benchrig.errors import AirframeFileError
from benchrig.geometry.directions import DIRECTIONS, unit_vector

HEAD = '[airframe]\nname = "Knot"\nkind = "other"\n[sensor]\n'
GOOD = (
    HEAD
    + """\
axes = { x = "aft", y = "left", z = "down" }
position_mm = { aft = 180, up = 25 }
accelerometer_reads = "gravity"
[rotor]
turns = "clockwise"
[[actuator]]
name = "front"
drives = "swashplate"
azimuth_deg = 0
longer_pulse = "plate up"
[[actuator]]
name = "m1"
drives = "rotor"
position_mm = { forward = 100, right = 80 }
turns = "clockwise"
longer_pulse = "more thrust"
[[actuator]]
name = "vane"
drives = "other"
effect = { roll = "right", pitch = "none", yaw = "none" }
[limits]
required_motions = ["nose up", "level"]
"""
)


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return tmp_path_factory.mktemp("airframe") / "knot.toml"


def read(path, text: str | bytes):
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass"))
    return read_airframe(path)


def axes_line(words: dict[str, str]) -> str:
    entries = [f'{axis} = "{word}"' for axis, word in words.items()]
    return f"axes = {{ {', '.join(entries)} }}\n"


def triples() -> list[dict[str, str]]:
    """All 48 sets of three words along three lines."""
    axes = (("forward", "aft"), ("right", "left"), ("down", "up"))
    return [dict(zip("xyz", words, strict=True)) for order in permutations(axes) for words in product(*order)]


def is_right_handed(words: dict[str, str]) -> bool:
    x, y, z = (unit_vector(words[axis]) for axis in "xyz")
    return float(np.cross(x, y) @ z) > 0


RIGHT_HANDED = [words for words in triples() if is_right_handed(words)]
LEFT_HANDED = [words for words in triples() if not is_right_handed(words)]


def test_of_the_48_sets_of_words_24_are_right_handed() -> None:
    assert (len(RIGHT_HANDED), len(LEFT_HANDED)) == (24, 24)


@pytest.mark.parametrize("words", RIGHT_HANDED, ids=lambda words: "-".join(words.values()))
def test_every_square_mounting_is_proper_and_reads_itself_again_by_any_two_words(path, words) -> None:
    whole = read(path, HEAD + axes_line(words)).sensor
    assert np.linalg.det(whole.body_from_sensor) == 1.0
    assert whole.axes == words
    for pair in combinations("xyz", 2):
        two = read(path, HEAD + axes_line({axis: words[axis] for axis in pair})).sensor
        np.testing.assert_array_equal(two.body_from_sensor, whole.body_from_sensor)
    rows = whole.body_from_sensor.tolist()
    np.testing.assert_array_equal(read(path, f"{HEAD}rotation = {rows}").sensor.body_from_sensor, rows)


@pytest.mark.parametrize("words", LEFT_HANDED, ids=lambda words: "-".join(words.values()))
def test_every_left_handed_set_is_refused_and_the_right_third_word_named(path, words) -> None:
    with pytest.raises(AirframeFileError, match="are left-handed") as caught:
        read(path, HEAD + axes_line(words))
    named = re.search(r"z points (\w+); one word is wrong", str(caught.value))
    assert named
    assert is_right_handed({**words, "z": named[1]})


@given(word=st.sampled_from(sorted(DIRECTIONS)), other=st.sampled_from(sorted(DIRECTIONS)))
@settings(deadline=None)
def test_two_words_are_taken_exactly_if_they_are_square_to_each_other(path, word, other) -> None:
    text = HEAD + axes_line({"x": word, "z": other})
    if DIRECTIONS[word][0] == DIRECTIONS[other][0]:
        with pytest.raises(AirframeFileError, match="lie along one line"):
            read(path, text)
    else:
        assert read(path, text).sensor.axes["z"] == other


def judged(path, text: str | bytes) -> None:
    """Read anything: it is taken, or refused with a place, a finding and no raw control characters."""
    try:
        read(path, text)
    except AirframeFileError as error:
        problems = error.problems
    else:
        return
    assert problems
    for problem in problems:
        assert problem.place.startswith("knot.toml")
        assert str(problem).isprintable()
        assert len(str(problem)) < 1500


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_refused_and_never_raise_anything_else(path, content) -> None:
    judged(path, content)


VALUES = st.sampled_from(
    [
        "1",
        "-1",
        "1e999",
        "nan",
        "true",
        '"\\u001b[2J"',
        '""',
        "[]",
        "{}",
        "[[1]]",
        "{ x = 1 }",
        "2026-01-01",
        "07:00:00",
        "9" * 400,
        '"aft"',
        '"' + "x" * 5000 + '"',
        "[{}, 1, 'a']",
        '{ "\\u202e" = "\\u202e" }',
    ]
)


@settings(max_examples=300, deadline=None)
@given(st.integers(0, GOOD.count("\n") - 1), VALUES)
def test_any_value_in_place_of_another_is_taken_or_refused_clearly(path, line, value) -> None:
    lines = GOOD.splitlines()
    lines[line] = f"{lines[line].split(' = ')[0]} = {value}" if " = " in lines[line] else lines[line]
    judged(path, "\n".join(lines))


@settings(max_examples=200, deadline=None)
@given(st.sets(st.integers(0, GOOD.count("\n") - 1), max_size=4), st.integers(0, len(GOOD)), st.text(max_size=3))
def test_lines_left_out_and_text_put_in_are_taken_or_refused_clearly(path, gone, place, extra) -> None:
    text = GOOD[:place] + extra + GOOD[place:]
    judged(path, "\n".join(line for number, line in enumerate(text.split("\n")) if number not in gone))


@settings(max_examples=200, deadline=None)
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
        max_leaves=6,
    ),
    st.sampled_from(["airframe", "sensor", "magnetometer", "clearances_mm", "rotor", "limits", "actuator", "other"]),
)
def test_any_data_in_any_table_is_taken_or_refused_clearly(path, data, table) -> None:
    import tomlkit  # noqa: PLC0415 - writes the data as TOML, here only
    from tomlkit.exceptions import TOMLKitError  # noqa: PLC0415 - the same

    try:
        text = tomlkit.dumps({table: data})
    except (TOMLKitError, ValueError, TypeError):
        return  # a none, or a number that TOML cannot write
    judged(path, text + "\n" + GOOD)
