"""The commands that measure servos and the link, as a person calls them."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys

import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.simulation.bench import simulate
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options


def run(*arguments, cwd):
    call = "from benchrig.cli.main import run; run()"
    return subprocess.run(
        [sys.executable, "-c", call, "measure", *arguments], cwd=cwd, capture_output=True, text=True, check=False
    )


@pytest.fixture(scope="module")
def folder(captures, tmp_path_factory):
    made = tmp_path_factory.mktemp("servos")
    shutil.copy(captures / "dunlin.toml", made)
    airframe = read_airframe(made / "dunlin.toml")
    options = Options(motions=("level", "sweep", "collective up", "transmitter off", "transmitter on"), rate_hz=200.0)
    written = write_capture(simulate(airframe, seed=1, options=options), made / "sweeps")
    assert read_capture(written.manifest, airframe).prompts
    return made


def test_actuators_prints_its_cautions_before_its_numbers_and_ends_with_0(folder):
    finished = run("actuators", "dunlin.toml", "sweeps.toml", cwd=folder)
    assert finished.returncode == 0, finished.stderr
    flat = " ".join(finished.stdout.split())
    assert flat.index("under power moves without warning") < flat.index("shortest pulse")
    assert "1094" in flat


def test_the_json_holds_every_number_and_nothing_else_is_printed(folder):
    finished = run("actuators", "dunlin.toml", "sweeps.toml", "--json", "-", cwd=folder)
    result = json.loads(finished.stdout)
    assert result["schema"] == "benchrig-measurement/1"
    assert "Caution: A servo under power" in finished.stderr


def test_write_puts_the_ends_into_a_copy_of_the_file(folder, tmp_path):
    for name in ("dunlin.toml", "sweeps.toml", "sweeps.csv"):
        shutil.copy(folder / name, tmp_path)
    finished = run("actuators", "dunlin.toml", "sweeps.toml", "--write", cwd=tmp_path)
    assert finished.returncode == 0, finished.stderr
    assert read_airframe(tmp_path / "dunlin.toml").actuator("front").lowest == pytest.approx(1094e-6, abs=1e-6)
    assert (tmp_path / "dunlin.before-1.toml").is_file()


def test_link_without_a_proof_of_the_loss_ends_with_3(folder):
    airframe = read_airframe(folder / "dunlin.toml")
    # a receiver that holds, and no jump when the link is back
    options = Options(motions=("level", "transmitter off", "level"), rate_hz=200.0)
    write_capture(simulate(airframe, seed=1, options=options), folder / "never-on")
    finished = run("link", "dunlin.toml", "never-on.toml", cwd=folder)
    assert finished.returncode == 3
    assert "A motor may start when the link is lost" in " ".join(finished.stdout.split())
    assert "the transmitter was still on, or the receiver holds everything" in " ".join(finished.stdout.split())


@pytest.mark.parametrize("command", ["actuators", "link"])
def test_help_says_what_the_motions_are_and_warns(folder, command):
    shown = " ".join(run(command, "--help", cwd=folder).stdout.split())
    assert "off, or the motor disconnected" in shown


def test_an_airframe_without_actuators_ends_with_4(folder, tmp_path):
    text = (folder / "dunlin.toml").read_text(encoding="utf-8").partition("[[actuator]]")[0]
    (tmp_path / "bare.toml").write_text(text, encoding="utf-8")
    for name in ("sweeps.toml", "sweeps.csv"):
        shutil.copy(folder / name, tmp_path)
    finished = run("actuators", "bare.toml", "sweeps.toml", cwd=tmp_path)
    assert finished.returncode == 4
    assert "bare.toml: no actuator is declared, so there is nothing to measure" in finished.stderr
