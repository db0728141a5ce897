"""Block letters: whole, different from one another, and never wider than their place."""

from itertools import combinations
from string import ascii_uppercase, digits

import pytest

from benchrig.cli.record.letters import HEIGHT, block_letters
from benchrig.geometry.turns import REQUIRED_TURNS

DRAWN = ascii_uppercase + digits + "-°"


@pytest.mark.parametrize("letter", DRAWN)
def test_every_letter_is_a_block_of_five_lines_of_one_length(letter):
    lines = block_letters(letter, 80)
    assert len(lines) == HEIGHT
    assert len({len(line) for line in lines}) == 1
    assert any("█" in line for line in lines)


def test_no_two_letters_look_alike():
    alike = {frozenset("O0")}
    for one, other in combinations(DRAWN, 2):
        if frozenset((one, other)) not in alike:
            assert block_letters(one, 80) != block_letters(other, 80), (one, other)


@pytest.mark.parametrize("word", [*REQUIRED_TURNS, "free", "hands off", "lay it back", "waiting", "not shown"])
def test_every_prompt_fits_an_ordinary_terminal(word):
    assert block_letters(word, 80)


def test_letters_grow_with_their_place_and_stay_within_it():
    lines = block_letters("up", 64, 10)
    assert len(lines) == 10
    assert len(lines[0]) == 28


@pytest.mark.parametrize("text", ["a very long word indeed", "größer", "", " "])
def test_what_does_not_fit_or_is_not_drawn_gives_nothing(text):
    assert block_letters(text, 80) == []


def test_letters_can_be_made_of_plain_signs():
    assert "".join(block_letters("NOSE UP", 80, fill="#")).isascii()
