"""The how-to pages say what the program does: the limits they list, and the commands they show."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from benchrig.cli.main import exit_status
from benchrig.keeping.allowances import ALLOWANCES
from benchrig.keeping.rejudgement_text import NOTHING

HOW_TO = Path(__file__).parents[2] / "docs" / "how-to"
ROWS = {
    "gyro bias": ("gyro bias", "5 °/s", "–"),
    "gyro scale": ("gyro over gravity", "0.05", "0.011"),
    "gyro noise": ("gyro noise", "×2 or ×0.5", "–"),
    "accelerometer size": ("accelerometer at rest", "0.04 g", "–"),
    "accelerometer delay": ("accelerometer delay", "20 ms", "4 ms"),
    "sample rate": ("sample rate", "5 % of the higher one", "0.1 %"),
    "lean": ("unit turned, roll and pitch", "5°", "1°, in place of the stated 2°"),
    "heading": ("unit turned, yaw", "10°", "6°"),
    "place": ("place", "the declared tolerance, else 10 mm", "–"),
    "latency": ("latency", "20 ms", "3 ms"),
    "response": ("answer of an actuator", "25 % of its largest", "2 % of its largest"),
}


def text(name):
    return (HOW_TO / name).read_text(encoding="utf-8")


def commands(name):
    blocks = re.findall(r"```sh\n(.*?)```", text(name), re.DOTALL)
    return [line.strip() for block in blocks for line in block.splitlines() if line.strip()]


def test_the_page_lists_every_limit_as_it_is_used():
    listed = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in text("compare-two-benches.md").splitlines()
        if line.count("|") == 5
    ]
    assert set(ROWS) == set(ALLOWANCES)
    for kind, (name, limit, repeat) in ROWS.items():
        (row,) = [cells for cells in listed if cells[0].startswith(name)]
        assert row[1:3] == [limit, repeat]
        allowed, share = ALLOWANCES[kind], ALLOWANCES[kind].measure == "share"
        number = float(re.search(r"\d[\d.]*", limit)[0])
        assert number == pytest.approx(allowed.limit * (100 if share else 1))
        added = re.match(r"\d[\d.]*", repeat)
        assert (float(added[0]) if added else 0.0) == pytest.approx(allowed.repeat * (100 if share else 1))
        assert allowed.replaces == ("in place" in repeat)


def test_the_commands_of_the_comparison_do_what_the_page_says(captures, tmp_path, monkeypatch, capsys):
    shutil.copy(captures / "dunlin.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    statuses = {command: exit_status(shlex.split(command)[1:]) for command in commands("compare-two-benches.md")}
    assert statuses.pop("benchrig compare may.json june.json") == 1
    assert set(statuses.values()) == {0}
    assert re.search(r"gyro bias, x: \+(8\.9|9\.0)", capsys.readouterr().out)


def test_the_commands_of_the_rejudgement_do_what_the_page_says(captures, tmp_path, monkeypatch, capsys):
    for old, new in (("teal.toml", "teal.toml"), ("teal-elevator-reversed.toml", "bench.toml")):
        shutil.copy(captures / old, tmp_path / new)
    shutil.copy(captures / "teal-elevator-reversed.csv", tmp_path)
    declared = (tmp_path / "teal.toml").read_text(encoding="utf-8")
    head, name, rest = declared.partition('name = "elevator"')
    (tmp_path / "teal-corrected.toml").write_text(
        head + name + rest.replace("trailing edge up", "trailing edge down", 1), encoding="utf-8"
    )
    monkeypatch.chdir(tmp_path)
    shown = []
    for command in commands("judge-an-old-bench-again.md"):
        capsys.readouterr()
        status = exit_status(shlex.split(command)[1:])
        shown.append((status, capsys.readouterr().out))
    assert [status for status, _ in shown] == [1, 1, 0]
    assert NOTHING in text("judge-an-old-bench-again.md")
    assert NOTHING in shown[1][1]
    change = re.search(r"`(actuators\..*?)`", text("judge-an-old-bench-again.md"))[1]
    assert change in shown[2][1]
