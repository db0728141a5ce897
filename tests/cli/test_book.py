"""`benchrig book` by its files, its output and its status."""

import json
import shutil
from pathlib import Path

import pytest

from benchrig.cli.main import exit_status
from benchrig.keeping.book_file import BOOK, RESULTS, read_book


@pytest.fixture
def bench(captures, tmp_path, monkeypatch):
    """Work in a folder with the demo airframes and captures."""
    for path in captures.glob("*"):
        if path.suffix in {".toml", ".csv"}:
            shutil.copy(path, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_checked_bench_is_entered_listed_shown_and_due_when_the_airframe_changes(bench, capsys):
    assert exit_status(["check", "dunlin.toml", "dunlin-ok.toml", "--book", "."]) == 0
    assert f"Entered in the book of .: {RESULTS}/" in capsys.readouterr().err
    assert exit_status(["book"]) == 0
    assert "next bench  not due" in capsys.readouterr().out
    assert exit_status(["book", "due"]) == 0
    assert capsys.readouterr().out.endswith("No bench is due.\n")
    assert exit_status(["book", "show", "dunlin.toml", "--html", "d.html"]) == 0
    assert "GYRO BIAS, X" in capsys.readouterr().out
    assert "Bench book" in (bench / "d.html").read_text(encoding="utf-8")
    airframe = bench / "dunlin.toml"
    airframe.write_text(airframe.read_text().replace('longer_pulse = "nose left"', 'longer_pulse = "nose right"'))
    assert exit_status(["book", "due"]) == 3
    assert "actuator tail longer_pulse" in capsys.readouterr().out


def test_results_are_added_from_a_folder_and_a_change_makes_a_bench_due(bench, capsys):
    assert exit_status(["check", "dunlin.toml", "dunlin-ok.toml", "--json", "ok.json"]) == 0
    assert exit_status(["book", "add", "."]) == 0
    assert "1 bench entered" in capsys.readouterr().out
    assert exit_status(["book", "changed", "DUNLIN 450", "tail servo repaired"]) == 0
    assert "Entered for Dunlin 450: tail servo repaired. A bench is due." in capsys.readouterr().out
    assert exit_status(["book", "--json", "-"]) == 3
    (said,) = json.loads(capsys.readouterr().out)["airframes"]
    assert [reason["code"] for reason in said["reasons"]] == ["changed"]
    assert exit_status(["book", "show", "dunlin 450", "--json", "shown.json"]) == 3
    assert json.loads((bench / "shown.json").read_text())["airframes"][0]["benches"]


def test_the_book_of_another_folder_is_named_after_book_or_after_the_command(bench, capsys):
    (bench / "kept").mkdir()
    assert exit_status(["check", "knot.toml", "knot-gyro-roll-sign.toml", "--book", "kept"]) == 1
    assert exit_status(["book", "due"]) == 2
    assert "holds no bench book" in capsys.readouterr().err
    for order in (["book", "due", "--book", "kept"], ["book", "--book", "kept", "due"], ["book", "--book", "kept"]):
        assert exit_status(order) == 3
        assert "no bench of it has passed" in capsys.readouterr().out


@pytest.mark.usefixtures("bench")
def test_an_airframe_that_is_not_in_the_book_is_told_with_those_that_are(capsys):
    assert exit_status(["check", "teal.toml", "teal-elevator-reversed.toml", "--book", "."]) == 1
    assert exit_status(["book", "show", "Tael"]) == 2
    assert 'holds no airframe "Tael"; expected one of: Teal; likely cause: "Teal" is meant' in capsys.readouterr().err
    assert exit_status(["book", "show", "dunlin.toml"]) == 2
    assert 'holds no airframe "Dunlin 450"' in capsys.readouterr().err


def test_a_book_that_cannot_be_used_stops_a_check_before_it_judges(bench, capsys):
    (bench / BOOK).write_text("nothing of the kind\n" * 100)
    assert exit_status(["check", "dunlin.toml", "dunlin-ok.toml", "--book", "."]) == 5
    said = capsys.readouterr()
    assert "is no database" in said.err
    assert said.out == ""
    assert exit_status(["check", "dunlin.toml", "dunlin-ok.toml", "--book", "gone"]) == 2
    assert "--book gone: is not there" in capsys.readouterr().err


def test_a_spoilt_result_is_refused_with_status_5_and_the_rest_is_entered(bench, capsys):
    assert exit_status(["check", "dunlin.toml", "dunlin-ok.toml", "--json", "ok.json"]) == 0
    (bench / "bad.json").write_text((bench / "ok.json").read_text().replace("R. Vane", "N. Body"))
    capsys.readouterr()
    assert exit_status(["book", "add", "ok.json", "bad.json"]) == 5
    said = capsys.readouterr()
    assert said.out == "1 bench entered, 1 refused\n"
    assert "bad.json: was changed after it was written" in said.err


@pytest.mark.usefixtures("bench")
def test_what_is_kept_but_not_entered_is_told(capsys):
    assert exit_status(["check", "dunlin.toml", "dunlin-ok.toml", "--book", "."]) == 0
    assert exit_status(["check", "teal.toml", "teal-elevator-reversed.toml", "--json", f"{RESULTS}/teal.json"]) == 1
    capsys.readouterr()
    assert exit_status(["book"]) == 0
    assert f"1 file in {RESULTS} not entered; `benchrig book add {RESULTS}` enters them" in capsys.readouterr().err


@pytest.mark.usefixtures("bench")
def test_a_change_is_dated_so_that_no_doubt_is_a_pass(capsys):
    assert exit_status(["check", "dunlin.toml", "dunlin-ok.toml", "--book", "."]) == 0
    day = f"{read_book(Path())[0].when:%Y-%m-%d}"
    for on, said, status in (("2020-01-01", "A bench has passed since.", 0), (day, "A bench is due.", 3)):
        assert exit_status(["book", "changed", "dunlin.toml", "new unit", "--on", on]) == 0
        assert said in capsys.readouterr().out
        assert exit_status(["book", "due"]) == status
    assert exit_status(["book", "changed", "dunlin.toml", "new unit", "--on", "2999-01-01"]) == 2
    assert "--on 2999-01-01: is still to come; expected a day up to" in capsys.readouterr().err


@pytest.mark.usefixtures("bench")
def test_what_the_book_says_never_takes_the_place_of_a_result(capsys):
    assert exit_status(["check", "dunlin.toml", "dunlin-ok.toml", "--json", "ok.json", "--book", "."]) == 0
    kept = Path("ok.json").read_text()
    for command in (["book"], ["book", "due"], ["book", "show", "dunlin.toml"]):
        capsys.readouterr()
        assert exit_status([*command, "--json", "ok.json"]) == 2
        assert "ok.json: exists and was not made by this command" in capsys.readouterr().err
        assert Path("ok.json").read_text() == kept
        assert exit_status([*command, "--json", "said.json"]) == 0
        assert exit_status([*command, "--json", "said.json"]) == 0
    assert exit_status(["book", "--json", "ok.json", "--force"]) == 0


def test_an_option_that_would_do_nothing_is_refused(capsys):
    assert exit_status(["book", "--json", "said.json", "due"]) == 2
    assert "belong after the command: benchrig book due" in capsys.readouterr().err
