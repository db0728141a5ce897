"""Whatever is written on a worksheet, it is read or refused with a place: never a traceback."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.errors import WorksheetError
from benchrig.measure.cg.measure import measure_cg
from benchrig.measure.cg.worksheet_file import read_worksheet

EXAMPLE = (Path(__file__).parents[2] / "captures/dunlin-cg.toml").read_text(encoding="utf-8")
LINES = EXAMPLE.splitlines()
VALUES = [i for i, line in enumerate(LINES) if "=" in line]
SCALARS = st.one_of(
    st.integers(-(10**6), 10**6).map(str),
    st.floats().map(repr),
    st.sampled_from(
        ['""', '"up"', '"main shaft"', "true", "[]", "{}", "[{}]", "{ up = 0 }", "{ aft = 5 }", "2026-01-01"]
    ),
    st.sampled_from(
        ["{ aft = 1, forward = 1 }", "{ right = nan }", "[1, 2]", '"pictures"', '"upside down"', "07:00:00"]
    ),
)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    return tmp_path_factory.mktemp("sheet") / "sheet.toml"


def outcome_of(path, text, airframe):
    """Give the quantities, or the places of the faults."""
    path.write_text(text, encoding="utf-8")
    try:
        return measure_cg(airframe, read_worksheet(path, airframe)).quantities, []
    except WorksheetError as refused:
        return [], [problem.place for problem in refused.problems]


def measured_or_refused(path, text, airframe):
    quantities, places = outcome_of(path, text, airframe)
    assert quantities or places
    assert all(place.startswith("sheet.toml") for place in places)
    for quantity in quantities:
        assert quantity.value is not None or quantity.reason, quantity
        assert quantity.value is None or quantity.uncertainty is None or quantity.uncertainty > 0


@settings(max_examples=150, deadline=None)
@given(line=st.sampled_from(VALUES), value=SCALARS)
def test_any_value_in_place_of_another_is_read_or_refused(line, value, sheet, demo_airframe):
    changed = [*LINES]
    changed[line] = f"{LINES[line].partition('=')[0]}= {value}"
    measured_or_refused(sheet, "\n".join(changed), demo_airframe("dunlin"))


@settings(max_examples=60, deadline=None)
@given(dropped=st.sets(st.integers(0, len(LINES) - 1), min_size=1, max_size=4), twice=st.integers(0, len(LINES) - 1))
def test_any_line_left_out_or_written_twice_is_read_or_refused(dropped, twice, sheet, demo_airframe):
    kept = [line for i, line in enumerate(LINES) if i not in dropped for _ in range(2 if i == twice else 1)]
    measured_or_refused(sheet, "\n".join(kept), demo_airframe("dunlin"))


@settings(max_examples=60, deadline=None)
@given(line=st.integers(0, len(LINES) - 1), old=st.sampled_from(re.findall(r"\w+", EXAMPLE)), new=st.text(max_size=5))
def test_any_word_misspelt_is_read_or_refused(line, old, new, sheet, demo_airframe):
    changed = [*LINES]
    changed[line] = changed[line].replace(old, new)
    measured_or_refused(sheet, "\n".join(changed), demo_airframe("dunlin"))
