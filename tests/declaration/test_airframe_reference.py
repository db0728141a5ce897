"""The reference page of the airframe file says what the reader does: keys, words, ranges and the example."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from benchrig.declaration.actuator_file import LONGER_PULSE_WORDS, OTHER_WORDS
from benchrig.declaration.actuators import DRIVES, DRIVES_OF_KIND
from benchrig.declaration.airframe_file import MOST_ACTUATORS, REQUIRABLE
from benchrig.declaration.airframe_tables import LONGEST_NAME, RANGES, TABLES, actuator_table
from benchrig.declaration.mounting import SQUARENESS

PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "airframe-file.md").read_text(encoding="utf-8")


def section(title: str) -> str:
    found = re.search(rf"^## `{re.escape(title)}`.*?(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert found, title
    return found[0]


def rows(text: str) -> dict[str, list[str]]:
    """Give the rows of a page's tables by the code word in their first column."""
    cells = [
        [cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")
    ]
    return {row[0].strip("`"): row[1:] for row in cells if row[0].startswith("`")}


def numbers(text: str) -> list[float]:
    return [
        float(n)
        for n in re.findall(r"-?\d+(?:\.\d+)?", text.replace("−", "-").replace("\u00a0", "").replace(" 000", "000"))
    ]


@pytest.mark.parametrize("name", TABLES)
def test_every_table_is_described_with_all_its_keys_and_no_other(name) -> None:
    described = rows(section(f"[{name}]"))
    fields = TABLES[name].model_fields
    assert set(described) == set(fields)
    for key, field in fields.items():
        assert described[key][0].startswith("yes") == field.is_required(), key


def test_every_key_of_an_actuator_is_described() -> None:
    described = set(rows(section("[[actuator]]"))) - set(DRIVES) - {"drives"}
    keys = {key for drives in DRIVES for key in actuator_table(drives).model_fields} - {"drives"}
    assert described == keys


def test_every_thing_driven_is_described_with_its_kinds_and_words() -> None:
    described = rows(section("[[actuator]]"))
    for drives, words in LONGER_PULSE_WORDS.items():
        kinds, shown = described[drives]
        known = [kind for kind, driven in DRIVES_OF_KIND.items() if drives in driven]
        assert kinds == ("all" if len(known) == len(DRIVES_OF_KIND) else ", ".join(known))
        if words:
            assert re.findall(r"`([^`]*)`", shown) == list(words)
    assert all(f"`{word}`" in PAGE for word in OTHER_WORDS)


def test_every_range_stands_on_the_page() -> None:
    for name in ("airframe", "sensor", "rotor", "clearances_mm"):
        for key, cells in rows(section(f"[{name}]")).items():
            if key in RANGES:
                assert numbers(cells[2])[:2] == list(RANGES[key]), key
    actuators = rows(section("[[actuator]]"))
    assert numbers(actuators["azimuth_deg"][2]) == list(RANGES["azimuth_deg"])
    assert numbers(actuators["centre_us"][2]) == list(RANGES["centre_us"])
    assert numbers(rows(section("[sensor]"))["position_mm"][2]) == list(RANGES["distance"])
    assert numbers(rows(section("[clearances_mm]"))["magnetometer_to_motor"][2]) == list(RANGES["clearance"])
    assert numbers(rows(section("[airframe]"))["name"][2])[-1] == LONGEST_NAME
    assert f"{MOST_ACTUATORS} at most" in PAGE
    assert f"{SQUARENESS:g}, which three decimals keep" in PAGE


def test_the_motions_that_can_be_required_stand_on_the_page() -> None:
    assert re.findall(r"`([^`]*)`", rows(section("[limits]"))["required_motions"][2]) == list(REQUIRABLE)


def test_the_example_on_the_page_is_the_one_that_is_tested(helicopter) -> None:
    found = re.search(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    assert found
    assert found[1] == helicopter
