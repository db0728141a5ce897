"""What the page on recording shows and names is what the program shows and takes."""

import re
from pathlib import Path

import pytest
from bench_views import HEARD

from benchrig.cli.record import phrases
from benchrig.cli.record.command import record
from benchrig.cli.record.ink import Ink
from benchrig.cli.record.screen import Bench, page
from benchrig.live.view import Standing, View

PAGE = (Path(__file__).parents[3] / "docs/how-to/record-on-the-bench.md").read_text(encoding="utf-8")
CELLS = {
    "level": {"accelerometer": "pass"},
    "nose up": {"gyro": "pass", "actuator:front": "pass"},
    "nose down": {"gyro": "pass", "actuator:front": "not shown"},
    "roll right": {"gyro": "not shown", "actuator:front": "not shown"},
}
SHOWN = View(
    "hold",
    "roll right",
    (25.0, 50.0),
    4,
    turned_deg=(38.0, 2.0, 1.0),
    held_s=0.4,
    hold_s=0.6,
    said="nose down by 36°",
    mood="good",
    heard=HEARD,
    standing=Standing("not shown", "not shown", "not shown", CELLS),
)


def test_the_page_shows_the_screen_as_it_is():
    shown = re.search(r"```text\n(.*?)```", PAGE, re.DOTALL)[1].splitlines()
    assert shown == page(Bench("Dunlin 450", "helicopter"), SHOWN, (80, 24), Ink("utf-8"))


def test_every_option_that_the_page_names_is_one():
    options = {name for parameter in record.params for name in (*parameter.opts, *parameter.secondary_opts)}
    named = set(re.findall(r"(?<!-)--[a-z][a-z-]*", PAGE)) - {"--live"}  # of the simulated unit
    assert named <= options


@pytest.mark.parametrize("key", ["space", "backspace", "enter", "q"])
def test_every_key_of_the_screen_is_told_on_the_page(key):
    assert f"| {key} |" in PAGE
    assert f"{key}:" in phrases.keys(80)[0]


@pytest.mark.parametrize("word", ["hands off", "hold it", "lay it back"])
def test_every_large_word_of_the_page_is_one(word):
    assert f"`{word.upper()}`" in PAGE
    shown = {phrases.large(View(phase, "nose up")) for phase in ("lie still", "move", "hold", "return")}
    assert word in shown
