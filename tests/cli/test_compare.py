"""`benchrig compare` as a user calls it."""

from __future__ import annotations

import json
import re

import pytest

from benchrig.cautions import CAUTIONS
from benchrig.cli.main import exit_status


@pytest.fixture(scope="module")
def benches(captures, tmp_path_factory):
    """Give a folder with benches of one simulated unit, and of one whose gyro's bias then moved."""
    folder = tmp_path_factory.mktemp("benches")
    rig = str(captures / "knot.toml")
    for name, *options in (
        ("may", "--seed", "1"),
        ("june", "--seed", "2"),
        ("july", "--seed", "3", "--fault", "gyro-bias=9"),
    ):
        assert exit_status(["simulate", rig, "--out", str(folder / name), "--unit-seed", "5", *options]) == 0
        call = ["check", rig, str(folder / f"{name}.toml"), "--json", str(folder / f"{name}.json")]
        assert exit_status(call) == 0
    return folder


@pytest.fixture
def called(benches, monkeypatch, capsys):
    """Call the command in that folder; give its status, output and errors."""
    monkeypatch.chdir(benches)
    monkeypatch.setenv("COLUMNS", "80")

    def call(*arguments):
        capsys.readouterr()
        status = exit_status(["compare", *arguments])
        printed = capsys.readouterr()
        return status, printed.out, printed.err

    return call


def test_two_benches_of_one_unit_show_nothing_that_matters(called):
    status, out, err = called("may.json", "june.json")
    assert (status, err) == (0, "")
    assert "NOTHING SEEN TO MOVE THAT MATTERS" in out
    assert re.search(r"\d+ are where they were,\s+\d+ are too unsure to tell", out)
    assert "≠" not in out


def test_a_unit_that_moved_is_told_by_status_and_words(called):
    status, out, _ = called("may.json", "july.json")
    assert status == 1
    assert "SOMETHING MOVED THAT MATTERS" in out
    assert re.search(r"gyro bias, x: \+(8\.9|9\.0)", out)


def test_json_alone_on_standard_output_with_the_cautions_beside_it(called):
    status, out, err = called("may.json", "june.json", "--json", "-")
    assert status == 0
    assert json.loads(out)["outcome"] == "pass"
    assert all(caution in err for caution in CAUTIONS)


def test_the_json_is_written_once_more_over_itself_and_never_over_a_result(called, benches):
    for _ in range(2):
        status, _, err = called("may.json", "june.json", "--json", "moved.json")
        assert status == 0
        assert "Wrote moved.json" in err
    before = (benches / "may.json").read_bytes()
    status, _, err = called("may.json", "june.json", "--json", "may.json", "--force")
    assert status == 2
    assert "is one of the results that are compared" in err
    assert (benches / "may.json").read_bytes() == before


def test_what_cannot_be_compared_is_told_in_a_sentence(called, benches, captures):
    status, _, err = called("may.json", "may.json")
    assert status == 5
    assert "holds the same result" in err
    other = [
        "check",
        str(captures / "dunlin.toml"),
        str(captures / "dunlin-ok.toml"),
        "--json",
        str(benches / "d.json"),
    ]
    assert exit_status(other) == 0
    status, _, err = called("may.json", "d.json")
    assert status == 5
    assert 'is of the airframe "Dunlin 450"' in err
    status, _, err = called("may.json", "none.json")
    assert status == 5
    assert "there is no such result" in err


def test_one_name_alone_is_wrong_usage(called):
    status, _, err = called("may.json")
    assert status == 2
    assert "SECOND" in err


def test_a_comparison_never_takes_the_place_of_a_result(called, benches):
    kept = (benches / "july.json").read_bytes()
    status, _, err = called("may.json", "june.json", "--json", "july.json")
    assert status == 2
    assert "--json july.json: exists and was not made by this command" in err
    assert (benches / "july.json").read_bytes() == kept
    for _ in range(2):  # its own it may replace
        assert called("may.json", "june.json", "--json", "moved.json")[0] == 0
