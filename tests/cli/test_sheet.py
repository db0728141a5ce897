"""`benchrig sheet` as a user calls it."""

from __future__ import annotations

import json
import re

import pytest

from benchrig.cli.main import exit_status


@pytest.fixture(scope="module")
def results(captures, tmp_path_factory):
    """Give a folder with the airframe file and the result of its check."""
    folder = tmp_path_factory.mktemp("sheet")
    for name in ("dunlin.toml", "dunlin-ok.toml", "dunlin-ok.csv"):
        (folder / name).write_bytes((captures / name).read_bytes())
    call = ["check", str(folder / "dunlin.toml"), str(folder / "dunlin-ok.toml"), "--json", str(folder / "ok.json")]
    assert exit_status(call) == 0
    return folder


def called(*arguments):
    return exit_status(["sheet", *map(str, arguments)])


def test_without_a_result_the_sheet_lists_what_to_look_at_and_is_no_pass(results, capsys):
    assert called(results / "dunlin.toml") == 3
    printed = capsys.readouterr()
    assert "No check of the directions was given." in printed.out
    assert printed.err == ""


def test_a_check_takes_its_place_on_the_sheet(results, capsys):
    assert called(results / "dunlin.toml", results / "ok.json") == 3
    out = capsys.readouterr().out
    assert "No check of the directions" not in out
    assert re.search(r"nose up +\+q +−y =", out)


def test_a_compass_that_a_passed_check_could_not_judge_is_open_on_the_sheet(results, tmp_path, capsys):
    for name in ("dunlin.toml", "dunlin-ok.toml", "dunlin-ok.csv"):
        (tmp_path / name).write_bytes((results / name).read_bytes())
    rig, stored = tmp_path / "dunlin.toml", tmp_path / "check.json"
    rig.write_text(rig.read_text(encoding="utf-8").replace('hemisphere = "north"', ""), encoding="utf-8")
    assert exit_status(["check", str(rig), str(tmp_path / "dunlin-ok.toml"), "--json", str(stored)]) == 0
    capsys.readouterr()
    assert called(rig, stored) == 3
    out = " ".join(capsys.readouterr().out.split())
    row = re.search(r"axes of the compass .*? \? not shown", out)
    assert row
    assert "compass" in out[out.index("STILL OPEN") :].lower()


def test_a_check_of_an_older_airframe_file_is_due_again(results, tmp_path, capsys):
    changed = tmp_path / "dunlin.toml"
    changed.write_text((results / "dunlin.toml").read_text(encoding="utf-8") + "# moved\n", encoding="utf-8")
    assert called(changed, results / "ok.json") == 3
    assert "re-test is due" in " ".join(capsys.readouterr().out.split())


def test_page_and_print_are_written_and_written_again(results, tmp_path, capsys):
    page, pdf = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    for _ in range(2):
        assert called(results / "dunlin.toml", results / "ok.json", "--html", page, "--pdf", pdf) == 3
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.splitlines()[:2] == [f"Wrote {page}", f"Wrote {pdf}"]
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert pdf.read_bytes().startswith(b"%PDF-")


def test_a_document_of_another_maker_is_not_overwritten(results, tmp_path, capsys):
    foreign = tmp_path / "plans.pdf"
    foreign.write_bytes(b"%PDF-1.4\n% /Creator (somebody)\n%%EOF\n")
    assert called(results / "dunlin.toml", "--pdf", foreign) == 2
    assert "was not made by this command" in capsys.readouterr().err
    assert called(results / "dunlin.toml", "--pdf", foreign, "--force") == 3
    assert b"benchrig" in foreign.read_bytes()


def test_one_name_for_page_and_print_is_refused(results, tmp_path, capsys):
    assert called(results / "dunlin.toml", "--pdf", tmp_path / "a", "--html", tmp_path / "a") == 2
    assert "is also the target of" in capsys.readouterr().err


def test_a_result_that_cannot_be_used_is_told_in_a_sentence(results, tmp_path, capsys):
    spoilt = tmp_path / "spoilt.json"
    data = json.loads((results / "ok.json").read_text(encoding="utf-8"))
    data["parts"]["sensing"] = "fail"
    spoilt.write_text(json.dumps(data), encoding="utf-8")
    assert called(results / "dunlin.toml", spoilt) == 5
    assert "spoilt.json: was changed after it was written" in capsys.readouterr().err
    assert called(results / "dunlin.toml", results / "ok.json", results / "ok.json") == 5
    assert 'holds the same result as "ok.json"' in capsys.readouterr().err
    assert called(results / "dunlin.toml", tmp_path / "none.json") == 5
    assert "there is no such result" in capsys.readouterr().err


def test_an_airframe_file_that_is_wrong_is_told_first(results, capsys):
    assert called(results / "ok.json") == 4
    assert "ok.json" in capsys.readouterr().err


def test_the_report_asked_for_in_colour_is_coloured(results, capsys):
    called(results / "dunlin.toml", "--colour")
    assert "\x1b[1;7m" in capsys.readouterr().out
