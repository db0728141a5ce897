"""`benchrig rejudge` as a user calls it."""

from __future__ import annotations

import json
import shutil

import pytest

from benchrig.cautions import CAUTIONS
from benchrig.cli.main import exit_status
from benchrig.report.stored_result import read_result


@pytest.fixture
def bench(captures, tmp_path, monkeypatch, capsys):
    """Give a folder with a failed bench and its result, worked in; and a corrected airframe file."""
    for name in ("teal.toml", "teal-elevator-reversed.toml", "teal-elevator-reversed.csv"):
        shutil.copy(captures / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    assert exit_status(["check", "teal.toml", "teal-elevator-reversed.toml", "--json", "old.json"]) == 1
    declared = (tmp_path / "teal.toml").read_text(encoding="utf-8")
    head, name, rest = declared.partition('name = "elevator"')
    corrected = head + name + rest.replace("trailing edge up", "trailing edge down", 1)
    (tmp_path / "corrected.toml").write_text(corrected, encoding="utf-8")
    capsys.readouterr()
    return tmp_path


@pytest.mark.usefixtures("bench")
def test_the_status_is_that_of_the_new_verdict(capsys):
    assert exit_status(["rejudge", "old.json"]) == 1
    assert "Nothing changed, to the last digit." in capsys.readouterr().out
    assert exit_status(["rejudge", "old.json", "--airframe", "corrected.toml"]) == 0
    printed = capsys.readouterr()
    assert "The verdict was FAIL and is PASS" in printed.out
    assert "= PASS" in printed.out
    assert printed.err == ""


def test_an_airframe_file_that_was_corrected_in_place_is_taken_as_it_is_now(bench, capsys):
    (bench / "corrected.toml").replace(bench / "teal.toml")
    assert exit_status(["rejudge", "old.json"]) == 0
    assert "teal.toml, which declares otherwise" in capsys.readouterr().out


@pytest.mark.usefixtures("bench")
def test_json_alone_on_standard_output_with_the_cautions_beside_it(capsys):
    assert exit_status(["rejudge", "old.json", "--airframe", "corrected.toml", "--json", "-"]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out)["rejudgement"]["summary"].startswith("The verdict was FAIL and is PASS")
    assert all(caution in printed.err for caution in CAUTIONS)


def test_the_page_and_the_new_result_are_written_and_the_old_result_is_kept(bench, capsys):
    old = (bench / "old.json").read_bytes()
    call = ["rejudge", "old.json", "--airframe", "corrected.toml", "--html", "new.html", "--json", "new.json"]
    assert exit_status(call) == 0
    assert "Wrote new.html\nWrote new.json" in capsys.readouterr().err
    assert read_result(bench / "new.json").outcome == "pass"
    assert "Teal" in (bench / "new.html").read_text(encoding="utf-8")
    assert exit_status(["rejudge", "new.json", "--airframe", "corrected.toml"]) == 0
    for target in ("old.json", "./old.json"):
        assert exit_status([*call[:4], "--json", target, "--force"]) == 2
    assert "is the result that is judged again" in capsys.readouterr().err
    assert (bench / "old.json").read_bytes() == old


def test_a_foreign_file_is_not_replaced(bench, capsys):
    (bench / "notes.json").write_text("{}", encoding="utf-8")
    assert exit_status(["rejudge", "old.json", "--json", "notes.json"]) == 2
    assert "was not made by this command" in capsys.readouterr().err


def test_what_cannot_be_judged_again_is_told_in_a_sentence(bench, capsys):
    stream = bench / "teal-elevator-reversed.csv"
    stream.write_bytes(stream.read_bytes() + b"\n")
    assert exit_status(["rejudge", "old.json"]) == 5
    assert "its stream teal-elevator-reversed.csv was changed" in capsys.readouterr().err
    assert exit_status(["rejudge", "none.json"]) == 5
    assert "there is no such result" in capsys.readouterr().err
    assert exit_status(["rejudge", "old.json", "--airframe", "none.toml"]) == 4
    assert "there is no such airframe file" in capsys.readouterr().err


@pytest.mark.usefixtures("bench")
def test_colour_only_where_it_was_asked_for(capsys):
    exit_status(["rejudge", "old.json"])
    assert "\x1b" not in capsys.readouterr().out
    exit_status(["rejudge", "old.json", "--colour"])
    assert "\x1b[" in capsys.readouterr().out
