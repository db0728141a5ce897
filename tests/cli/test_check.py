"""The main job as a person calls it: statuses, where what is printed, files written and files left alone."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from xml.etree import ElementTree as ET

import pytest

from benchrig.cautions import CAUTIONS
from benchrig.cli.main import exit_status

KEYS = [
    "schema", "verdict", "scope", "parts", "wrong_pass_bound", "airframe", "capture", "matrix", "mounting", "lever_arm",
    "actuators", "health", "findings", "cautions", "software",
]  # fmt: skip
HEAVY = {"pandas", "scipy", "numba", "jinja2", "rich"}
ESCAPE = "\x1b["


@pytest.fixture
def check(captures, capsys, monkeypatch):
    """Call `benchrig check` on demo files, by name, or on others by path; give its status, output and errors."""
    monkeypatch.setenv("COLUMNS", "80")

    def call(airframe, capture, *options):
        files = [str(captures / f"{name}.toml") if isinstance(name, str) else str(name) for name in (airframe, capture)]
        status = exit_status(["check", *files, *map(str, options)])
        printed = capsys.readouterr()
        return status, printed.out, printed.err

    return call


@pytest.fixture(scope="session")
def bare_capture(simulated_recording):
    """Simulate a bench in which nothing was moved."""
    return simulated_recording("knot", motions=("level",)).manifest


def process(*arguments, **options):
    call = "from benchrig.cli.main import run; run()"
    return subprocess.run([sys.executable, "-c", call, *arguments], capture_output=True, check=False, **options)


@pytest.mark.parametrize(
    ("airframe", "capture", "status", "word"),
    [
        ("dunlin", "dunlin-ok", 0, "PASS"),
        ("dunlin", "dunlin-unit-turned", 1, "FAIL"),
        ("teal", "teal-elevator-reversed", 1, "FAIL"),
        ("knot", "knot-gyro-roll-sign", 1, "FAIL"),
    ],
)
def test_the_status_is_the_verdicts_and_so_is_the_word_in_the_bar(check, airframe, capture, status, word):
    found, out, err = check(airframe, capture)
    assert found == status
    assert re.findall(r"^  \S (PASS|FAIL|NOT SHOWN)$", out, re.MULTILINE) == [word]
    assert err == ""


def test_a_capture_without_any_motion_is_not_shown_with_status_3(check, bare_capture):
    status, out, _ = check("knot", bare_capture)
    assert status == 3
    assert "NOT SHOWN" in out
    assert "not among the motions of this capture" in " ".join(out.split())


def test_the_cautions_come_before_anything_else(check):
    _, out, _ = check("dunlin", "dunlin-ok")
    assert " ".join(out.replace("! ", "").split()).startswith(" ".join(CAUTIONS))


def test_an_airframe_file_that_declares_nothing_sound_is_status_4_with_its_line(check, captures, tmp_path):
    text = (captures / "dunlin.toml").read_text(encoding="utf-8")
    broken = tmp_path / "broken.toml"
    broken.write_text(text.replace('z = "down" }', 'z = "up" }', 1), encoding="utf-8")
    line = next(n for n, row in enumerate(broken.read_text(encoding="utf-8").splitlines(), 1) if 'z = "up"' in row)
    status, out, err = check(broken, "dunlin-ok")
    assert status == 4
    assert out == ""
    assert err.startswith(f"broken.toml:{line}: ")
    assert "left-handed" in err
    assert "Traceback" not in err


def test_an_airframe_file_that_is_not_there_is_status_4(check, tmp_path):
    status, out, err = check(tmp_path / "none.toml", "dunlin-ok")
    assert (status, out) == (4, "")
    assert err.startswith(f"none.toml: there is no such airframe file in {tmp_path}")


def test_a_capture_that_is_not_there_is_status_5(check, tmp_path):
    status, out, err = check("dunlin", tmp_path / "none.toml")
    assert (status, out) == (5, "")
    assert err.startswith(f"none.toml: there is no such manifest in {tmp_path}")


def test_a_capture_whose_stream_is_damaged_is_status_5_and_names_the_row(check, captures, tmp_path):
    for suffix in ("toml", "csv"):
        shutil.copy(captures / f"dunlin-ok.{suffix}", tmp_path)
    stream = tmp_path / "dunlin-ok.csv"
    rows = stream.read_text(encoding="utf-8").splitlines()
    rows[1000] = rows[1000].replace(rows[1000].split(",")[1], "abc", 1)
    stream.write_text("\n".join(rows) + "\n", encoding="utf-8")
    status, out, err = check("dunlin", tmp_path / "dunlin-ok.toml")
    assert (status, out) == (5, "")
    assert "dunlin-ok.csv:1001" in err
    assert "abc" in err


@pytest.mark.parametrize("arguments", [[], ["one.toml"], ["a.toml", "b.toml", "--pdf", "x"], ["a", "b", "c"]])
def test_a_call_that_lacks_or_knows_no_argument_is_status_2(arguments, capsys):
    assert exit_status(["check", *arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "--help" in printed.err


def test_json_to_output_is_json_and_nothing_else_with_the_cautions_beside_it(check):
    status, out, err = check("dunlin", "dunlin-unit-turned", "--json", "-")
    assert status == 1
    result = json.loads(out)
    assert list(result)[: len(KEYS)] == KEYS
    assert result["schema"] == "benchrig-result/1"
    assert result["verdict"] == "fail"
    assert result["parts"]["sensing"] == "fail"
    assert result["mounting"]["declared"] == {"x": "aft", "y": "left", "z": "down"}
    assert err.splitlines() == [f"Caution: {caution}" for caution in CAUTIONS]


def test_the_verdict_in_json_is_the_worse_of_its_parts_and_the_cells_speak_of_what_was_seen(check):
    _, out, _ = check("teal", "teal-elevator-reversed", "--json", "-")
    result = json.loads(out)
    assert result["verdict"] == "fail"
    assert result["parts"] == {"sensing": "pass", "correction": "fail"}
    assert result["wrong_pass_bound"] is None
    elevator = next(a for a in result["actuators"] if a["name"] == "elevator")
    assert (elevator["outcome"], elevator["finding"]) == ("fail", "reversed")
    assert {a["outcome"] for a in result["actuators"] if a["name"] != "elevator"} == {"pass"}
    cell = next(c for c in result["matrix"] if c["motion"] == "nose up" and c["check"] == "actuator:elevator")
    assert (cell["expected"], cell["observed"]) == ("trailing edge down", "trailing edge up")


def test_three_reports_are_written_and_told_on_standard_error(check, tmp_path):
    page, result, junit = (tmp_path / name for name in ("a.html", "a.json", "a.xml"))
    status, out, err = check("dunlin", "dunlin-ok", "--html", page, "--json", result, "--junit", junit)
    assert status == 0
    assert out.strip().startswith("! Take the blades")
    assert set(err.splitlines()) == {f"Wrote {path}" for path in (page, result, junit)}
    assert json.loads(result.read_text(encoding="utf-8"))["verdict"] == "pass"
    assert page.read_text(encoding="utf-8").lower().startswith("<!doctype html>")
    suites = ET.parse(junit).getroot()  # noqa: S314 - written by the program a moment ago
    assert (suites.tag, suites.get("failures")) == ("testsuites", "0")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.html", "a.json", "a.xml"]


@pytest.mark.parametrize("option", ["--html", "--json", "--junit"])
def test_a_file_that_the_program_did_not_make_is_never_overwritten(check, tmp_path, option):
    mine = tmp_path / "notes.txt"
    mine.write_text("my flying diary", encoding="utf-8")
    status, out, err = check("dunlin", "dunlin-ok", option, mine)
    assert (status, out) == (2, "")
    assert err == (
        f"{option} {mine}: exists and was not made by this command; give another name, or --force to replace it\n"
    )
    assert mine.read_text(encoding="utf-8") == "my flying diary"
    assert check("dunlin", "dunlin-ok", option, mine, "--force")[0] == 0
    assert "my flying diary" not in mine.read_text(encoding="utf-8")


def test_a_capture_of_another_airframe_is_called_so_in_one_line(check):
    status, out, err = check("teal", "dunlin-ok")
    assert (status, out) == (5, "")
    assert err.count("\n") == 1
    assert "none of its 4 actuators is declared in teal.toml" in err
    assert "a capture of another one" in err


@pytest.mark.parametrize("name", ["dunlin-ok.csv", "dunlin-ok.toml"])
def test_a_recording_is_never_overwritten_by_a_report(check, captures, tmp_path, name):
    for suffix in ("toml", "csv"):
        shutil.copy(captures / f"dunlin-ok.{suffix}", tmp_path)
    before = (tmp_path / name).read_bytes()
    for options in ((), ("--force",)):
        status, _, err = check("dunlin", tmp_path / "dunlin-ok.toml", "--json", tmp_path / name, *options)
        assert status == 2
        assert "--force never replaces a recording or a declaration by a report" in err
        assert (tmp_path / name).read_bytes() == before


@pytest.mark.parametrize("option", ["--html", "--json", "--junit"])
def test_its_own_report_is_replaced_without_asking(check, tmp_path, option):
    target = tmp_path / "report"
    assert check("dunlin", "dunlin-ok", option, target)[0] == 0
    first = target.read_bytes()
    assert check("dunlin", "dunlin-unit-turned", option, target)[0] == 1
    assert target.read_bytes() != first


def test_a_target_in_no_folder_is_refused_before_any_work(check, tmp_path):
    status, out, err = check(tmp_path / "none.toml", tmp_path / "none.toml", "--html", tmp_path / "no" / "a.html")
    assert (status, out) == (2, "")
    assert "its folder does not exist" in err


def test_colour_comes_when_asked_for_and_not_into_a_pipe(check):
    assert ESCAPE in check("dunlin", "dunlin-ok", "--colour")[1]
    assert ESCAPE not in check("dunlin", "dunlin-ok")[1]
    assert ESCAPE not in check("dunlin", "dunlin-ok", "--no-colour")[1]


@pytest.mark.parametrize(
    ("environment", "coloured"),
    [({"TERM": "xterm"}, True), ({"TERM": "xterm", "NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)],
)
def test_a_terminal_is_coloured_unless_it_or_its_user_says_no(judged_ok, monkeypatch, environment, coloured):
    from benchrig.cli.check import shown  # noqa: PLC0415 - imported as the command does

    for name in ("NO_COLOR", "TERM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    assert (ESCAPE in shown(judged_ok, colour=None)) is coloured
    assert ESCAPE in shown(judged_ok, colour=True)


@pytest.fixture(scope="module")
def judged_ok(demo_airframe, simulated_recording):
    from benchrig.job import judge  # noqa: PLC0415 - of this fixture alone

    return judge(demo_airframe("knot"), simulated_recording("knot"))


@pytest.mark.parametrize(("columns", "widest"), [("30", 60), ("80", 80), ("300", 100)])
def test_the_report_fits_the_terminal_between_60_and_100_columns(check, monkeypatch, columns, widest):
    monkeypatch.setenv("COLUMNS", columns)
    _, out, _ = check("dunlin", "dunlin-unit-turned")
    longest = max(len(line) for line in out.splitlines())
    assert widest - 20 < longest <= widest


def test_a_whole_process_gives_the_status_the_report_and_no_heavy_library(captures, tmp_path):
    code = (
        "import sys\n"
        "from benchrig.cli.main import run\n"
        "try:\n"
        "    run()\n"
        "finally:\n"
        "    print('MODULES', *sorted(sys.modules), file=sys.stderr)\n"
    )
    files = [str(captures / "dunlin.toml"), str(captures / "dunlin-ok.toml")]
    environment = {**os.environ, "NO_COLOR": "1", "COLUMNS": "80"}
    finished = subprocess.run(
        [sys.executable, "-c", code, "check", *files],
        capture_output=True, text=True, check=False, cwd=tmp_path, env=environment,
    )  # fmt: skip
    assert finished.returncode == 0
    assert ESCAPE not in finished.stdout
    modules = set(finished.stderr.split("MODULES ")[1].split())
    assert "numpy" in modules
    assert not {name for name in modules if name.partition(".")[0] in HEAVY}
    assert list(tmp_path.iterdir()) == []


def test_a_reader_of_json_in_a_pipe_gets_the_result_of_a_real_process(captures):
    finished = process(
        "check", str(captures / "knot.toml"), str(captures / "knot-gyro-roll-sign.toml"), "--json", "-", text=True
    )
    assert finished.returncode == 1
    result = json.loads(finished.stdout)
    assert result["mounting"]["gyro"]["mirrored"] is True
    assert "Traceback" not in finished.stderr
