"""The demonstration: four benches of known truth, told in full and in brief, from files that lie where it says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from benchrig.cli.demo import DEMOS, demo_folder
from benchrig.cli.main import exit_status


@pytest.fixture(scope="module")
def demonstration():
    """Run the demonstration once."""
    import contextlib  # noqa: PLC0415 - of this fixture alone
    import io  # noqa: PLC0415 - of this fixture alone

    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = exit_status(["demo"])
    return status, out.getvalue(), err.getvalue()


def test_the_demonstration_ends_well_although_three_of_its_benches_fail(demonstration):
    status, out, err = demonstration
    assert (status, err) == (0, "")
    assert re.findall(r"^  \S (PASS|FAIL|NOT SHOWN)$", out, re.MULTILINE) == ["PASS", "FAIL", "FAIL", "FAIL"]


def test_each_bench_names_its_own_fault(demonstration):
    told = " ".join(demonstration[1].split())
    for fault in (
        "the unit sits otherwise than declared",
        "elevator answers the wrong way",
        "the gyro differs from the declaration",
    ):
        assert told.count(fault) == 1


def test_the_cautions_come_before_the_first_verdict(demonstration):
    out = demonstration[1]
    assert 0 < out.index("Take the blades or propellers off") < out.index("PASS")


def test_the_commands_it_shows_can_be_called_as_they_stand(demonstration, capsys):
    commands = re.findall(r"^benchrig (check .+)$", demonstration[1], re.MULTILINE)
    assert len(commands) == len(DEMOS)
    assert exit_status([*commands[2].split(), "--json", "-"]) == 1
    assert '"verdict": "fail"' in capsys.readouterr().out


def test_the_list_names_the_files_and_judges_nothing(capsys):
    assert exit_status(["demo", "--list"]) == 0
    out = capsys.readouterr().out
    assert str(demo_folder()) in out
    assert "PASS" not in out
    for path in re.findall(r"\S+\.toml", out):
        assert Path(path).is_file()


def test_it_says_that_nothing_was_recorded(demonstration):
    assert "all of them simulated" in demonstration[1]


@pytest.mark.parametrize(("airframe", "capture", "_what"), DEMOS)
def test_every_demonstrated_file_is_there(airframe, capture, _what):
    for name in (f"{airframe}.toml", f"{capture}.toml", f"{capture}.csv"):
        assert (demo_folder() / name).is_file()


def test_files_inside_an_installed_package_come_first(monkeypatch, tmp_path):
    package = tmp_path / "benchrig"
    (package / "cli").mkdir(parents=True)
    monkeypatch.setattr("benchrig.cli.demo.__file__", str(package / "cli" / "demo.py"))
    assert demo_folder() == tmp_path / "captures"
    (package / "captures").mkdir()
    assert demo_folder() == package / "captures"
