"""The page on `benchrig simulate` says what the command does."""

from pathlib import Path

import pytest

from benchrig.cli.simulate import simulate
from benchrig.simulation.faults import FAULTS, usual_value

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "simulate.md"


@pytest.fixture(scope="module")
def page():
    return PAGE.read_text(encoding="utf-8")


def test_the_page_lists_every_fault_as_the_program_does(page):
    listed = [line for line in page.splitlines() if line.startswith("| `") and not line.startswith("| `--")]
    assert listed == [f"| `{name}{usual_value(kind)}` | {kind.text} |" for name, kind in FAULTS.items()]


def test_the_page_lists_every_option(page):
    for parameter in simulate.params:
        for option in parameter.opts:
            assert not option.startswith("--") or f"`{option}" in page
