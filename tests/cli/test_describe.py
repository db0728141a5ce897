"""`benchrig describe` as a person calls it: statuses, files, and the page that shows it."""

import json
import re
import shlex
import shutil
from pathlib import Path

import pytest

from benchrig.cli.main import exit_status

PAGE = Path(__file__).parents[2] / "docs/how-to/describe-an-unknown-stream.md"


@pytest.fixture
def bench(tmp_path, captures, monkeypatch):
    for name in ("knot-gyro-roll-sign.csv", "knot.toml", "dunlin.toml"):
        shutil.copy(captures / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def describe(capsys):
    def call(*arguments):
        capsys.readouterr()
        status = exit_status(["describe", *map(str, arguments)])
        printed = capsys.readouterr()
        return status, printed.out, printed.err

    return call


def test_a_stream_that_shows_all_gives_a_manifest_and_status_0(bench, describe):
    status, out, err = describe("knot-gyro-roll-sign.csv")
    assert (status, err) == (0, "")
    assert 'gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }' in out
    assert "gx has the wrong sign" in " ".join(out.replace("#", "").split())
    assert not list(bench.glob("*.truth.toml"))


def test_a_stream_that_shows_too_little_gives_status_3(bench, describe):
    lines = (bench / "knot-gyro-roll-sign.csv").read_text().splitlines()
    (bench / "still.csv").write_text("\n".join(lines[:250]))
    status, out, _ = describe("still.csv")
    assert status == 3
    assert "gyro: NOT SURE. By its names alone" in out


@pytest.mark.usefixtures("bench")
def test_a_file_that_is_no_stream_gives_status_5(describe):
    status, out, err = describe("knot.toml")
    assert (status, out) == (5, "")
    assert err.startswith("knot.toml: no row of numbers within its first lines; expected one line a sample")
    assert describe("missing.csv")[0] == 5


def test_a_stream_without_a_clock_asks_for_the_rate(bench, describe):
    lines = (bench / "knot-gyro-roll-sign.csv").read_text().splitlines()
    (bench / "untimed.csv").write_text("\n".join(line.partition(",")[2] for line in lines))
    status, _, err = describe("untimed.csv")
    assert status == 5
    assert "give the rows a second with --rate-hz" in err
    status, out, _ = describe("untimed.csv", "--rate-hz", "100")
    assert status == 3
    assert "time: not found. The rows were taken as 100 a second" in out
    assert "gyro: sure." in out


@pytest.mark.usefixtures("bench")
def test_the_manifest_is_written_and_checked(describe, capsys):
    status, out, err = describe("knot-gyro-roll-sign.csv", "--out", "found.toml")
    assert (status, err) == (0, "Wrote found.toml\n")
    assert "gyro           sure      gx gy gz, deg/s" in out
    # no motion is named, so nothing can pass; that the sensors contradict each other shows all the same
    assert exit_status(["check", "knot.toml", "found.toml"]) == 1
    assert "the gyro is surely not wired as declared" in capsys.readouterr().out
    assert describe("knot-gyro-roll-sign.csv", "--out", "found.toml")[0] == 0


def test_a_manifest_that_somebody_changed_is_left_alone(bench, describe):
    describe("knot-gyro-roll-sign.csv", "--out", "found.toml")
    changed = (bench / "found.toml").read_text() + '\n[[motion]]\nname = "nose up"\nstart_s = 3\nend_s = 5\n'
    (bench / "found.toml").write_text(changed)
    status, _, err = describe("knot-gyro-roll-sign.csv", "--out", "found.toml")
    assert (status, (bench / "found.toml").read_text()) == (2, changed)
    assert "was changed since this command made it; give another name, or --force" in err
    assert describe("knot-gyro-roll-sign.csv", "--out", "found.toml", "--force")[0] == 0
    assert "[[motion]]" not in (bench / "found.toml").read_text().replace("# [[motion]]", "")


@pytest.mark.parametrize("name", ["dunlin.toml", "notes.toml"])
def test_what_is_no_manifest_is_never_replaced(name, bench, describe):
    (bench / "notes.toml").write_text("kept = true\n")
    before = (bench / name).read_bytes()
    status, _, err = describe("knot-gyro-roll-sign.csv", "--out", name, "--force")
    assert (status, (bench / name).read_bytes()) == (2, before)
    assert "--force does not help" in err


@pytest.mark.parametrize("target", ["knot-gyro-roll-sign.csv", "found.txt", "below/found.toml", "../found.toml"])
def test_a_place_that_cannot_serve_is_refused_before_any_work(target, bench, describe):
    (bench / "below").mkdir()
    status, out, err = describe("knot-gyro-roll-sign.csv", "--out", target, "--force")
    assert (status, out) == (2, "")
    assert f"--out {target}" in err


def test_json_alone_goes_to_a_program(bench, describe):
    status, out, err = describe("knot-gyro-roll-sign.csv", "--json", "-")
    assert (status, err) == (0, "")
    assert json.loads(out)["gyro_and_accelerometer"]["agree"] is False
    assert describe("knot-gyro-roll-sign.csv", "--json", "found.json")[2] == "Wrote found.json\n"
    assert json.loads((bench / "found.json").read_text()) == json.loads(out)


@pytest.mark.usefixtures("bench")
def test_the_page_shows_what_its_commands_print(describe):
    page = PAGE.read_text(encoding="utf-8")
    simulate, ask = (line for block in re.findall(r"```sh\n(.*?)```", page, re.DOTALL) for line in block.splitlines())
    assert exit_status(shlex.split(simulate)[1:]) == 0
    status, out, _ = describe(*shlex.split(ask)[2:])
    assert status == 0
    words = " ".join(out.replace("#", "").split())
    for shown in re.findall(r"```text\n(.*?)```", page, re.DOTALL):
        assert re.sub(r"\d", "0", " ".join(shown.replace("#", "").split())) in re.sub(r"\d", "0", words)
