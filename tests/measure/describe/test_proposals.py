"""What a description says: a manifest that `check` reads, and why."""

import json
import tomllib

import numpy as np
import pytest
from unknown_streams import make_unknown

from benchrig.capture.reader import read_capture
from benchrig.measure.describe.describe import describe
from benchrig.measure.describe.manifest_text import manifest_text, quoted
from benchrig.report.description_result import description_json


@pytest.fixture(scope="module")
def folder(tmp_path_factory, demo_airframe):
    folder = tmp_path_factory.mktemp("unknown")
    make_unknown(3, demo_airframe).write(folder / "unknown.csv")
    return folder


@pytest.fixture(scope="module")
def description(folder):
    return describe(folder / "unknown.csv")


def test_the_manifest_is_read_by_check_as_it_stands(folder, description):
    (folder / "unknown.toml").write_text(manifest_text(description), encoding="utf-8")
    recording = read_capture(folder / "unknown.toml")
    assert np.median(np.linalg.norm(recording.acceleration, axis=1)) == pytest.approx(9.8, rel=0.05)
    assert np.degrees(np.abs(recording.angular_rate).max()) == pytest.approx(100, rel=0.9)


def test_the_motions_are_left_to_the_user(description):
    text = manifest_text(description)
    assert "# [[motion]]" in text
    assert "motion" not in tomllib.loads(text)


def test_every_column_is_accounted_for_once(description):
    named = [name for group in description.groups for name in group.names]
    named += [*description.pulses, *description.others]
    assert sorted(named) == sorted(description.unknown.names)


def test_the_result_for_programs_says_the_same(description):
    result = json.loads(description_json(description))
    assert result["schema"] == "benchrig-description/1"
    assert result["sure"] is description.is_sure
    assert [group["group"] for group in result["groups"]][:3] == ["time", "gyro", "accelerometer"]
    assert result["manifest"] == manifest_text(description)


def test_names_cannot_break_out_of_the_manifest(folder):
    lines = (folder / "unknown.csv").read_text().splitlines()
    names = lines[0].split(",")
    nasty = [f"{name}\\\x1b[2J]# = {{" for name in names]
    (folder / "nasty.csv").write_text("\n".join([",".join(nasty), *lines[1:]]), encoding="utf-8")
    text = manifest_text(describe(folder / "nasty.csv"))
    assert "\x1b" not in text
    named = tomllib.loads(text)["columns"]["gyro"]["names"]
    assert set(named) <= set(nasty)


def test_names_that_speak_of_another_sensor_are_told(folder):
    lines = (folder / "unknown.csv").read_text().splitlines()
    found = describe(folder / "unknown.csv")
    swap = dict(zip(found.group("gyro").names, ("ax", "ay", "az"), strict=True))
    swap |= dict(zip(found.group("accelerometer").names, ("gx", "gy", "gz"), strict=True))
    names = [swap.get(name, name) for name in lines[0].split(",")]
    (folder / "swapped.csv").write_text("\n".join([",".join(names), *lines[1:]]), encoding="utf-8")
    again = describe(folder / "swapped.csv")
    assert set(again.group("gyro").names) == {"ax", "ay", "az"}
    assert "speak of accelerometer" in again.group("gyro").why


def test_a_quoted_name_reads_back():
    for name in ('plain "x"', "tab\tand\\", "µ° \x7f", "\U0001f681"):
        assert tomllib.loads(f"k = {quoted(name)}") == {"k": name}
