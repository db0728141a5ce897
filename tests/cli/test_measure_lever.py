"""`benchrig measure lever` as a person calls it."""

from __future__ import annotations

import json

import pytest

from benchrig.cli.main import exit_status
from benchrig.declaration.airframe_file import read_airframe
from benchrig.simulation.bench import simulate
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

SPINS = {
    "spin": {"motions": ("level", "turntable clockwise", "level")},
    "tail": {"motions": ("on tail", "turntable clockwise", "on tail"), "posture": "on tail"},
    "moves": {"motions": ("level", "nose up", "level")},
}


@pytest.fixture
def lever(captures, tmp_path, capsys, monkeypatch):
    """Call the command on captures by name, beside a copy of an airframe file; give status, output and errors."""
    monkeypatch.setenv("COLUMNS", "80")
    airframe = tmp_path / "teal.toml"
    airframe.write_text((captures / "teal.toml").read_text(encoding="utf-8"), encoding="utf-8")
    declared = read_airframe(airframe)

    def call(*names, options=()):
        for seed, name in enumerate(names):
            chosen = Options(pulses=False, unit_attitude=False, **SPINS[name])
            write_capture(simulate(declared, seed=seed, options=chosen), tmp_path / name)
        files = [str(tmp_path / f"{name}.toml") for name in names]
        status = exit_status(["measure", "lever", str(airframe), *files, *options])
        printed = capsys.readouterr()
        return status, printed.out, printed.err

    call.airframe = airframe
    return call


def test_two_poses_print_a_pass_and_write_the_line(lever):
    status, out, err = lever("spin", "tail", options=("--write",))
    assert status == 0
    assert "sensor from CG, forward" in out
    assert "throws off what is loose" in " ".join(out.split())
    assert "Wrote 1 lines into" in err or "Wrote 1 line into" in err
    text = lever.airframe.read_text(encoding="utf-8")
    assert "# measured: forward ± 0." in text
    assert read_airframe(lever.airframe).sensor.lever_arm[0] == pytest.approx(0.035, abs=1.5e-3)


def test_one_spin_leaves_the_third_axis_not_shown(lever):
    status, out, _ = lever("spin")
    assert status == 3
    assert "a spin shows nothing along its axis" in " ".join(out.split())


def test_hand_moves_alone_measure_nothing_and_write_nothing(lever):
    before = lever.airframe.read_bytes()
    status, _, err = lever("moves", options=("--write",))
    assert status == 3
    assert "this measurement gave no line for it" in err
    assert lever.airframe.read_bytes() == before


def test_the_result_is_json_with_null_where_nothing_can_be_told(lever):
    status, out, err = lever("spin", options=("--json", "-"))
    assert status == 3
    result = json.loads(out)
    assert result["kind"] == "lever"
    assert [q["value"] is None for q in result["quantities"][:3]] == [False, False, True]
    assert "Caution: A spinning airframe throws off what is loose" in err


def test_the_command_needs_a_capture(lever):
    status, _, err = lever()
    assert status == 2
    assert "CAPTURE..." in err
