"""The hemisphere of a compass: one of two words, or left out."""

from __future__ import annotations

import pytest

from benchrig.declaration.airframe_file import read_airframe

COMPASS = '[magnetometer]\naxes = { x = "forward", y = "right" }\n'


@pytest.mark.parametrize("word", ["north", "south"])
def test_the_hemisphere_is_read(aeroplane, tmp_path, word):
    path = tmp_path / "wheatear.toml"
    path.write_text(f'{aeroplane}{COMPASS}hemisphere = "{word}"\n', encoding="utf-8")
    assert read_airframe(path).magnetometer.hemisphere == word


def test_left_out_it_is_not_guessed(aeroplane, tmp_path):
    path = tmp_path / "wheatear.toml"
    path.write_text(aeroplane + COMPASS, encoding="utf-8")
    assert read_airframe(path).magnetometer.hemisphere is None


def test_another_word_is_refused_with_the_words_there_are(aeroplane, refusal):
    message = refusal(f'{aeroplane}{COMPASS}hemisphere = "northern"\n')
    assert "magnetometer.hemisphere" in message
    assert "north" in message.partition("expected")[2]
