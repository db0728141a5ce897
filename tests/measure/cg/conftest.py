"""Worksheets as text, read and measured against the demo helicopter."""

from __future__ import annotations

import pytest

from benchrig.errors import WorksheetError
from benchrig.measure.cg.measure import measure_cg
from benchrig.measure.cg.worksheet_file import read_worksheet

REFERENCE = '[reference]\npoint = "the nose"\n'


@pytest.fixture
def read_sheet(tmp_path, demo_airframe):
    """Read a text as the worksheet sheet.toml; the reference is put before it where it has none."""

    def read(text, airframe="dunlin"):
        path = tmp_path / "sheet.toml"
        path.write_text(text if "[reference]" in text else REFERENCE + text, encoding="utf-8")
        return read_worksheet(path, demo_airframe(airframe))

    return read


@pytest.fixture
def refusal(read_sheet):
    """Give the whole message with which a text is refused; every part of it names the worksheet."""

    def refuse(text, airframe="dunlin"):
        with pytest.raises(WorksheetError) as caught:
            read_sheet(text, airframe)
        assert all(problem.place.startswith("sheet.toml") for problem in caught.value.problems)
        return str(caught.value)

    return refuse


@pytest.fixture
def measured(read_sheet, demo_airframe):
    """Measure from a text."""

    def measure(text, airframe="dunlin"):
        return measure_cg(demo_airframe(airframe), read_sheet(text, airframe))

    return measure
