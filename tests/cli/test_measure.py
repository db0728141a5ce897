"""What every measurement does with its result: printed, written as reports, put into the airframe file, or refused."""

from __future__ import annotations

import json
import shutil

import pytest

from benchrig.cli.main import exit_status
from benchrig.declaration.airframe_file import read_airframe


@pytest.fixture
def bench(tmp_path, captures, monkeypatch):
    """Copy the demo airframe and its worksheet to a folder of their own, and work there."""
    for name in ("dunlin.toml", "dunlin-cg.toml"):
        shutil.copy(captures / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


def measure(*options):
    return exit_status(["measure", "cg", "dunlin.toml", "dunlin-cg.toml", *options])


@pytest.mark.usefixtures("bench")
def test_the_cautions_come_before_everything_else(capsys):
    assert measure() == 0
    out = capsys.readouterr().out
    assert out.startswith("! Take the blades or propellers off")
    assert out.index("A hanging airframe swings") < out.index("QUANTITY")


@pytest.mark.usefixtures("bench")
def test_no_line_is_wider_than_the_terminal(capsys):
    measure()
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def test_the_page_and_the_result_are_written_and_told_of(bench, capsys):
    assert measure("--html", "cg.html", "--json", "cg.json") == 0
    assert json.loads((bench / "cg.json").read_text(encoding="utf-8"))["schema"] == "benchrig-measurement/1"
    page = (bench / "cg.html").read_text(encoding="utf-8")
    assert page.count("<svg") == 2
    assert "<script" not in page
    assert capsys.readouterr().err == "Wrote cg.html\nWrote cg.json\n"


@pytest.mark.usefixtures("bench")
def test_a_dash_leaves_standard_output_to_the_result_and_the_cautions_beside_it(capsys):
    assert measure("--json", "-") == 0
    shown = capsys.readouterr()
    assert json.loads(shown.out)["kind"] == "cg"
    assert shown.err.startswith("Caution: Take the blades or propellers off")


def test_a_file_that_this_program_did_not_make_stays(bench, capsys):
    (bench / "notes.html").write_text("my notes", encoding="utf-8")
    assert measure("--html", "notes.html") == 2
    assert "exists and was not made by this command" in capsys.readouterr().err
    assert (bench / "notes.html").read_text(encoding="utf-8") == "my notes"
    assert measure("--html", "notes.html", "--force") == 0


def test_one_name_for_two_reports_is_refused_before_any_work(bench, capsys):
    assert measure("--html", "one", "--json", "one") == 2
    assert "is also the target of --html" in capsys.readouterr().err
    assert not (bench / "one").exists()


def test_the_lines_go_into_the_airframe_file_and_the_old_one_is_kept(bench, capsys):
    before = (bench / "dunlin.toml").read_bytes()
    assert measure("--write") == 0
    assert capsys.readouterr().err == "Wrote 2 lines into dunlin.toml; the old file is dunlin.before-1.toml\n"
    assert (bench / "dunlin.before-1.toml").read_bytes() == before
    assert read_airframe(bench / "dunlin.toml").magnetometer.position[0] == pytest.approx(-0.622)


def test_what_gave_no_line_writes_none_says_so_and_keeps_its_own_status(bench, capsys):
    sheet = (bench / "dunlin-cg.toml").read_text(encoding="utf-8")
    (bench / "dunlin-cg.toml").write_text(sheet.partition("[[place]]")[0], encoding="utf-8")
    before = (bench / "dunlin.toml").read_bytes()
    assert measure("--write") == 0
    assert "Nothing was written into dunlin.toml: this measurement gave no line" in capsys.readouterr().err
    assert (bench / "dunlin.toml").read_bytes() == before


def test_what_failed_is_not_made_right_by_declaring_it(bench, capsys):
    path = bench / "dunlin.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("aft = 180", "forward = 180"), encoding="utf-8")
    before = path.read_bytes()
    assert measure("--write") == 1
    assert "Nothing was written into dunlin.toml: what was measured is not as declared" in capsys.readouterr().err
    assert path.read_bytes() == before
    assert measure("--write", "--force") == 1
    assert "Wrote 2 lines into dunlin.toml" in capsys.readouterr().err
    assert read_airframe(path).sensor.lever_arm[0] == pytest.approx(-0.18)


def test_lines_that_are_there_already_are_not_written_again(bench, capsys):
    assert measure("--write") == 0
    assert measure("--write") == 0
    assert "it holds these lines already" in capsys.readouterr().err
    assert not (bench / "dunlin.before-2.toml").exists()


@pytest.mark.parametrize("option", ["--html", "--json"])
@pytest.mark.parametrize("name", ["dunlin.toml", "dunlin-cg.toml"])
def test_no_report_takes_the_place_of_an_input_even_if_forced(bench, capsys, option, name):
    before = (bench / name).read_bytes()
    assert measure(option, name, "--force") == 2
    assert "--force never replaces a recording or a declaration" in capsys.readouterr().err
    assert (bench / name).read_bytes() == before


@pytest.mark.usefixtures("bench")
def test_only_the_result_can_be_printed(capsys):
    assert measure("--html", "-") == 2
    assert "--html -: is no name of a file" in capsys.readouterr().err


@pytest.mark.usefixtures("bench")
def test_one_recording_counts_once(captures, capsys):
    capture = str(captures / "dunlin-ok.toml")
    assert exit_status(["measure", "lever", "dunlin.toml", capture, capture]) == 2
    assert "one recording counts once" in capsys.readouterr().err


def test_a_command_that_is_no_measurement_is_told_the_nearest(capsys):
    assert exit_status(["measure", "levr"]) == 2
    assert 'no command is named "levr"; did you mean lever' in capsys.readouterr().err


def test_the_group_explains_itself_and_names_every_measurement(capsys):
    assert exit_status(["measure", "--help"]) == 0
    out = capsys.readouterr().out
    for name in ("lever", "sensor", "cg", "magnetometer", "actuators", "link", "rotor"):
        assert f"\n  {name} " in out
