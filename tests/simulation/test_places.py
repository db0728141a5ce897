"""Places on the command line: words and distances, never signs."""

import numpy as np
import pytest

from benchrig.errors import UsageError
from benchrig.simulation.places import field_written, parse_field, parse_place, place_words, written


@pytest.mark.parametrize("place", [(-0.18, 0.0, -0.025), (0.1, -0.02, 0.3), (0.0, 0.0, 0.0), (0.0005, 0.0, 0.0)])
def test_a_place_is_read_as_it_was_written(place):
    assert parse_place("--flag", written(place)) == pytest.approx(place)


def test_words_stand_for_signs():
    assert parse_place("--flag", "left = 3 , up=4.5") == (0.0, -0.003, -0.0045)
    assert place_words(np.array([10.0, -3.0, 0.0])) == {"forward": 10.0, "left": 3.0, "down": 0.0}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("above=3", r'--flag: "above" is no direction; expected words of forward, aft'),
        ("up=-3", r'"-3" after up is no size; expected a number, zero or more; write it like aft=180,up=25'),
        ("up", r'"" after up is no size'),
        ("up=nan", r'"nan" after up is no size'),
        ("up=inf", r'"inf" after up is no size'),
        ("forward=3,aft=4", r"forward and aft are both given; expected one of them; write it like aft=180,up=25"),
        ("", r'"" is no direction'),
    ],
)
def test_a_place_that_cannot_be_read_is_refused(text, message):
    with pytest.raises(UsageError, match=message):
        parse_place("--flag", text)


@pytest.mark.parametrize("field", [(20.0, 0.0, 45.0), (19.93, -1.25, -44.7)])
def test_a_field_is_read_as_it_was_written(field):
    assert parse_field("--flag", field_written(field)) == field


def test_a_field_goes_by_the_points_of_the_compass():
    assert parse_field("--flag", "south=3,west=4,up=5") == (-3.0, -4.0, -5.0)
    with pytest.raises(UsageError, match=r'--flag: "aft" is no direction; expected words of north, south, east, west'):
        parse_field("--flag", "aft=20")
