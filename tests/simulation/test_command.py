"""`benchrig simulate` from the command line: statuses, texts and options."""

import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from benchrig.cli.main import exit_status
from benchrig.simulation.faults import FAULTS

DUNLIN = str(Path(__file__).parents[2] / "captures" / "dunlin.toml")


def run(*arguments):
    return exit_status(["simulate", *arguments])


def test_it_names_the_files_it_made_on_standard_output(tmp_path, capsys):
    assert run(DUNLIN, "--out", str(tmp_path / "run"), "--rate", "50") == 0
    made = capsys.readouterr().out.split()
    assert [Path(path).name for path in made] == ["run.toml", "run.csv", "run.truth.toml"]
    assert all(Path(path).stat().st_size for path in made)


def test_a_file_in_the_way_is_wrong_usage_until_forced(tmp_path, capsys):
    (tmp_path / "run.csv").write_text("mine")
    arguments = (DUNLIN, "--out", str(tmp_path / "run"), "--rate", "50")
    assert run(*arguments) == 2
    assert "run.csv: is already there" in capsys.readouterr().err
    assert run(*arguments, "--force") == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--fault", "gyro-sing=x"), 'there is no fault "gyro-sing"; did you mean gyro-sign?'),
        (("--rate", "3"), "--rate: 3 Hz; expected 20 to 4000 Hz"),
        (("--motion", "nose over"), "is no motion; expected one of: level, nose up"),
        (("--format", "xml"), "'xml' is not one of 'csv', 'parquet', 'feather'"),
    ],
)  # fmt: skip
def test_an_option_that_does_not_fit_is_wrong_usage_and_makes_nothing(arguments, message, tmp_path, capsys):
    assert run(DUNLIN, "--out", str(tmp_path / "run"), *arguments) == 2
    assert message in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_an_invalid_airframe_has_its_own_status(tmp_path, capsys):
    (tmp_path / "bad.toml").write_text("[airframe]\nname = 3\n")
    assert run(str(tmp_path / "bad.toml"), "--out", str(tmp_path / "run")) == 4
    assert "bad.toml" in capsys.readouterr().err


def test_the_faults_are_listed_without_an_airframe(capsys):
    assert run("--list-faults") == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == len(FAULTS)
    for line, (name, kind) in zip(lines, FAULTS.items(), strict=True):
        assert line.startswith(name)
        assert line.endswith(kind.text)


def test_watching_the_servos_makes_the_operator_careful(tmp_path):
    assert run(DUNLIN, "--out", str(tmp_path / "run"), "--rate", "50", "--seen", "--no-pulses") == 0
    assert tomllib.loads((tmp_path / "run.truth.toml").read_text())["bench"]["slop_deg"] == 3.0
    manifest = tomllib.loads((tmp_path / "run.toml").read_text())
    assert "actuators" not in manifest["columns"]
    assert {look["moved"] for look in manifest["seen"]} >= {"plate up", "plate down", "still"}


def test_the_command_loads_neither_numpy_nor_scipy_before_it_works():
    script = "import sys, benchrig.cli.simulate; print(sorted(m for m in sys.modules if m in {'numpy', 'scipy'}))"
    loaded = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert loaded.stdout.strip() == "[]"


def test_the_command_in_the_truth_file_makes_the_same_bench_whatever_its_options(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "dunlin.toml").write_bytes(Path(DUNLIN).read_bytes())
    words = ["--motion", "on tail", "--motion", "turntable clockwise", "--motion", "hang", "--motion", "swing"]
    words += ["--rpm", "45", "--rpm-unknown", "--spin-s", "4", "--turntable-tilt-deg", "2", "--posture", "on tail"]
    words += ["--turntable-pivot-mm", "aft=50,left=3", "--turntable-pivot-unknown", "--swing-pivot-mm", "up=200"]
    words += ["--hang-point-mm", "forward=300,up=40", "--rate", "50", "--rest-s", "2.5", "--field-ut", "north=20,up=45"]
    words += ["--motion", "transmitter off", "--commands", "--link-delay-s", "0.25"]
    assert run("dunlin.toml", "--out", "run", *words) == 0
    content = {path.name: path.read_bytes() for path in tmp_path.glob("run.*")}
    command = shlex.split(tomllib.loads(content["run.truth.toml"].decode())["command"])
    assert run(*command[2:], "--force") == 0
    assert {path.name: path.read_bytes() for path in tmp_path.glob("run.*")} == content


def test_a_place_that_cannot_be_read_is_wrong_usage(tmp_path, capsys):
    assert run(DUNLIN, "--out", str(tmp_path / "run"), "--hang-point-mm", "above=3") == 2
    assert '--hang-point-mm: "above" is no direction' in capsys.readouterr().err
