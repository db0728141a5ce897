"""The command that finds the centre of gravity: what it prints, writes and returns."""

import json
import shutil

import pytest

from benchrig.cli.main import exit_status
from benchrig.declaration.airframe_file import read_airframe


@pytest.fixture
def bench(tmp_path, captures):
    for name in ("dunlin.toml", "dunlin-cg.toml"):
        shutil.copy(captures / name, tmp_path)
    return tmp_path


def test_a_right_bench_passes_and_gives_the_lines(bench, capsys):
    assert exit_status(["measure", "cg", str(bench / "dunlin.toml"), str(bench / "dunlin-cg.toml")]) == 0
    printed = capsys.readouterr().out
    assert "position_mm = {aft = 180, left = 1, up = 25}" in printed
    assert "A hanging airframe swings and can fall" in printed


def test_the_lines_are_written_into_the_airframe_file_and_the_old_one_is_kept(bench):
    arguments = ["measure", "cg", str(bench / "dunlin.toml"), str(bench / "dunlin-cg.toml"), "--write"]
    assert exit_status(arguments) == 0
    airframe = read_airframe(bench / "dunlin.toml")
    assert airframe.sensor.lever_arm == pytest.approx([-0.180, -0.001, -0.025])
    assert airframe.magnetometer.position == pytest.approx([-0.622, -0.001, -0.040])
    assert airframe.sensor.position_tolerance == 0.005
    assert (bench / "dunlin.before-1.toml").is_file()


def test_the_result_names_the_worksheet_and_its_digest(bench, capsys):
    arguments = ["measure", "cg", str(bench / "dunlin.toml"), str(bench / "dunlin-cg.toml"), "--json", "-"]
    assert exit_status(arguments) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["kind"] == "cg"
    assert "dunlin-cg.toml" in json.dumps(result["evidence"])


def test_the_page_holds_both_pictures(bench):
    page = bench / "cg.html"
    arguments = ["measure", "cg", str(bench / "dunlin.toml"), str(bench / "dunlin-cg.toml"), "--html", str(page)]
    assert exit_status(arguments) == 0
    text = page.read_text(encoding="utf-8")
    assert "Seen from the side, the lines meet at the centre of gravity." in text
    assert "Seen from above, the lines meet at the centre of gravity." in text


def test_hangs_that_do_not_meet_are_not_shown_and_write_nothing(bench, capsys):
    sheet = bench / "dunlin-cg.toml"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("nose_up_deg = 3.0", "nose_down_deg = 23.0"))
    before = (bench / "dunlin.toml").read_bytes()
    assert exit_status(["measure", "cg", str(bench / "dunlin.toml"), str(sheet)]) == 3
    assert "do not meet in one point" in " ".join(capsys.readouterr().out.split())
    assert exit_status(["measure", "cg", str(bench / "dunlin.toml"), str(sheet), "--write"]) == 3
    assert "this measurement gave no line for it" in capsys.readouterr().err
    assert (bench / "dunlin.toml").read_bytes() == before


def test_a_worksheet_that_cannot_be_read_has_the_status_of_unusable_input(bench, capsys):
    sheet = bench / "dunlin-cg.toml"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("aft = 302", "aft = -302"))
    assert exit_status(["measure", "cg", str(bench / "dunlin.toml"), str(sheet)]) == 5
    assert "write forward = 302" in capsys.readouterr().err
    assert exit_status(["measure", "cg", str(bench / "dunlin.toml"), str(bench / "none.toml")]) == 5
