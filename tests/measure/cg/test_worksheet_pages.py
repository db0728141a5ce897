"""The pages about the worksheet say what the reader does, and show what the program prints."""

import re
import shlex
from pathlib import Path

import pytest

from benchrig.cli.main import exit_status
from benchrig.measure.cg.worksheet_file import MOST_ENTRIES, placeable
from benchrig.measure.cg.worksheet_form import LISTS, RANGES, TABLES, USUAL, SupportTable
from benchrig.measure.cg.worksheet_hangs import NEAREST_MARK
from benchrig.measure.cg.worksheet_parts import STEEPEST_ALONE
from benchrig.measure.cg.worksheet_weighings import FEWEST_SUPPORTS, MOST_SUPPORTS

TOP = Path(__file__).parents[3]
PAGE = (TOP / "docs/reference/worksheet.md").read_text(encoding="utf-8")
HOW_TO = (TOP / "docs/how-to/find-the-centre-of-gravity.md").read_text(encoding="utf-8")


def section(title):
    found = re.search(rf"^## `{re.escape(title)}.*?(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert found, title
    return found[0]


def rows(text):
    cells = [[c.strip() for c in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("| `")]
    return {row[0].strip("`"): row[1:] for row in cells}


def numbers(text):
    return [float(n.replace(" ", "")) for n in re.findall(r"\d+(?: \d{3})*(?:\.\d+)?", text)]


@pytest.mark.parametrize("name", TABLES)
def test_every_table_is_described_with_all_its_keys_and_no_other(name):
    assert set(rows(section(f"[{name}]"))) == set(TABLES[name].model_fields)


@pytest.mark.parametrize("name", LISTS)
def test_every_list_is_described_with_all_its_keys_and_no_other(name):
    described = rows(section(f"[[{name}]]"))
    keys = set(LISTS[name].model_fields) | (set(SupportTable.model_fields) if name == "weighing" else set())
    assert set(described) == keys
    for key, field in LISTS[name].model_fields.items():
        if key != "support":
            assert (described[key][0] == "yes") == field.is_required(), key


def test_every_range_and_every_usual_accuracy_stand_on_the_page():
    described = {k: v for name in (*TABLES, *LISTS) for k, v in rows(PAGE).items()}
    for key in ("mass_g", "distance_mm", "angle_deg", "scale_g", "grams", "empty_grams"):
        assert numbers(described[key][2])[:2] == list(RANGES[key]), key
    assert numbers(described["nose_down_deg"][2] or "") in ([], list(RANGES["nose_deg"]))
    hang = rows(section("[[hang]]"))
    assert numbers(hang["nose_down_deg"][2]) == list(RANGES["nose_deg"])
    assert numbers(hang["left_down_deg"][2]) == list(RANGES["across_deg"])
    usual = rows(section("[accuracy]"))
    assert {key: numbers(cells[3])[0] for key, cells in usual.items()} == USUAL
    assert numbers(rows(section("[[weighing]]"))["support"][2]) == [FEWEST_SUPPORTS, MOST_SUPPORTS]
    assert f"There can be {MOST_ENTRIES} of each list." in PAGE
    assert f"{NEAREST_MARK * 1e3:.0f} mm or more from the point" in PAGE
    assert f"slope over {STEEPEST_ALONE:.0f}°" in PAGE


def test_the_places_on_the_page_are_those_of_the_demo_airframes(demo_airframe):
    assert placeable(demo_airframe("dunlin")) == ("sensor", "magnetometer")
    assert placeable(demo_airframe("knot"))[-4:] == ("front right", "rear right", "rear left", "front left")


def test_the_example_on_the_page_is_the_worksheet_that_comes_with_the_program():
    shown = re.search(r"```toml\n(.*?)```", PAGE, re.DOTALL)[1]
    assert shown == (TOP / "captures/dunlin-cg.toml").read_text(encoding="utf-8")


def test_the_refusals_on_the_page_are_those_of_the_program(refusal):
    shown = re.search(r"```text\n(.*?)```", PAGE, re.DOTALL)[1].splitlines()
    example = (TOP / "captures/dunlin-cg.toml").read_text(encoding="utf-8")
    signed = example.replace("{ aft = 980, up = 30 }", "{ aft = -980, up = 30 }")
    mixed = example.replace("grams = 761", "grams = 0.76")
    for line, text in zip(shown, (signed, mixed), strict=True):
        told = [part.strip() for part in line.split("…")[0].split(";") if part.strip()]
        message = refusal(text)
        assert told
        assert all(part in message for part in told), message


def test_the_command_of_the_how_to_prints_the_line_that_it_shows(monkeypatch, capsys):
    monkeypatch.chdir(TOP)
    monkeypatch.setenv("COLUMNS", "80")
    command = re.search(r"```sh\n(benchrig measure cg .*?)\n```", HOW_TO)[1]
    assert exit_status(shlex.split(command)[1:]) == 0
    shown = re.search(r"```text\n(sensor from CG.*?)\n```", HOW_TO)[1]
    assert shown in capsys.readouterr().out


def test_the_forgotten_line_of_the_how_to_leads_to_the_words_it_shows(measured):
    example = (TOP / "captures/dunlin-cg.toml").read_text(encoding="utf-8")
    (finding,) = measured(example.replace('{ up = 130 }\nmeasured_from = "main shaft"', "{ up = 130 }")).findings
    shown = re.search(r"```text\n(These hangs.*?)\n```", HOW_TO)[1]
    assert re.sub(r"χ² = \d+", "", finding.text) == re.sub(r"χ² = \d+", "", shown)


def test_the_how_to_carries_the_cautions_of_the_measurement(measured):
    said = " ".join(HOW_TO.split())
    sheet = '[[hang]]\nname = "a"\npoint_mm = {}\nplumb_mark_mm = { down = 90 }\n'
    assert all(caution in said for caution in measured(sheet).cautions)
