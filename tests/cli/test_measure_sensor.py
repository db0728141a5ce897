"""`benchrig measure sensor` as a person calls it."""

from __future__ import annotations

import json

import pytest

from benchrig.cli.main import exit_status
from benchrig.declaration.airframe_file import read_airframe
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

SIX = ("level", "inverted", "on nose", "on tail", "on left side", "on right side", "level")


@pytest.fixture
def sensor(captures, tmp_path, capsys, monkeypatch):
    """Call the command on simulated poses, beside a copy of an airframe file; give status, output and errors."""
    monkeypatch.setenv("COLUMNS", "80")
    airframe = tmp_path / "knot.toml"
    airframe.write_text((captures / "knot.toml").read_text(encoding="utf-8"), encoding="utf-8")

    def call(*faults, motions=SIX, options=()):
        declared = read_airframe(airframe)
        chosen = Options(motions=motions, pulses=False, unit_attitude=False)
        made = simulate(declared, seed=4, faults=parse_faults(faults, declared), options=chosen)
        capture = write_capture(made, tmp_path / "poses").manifest
        status = exit_status(["measure", "sensor", str(airframe), str(capture), *options])
        printed = capsys.readouterr()
        return status, printed.out, printed.err

    call.airframe = airframe
    return call


def test_six_poses_print_their_values_and_cautions_and_write_three_lines(sensor):
    status, out, err = sensor(options=("--write",))
    assert status == 0
    said = " ".join(out.split())
    assert "nothing to stop it" in said
    assert "accelerometer bias, x" in said
    assert "Wrote 3 lines into" in err
    calibration = read_airframe(sensor.airframe).calibration
    assert calibration.accelerometer_bias is not None
    assert calibration.accelerometer_matrix is not None
    assert calibration.gyro_scale is not None


def test_what_was_written_passes_when_it_is_measured_again(sensor):
    sensor(options=("--write",))
    status, out, _ = sensor()
    assert status == 0
    assert "PASS" in out


def test_a_missing_pose_is_status_3_and_gives_nothing_to_write(sensor):
    status, out, _ = sensor(motions=SIX[:3])
    assert status == 3
    assert "Poses are missing: on tail, on left side and on right side." in " ".join(out.split())


def test_a_wrong_range_is_status_1_and_stands_in_the_json(sensor):
    status, out, _ = sensor("gyro-scale=2", options=("--json", "-"))
    assert status == 1
    result = json.loads(out)
    assert result["kind"] == "sensor"
    assert "gyro-size" in {finding["code"] for finding in result["findings"]}


def test_the_page_has_the_pictures(sensor, tmp_path):
    page = tmp_path / "sensor.html"
    sensor(options=("--html", str(page)))
    text = page.read_text(encoding="utf-8")
    assert "What each pose reads: too few to prove the calibration" in text
    assert text.count("<svg") >= 4
