"""`benchrig measure rotor` as a person calls it: statuses, cautions, reports."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from benchrig.cli.main import exit_status

GEARS = "plate_lead_deg = 0\nmotor_rpm = 24000\npinion_teeth = 12\nmain_gear_teeth = 120"


@pytest.fixture
def rotor(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")

    def call(*arguments):
        status = exit_status(["measure", "rotor", *map(str, arguments)])
        printed = capsys.readouterr()
        return status, printed.out, printed.err

    return call


@pytest.fixture
def geared(captures, tmp_path):
    path = tmp_path / "dunlin.toml"
    path.write_text((captures / "dunlin.toml").read_text().replace("plate_lead_deg = 0", GEARS))
    return path


@pytest.fixture
def run(geared, tmp_path):
    target = tmp_path / "run"
    motions = [word for _ in range(6) for word in ("--motion", "level")]
    shaking = [word for line in ("41,0.1", "82,0.05", "410,0.1") for word in ("--fault", f"vibration={line}")]
    arguments = ["simulate", str(geared), "--out", str(target), "--rate", "1000", "--seed", "4", *motions, *shaking]
    assert exit_status(arguments) == 0
    return target.with_suffix(".toml")


def test_the_frequencies_come_with_the_cautions_first(rotor, geared):
    status, out, err = rotor(geared)
    assert (status, err) == (0, "")
    assert out.index("take off the main and\n  tail blades") < out.index("QUANTITY")
    assert "once a turn of the main rotor   40 Hz" in out


def test_a_run_is_explained(rotor, geared, run, capsys):
    capsys.readouterr()
    status, out, _ = rotor(geared, run)
    assert status == 0
    assert "At 2460 rpm the main rotor explains 3 lines" in out


def test_the_result_goes_to_a_program_alone(rotor, geared, run, capsys):
    capsys.readouterr()
    status, out, err = rotor(geared, run, "--json", "-")
    told = json.loads(out)
    assert status == 0
    assert told["kind"] == "rotor"
    assert "Caution: " in err


def test_the_page_holds_the_pictures(rotor, geared, run, tmp_path, capsys):
    capsys.readouterr()
    status, _, _ = rotor(geared, run, "--html", tmp_path / "run.html")
    assert status == 0
    page = (tmp_path / "run.html").read_text(encoding="utf-8")
    assert page.count("<svg") >= 2
    assert "Spectrum of the gyro" in page


def test_there_is_nothing_to_write(rotor, geared):
    status, _, err = rotor(geared, "--write")
    assert status == 0
    assert "this measurement gave no line for it" in err


def test_what_is_not_declared_is_asked_for(rotor, captures):
    status, out, err = rotor(captures / "dunlin.toml")
    assert (status, out) == (4, "")
    assert "[rotor] motor_rpm, pinion_teeth and main_gear_teeth are not all declared" in err
    assert "Traceback" not in err


def test_a_kind_without_gears_is_told_so(rotor, captures):
    status, out, err = rotor(captures / "knot.toml")
    assert (status, out) == (2, "")
    assert "gears can be declared for a helicopter's main rotor alone" in " ".join(err.split())


@pytest.mark.parametrize("name", ["actuators", "link", "rotor"])
def test_no_help_prints_a_code_of_its_layout(name, capsys):
    assert exit_status(["measure", name, "--help"]) == 0
    out = capsys.readouterr().out
    assert "\\b" not in out
    assert "\b" not in out


def test_help_needs_no_numbers():
    call = "import sys; from benchrig.cli.main import run; sys.argv[1:] = ['measure', 'rotor', '--help']\n"
    tail = "try:\n    run()\nfinally:\n    print('numpy' in sys.modules, file=sys.stderr)\n"
    finished = subprocess.run([sys.executable, "-c", call + tail], capture_output=True, text=True, check=True)
    assert finished.stderr.split() == ["False"]
    assert "bound to the bench" in " ".join(finished.stdout.split())
