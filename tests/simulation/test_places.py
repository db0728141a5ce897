"""Places on the command line: words and distances, never signs."""

import numpy as np
import pytest

from benchrig.errors import UsageError
from benchrig.simulation.places import parse_place, place_words, written


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
        ("up=-3", r'"-3" after up is no distance; expected a number of mm, zero or more'),
        ("up", r'"" after up is no distance'),
        ("up=nan", r'"nan" after up is no distance'),
        ("up=inf", r'"inf" after up is no distance'),
        ("forward=3,aft=4", r"forward and aft are both given; expected one of them; write it like aft=180,up=25"),
        ("", r'"" is no direction'),
    ],
)
def test_a_place_that_cannot_be_read_is_refused(text, message):
    with pytest.raises(UsageError, match=message):
        parse_place("--flag", text)
