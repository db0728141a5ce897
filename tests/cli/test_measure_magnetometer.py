"""`benchrig measure magnetometer` as a user calls it: places without signs, files, statuses and lines written back."""

from __future__ import annotations

import json
import math
import shutil

import pytest
from click import BadParameter

from benchrig.cli.main import exit_status
from benchrig.cli.measure.place import latitude, longitude
from benchrig.declaration.airframe_file import read_airframe
from benchrig.simulation.bench import simulate
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

TWO_TURNS = ("level", "level turn", "tilted turn", "level")
HERE = ("--latitude", "52.1N", "--longitude", "4.9E")


@pytest.fixture(scope="module")
def turns(captures, tmp_path_factory):
    """Give a folder with an airframe file without hemisphere, and a capture of two turns."""
    folder = tmp_path_factory.mktemp("compass")
    text = (captures / "dunlin.toml").read_text(encoding="utf-8")
    kept = [line for line in text.splitlines(keepends=True) if not line.startswith("hemisphere")]
    (folder / "dunlin.toml").write_text("".join(kept), encoding="utf-8")
    bench = simulate(read_airframe(folder / "dunlin.toml"), seed=3, options=Options(motions=TWO_TURNS))
    write_capture(bench, folder / "turns")
    return folder


def run(folder, *options, capture="turns.toml"):
    return exit_status(["measure", "magnetometer", str(folder / "dunlin.toml"), str(folder / capture), *options])


def test_a_place_with_letters_gives_the_field_there_and_the_declination(turns, capsys):
    # its iron, 35° of heading, is not taken out yet
    assert run(turns, *HERE) == 3
    text = capsys.readouterr().out
    assert "declination at the place" in text
    assert 'hemisphere = "north"' in text
    assert "magnetometer_bias_ut" in text


def test_the_southern_letter_is_a_fail_with_status_1(turns, capsys):
    assert run(turns, "--latitude", "52.1S", "--longitude", "4.9E") == 1
    assert "compass" in capsys.readouterr().out


def test_without_a_place_the_common_sign_is_told_as_unknown(turns, capsys):
    assert run(turns) == 3
    assert "The common sign of all three axes is not told" in " ".join(capsys.readouterr().out.split())


def test_the_lines_go_into_the_airframe_file_and_are_read_back(turns, tmp_path, capsys):
    for file in turns.iterdir():
        shutil.copy(file, tmp_path)
    assert run(tmp_path, *HERE, "--write") == 3
    written = read_airframe(tmp_path / "dunlin.toml")
    assert written.magnetometer.hemisphere == "north"
    assert written.calibration.magnetometer_bias is not None
    assert (tmp_path / "dunlin.before-1.toml").is_file()
    capsys.readouterr()
    # measured against what was written, the same turns agree with it
    assert run(tmp_path, *HERE, "--json", "-") == 0
    quantities = json.loads(capsys.readouterr().out)["quantities"]
    declared = [q for q in quantities if q["name"].startswith("hard iron")]
    assert all(q["declared"] is not None for q in declared)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--latitude", "52.1", "--longitude", "4.9E"), "write degrees and a letter: 52.1N or 52.1S"),
        (("--latitude", "-33.9", "--longitude", "4.9E"), "a sign or a bare number does not say which side"),
        (("--latitude", "52.1E", "--longitude", "4.9E"), "unreadable; write degrees and a letter: 52.1N or 52.1S"),
        (("--latitude", "95N", "--longitude", "4.9E"), "90° at most"),
        (("--latitude", "52.1N"), "--longitude: is missing beside the other one"),
        ((*HERE, "--date", "1999-05-01"), "--date: 1999-05-01; expected 2015-01-01 to 2029-12-31"),
        ((*HERE, "--height-m", "250000"), "--height-m: 250000 m; expected"),
    ],
)
def test_a_place_that_cannot_be_read_is_status_2_with_what_to_write(turns, capsys, options, words):
    assert run(turns, *options) == 2
    assert words in " ".join(capsys.readouterr().err.split())


def test_a_recording_without_a_day_asks_for_one(turns, tmp_path, capsys):
    for file in turns.iterdir():
        shutil.copy(file, tmp_path)
    manifest = tmp_path / "turns.toml"
    kept = [line for line in manifest.read_text(encoding="utf-8").splitlines(keepends=True) if "recorded" not in line]
    manifest.write_text("".join(kept), encoding="utf-8")
    assert run(tmp_path, *HERE) == 2
    assert "give it with --date" in capsys.readouterr().err
    assert run(tmp_path, *HERE, "--date", "2026-11-25") == 3


@pytest.mark.parametrize(("text", "degrees"), [("52.1N", 52.1), ("33,9 s", -33.9), ("0N", 0.0), ("4.9°N", 4.9)])
def test_angles_are_read_by_their_letter(text, degrees):
    assert math.degrees(latitude(text)) == pytest.approx(degrees)


@pytest.mark.parametrize("text", ["", "N", "52.1.3N", "nanN", "1e2N", "52N 10", "٥N"])
def test_what_is_no_angle_is_refused(text):
    with pytest.raises(BadParameter, match="write degrees and a letter"):
        latitude(text)


def test_west_is_negative():
    assert math.degrees(longitude("70.7W")) == pytest.approx(-70.7)
