"""The demo captures are what their truth files say, and come out of the commands that their page names."""

import shlex
import shutil
import tomllib
from pathlib import Path

import pytest

from benchrig.capture.reader import read_capture
from benchrig.cli.main import exit_status
from benchrig.declaration.airframe_file import read_airframe
from benchrig.simulation.mechanics import corrective_effect

FOLDER = Path(__file__).parents[2] / "captures"
NAMES = sorted(path.name.removesuffix(".truth.toml") for path in FOLDER.glob("*.truth.toml"))
AIRFRAMES = ("dunlin", "teal", "knot")


def truth(name):
    return tomllib.loads((FOLDER / f"{name}.truth.toml").read_text(encoding="utf-8"))


def test_there_is_one_right_capture_and_three_that_fail_for_different_reasons():
    faults = {name: truth(name)["faults"] for name in NAMES}
    assert [name for name, found in faults.items() if not found] == ["dunlin-ok"]
    kinds = [found[0].partition("=")[0] for found in faults.values() if found]
    assert sorted(kinds) == ["gyro-sign", "mounting", "servo-reversed"]


@pytest.mark.parametrize("name", NAMES)
def test_the_command_in_the_truth_file_makes_the_same_bytes(name, tmp_path, monkeypatch):
    for airframe in AIRFRAMES:
        shutil.copy(FOLDER / f"{airframe}.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    program, *arguments = shlex.split(truth(name)["command"])
    assert (program, exit_status(arguments)) == ("benchrig", 0)
    for suffix in (".csv", ".toml", ".truth.toml"):
        assert (tmp_path / f"{name}{suffix}").read_bytes() == (FOLDER / f"{name}{suffix}").read_bytes(), suffix


@pytest.mark.parametrize("name", NAMES)
def test_the_page_names_the_command_of_every_capture(name):
    assert truth(name)["command"] in (FOLDER / "README.md").read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize("name", NAMES)
def test_every_capture_reads_and_is_small(name):
    airframe = read_airframe(FOLDER / f"{name.partition('-')[0]}.toml")
    recording = read_capture(FOLDER / f"{name}.toml", airframe)
    assert recording.operator == "R. Vane"
    assert set(recording.pulses) == {actuator.name for actuator in airframe.actuators}
    assert (FOLDER / f"{name}.csv").stat().st_size < 1_000_000


@pytest.mark.parametrize("name", AIRFRAMES)
def test_the_declared_effects_are_those_of_forces_and_levers(name):
    airframe = read_airframe(FOLDER / f"{name}.toml")
    for actuator in airframe.actuators:
        assert corrective_effect(actuator, airframe) == pytest.approx(actuator.effect, abs=1e-12), actuator.name
