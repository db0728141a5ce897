"""A stored capture recorded again, from the command line to the status: a person's terminal, signals and all."""

import json
import os
import re
import signal
import subprocess
import sys
import termios
from pathlib import Path

import pytest
from spawned import CAPTURES, CODE, Spawned
from terminal_page import Terminal

from benchrig.cli.main import exit_status
from benchrig.cli.record.phrases import asked
from benchrig.geometry.turns import REQUIRED_TURNS

DUNLIN = (CAPTURES / "dunlin.toml", "--from", CAPTURES / "dunlin-ok.toml")


@pytest.fixture
def spawn(tmp_path):
    running = []

    def start(*arguments, **options):
        running.append(Spawned(["record", *arguments], tmp_path, **options))
        return running[-1]

    yield start
    for each in running:
        each.close()


def judged(folder, name, airframe="dunlin"):
    """Give what `check` makes of a recording."""
    result = folder / "checked.json"
    status = exit_status(["check", str(CAPTURES / f"{airframe}.toml"), str(folder / name), "--json", str(result)])
    return status, json.loads(result.read_text())


def has_rows(count):
    """Wait for so many rows: on a busy computer a moment of the screen may pass unseen, but no row does."""

    def seen(page):
        rows = re.search(r"(\d+) rows", page.lines[0])
        return rows and int(rows[1]) >= count

    return seen


def without_software(result):
    return {key: value for key, value in result.items() if key != "software"}


def test_what_is_recorded_judges_as_its_original_and_as_the_report_said(tmp_path, spawn, monkeypatch):
    program = spawn(*DUNLIN, "--speed", "6", "--out", "again", "--json", "-", "--colour")
    program.until(lambda page: any(asked(motion, (25.0, 50.0))[:20] in page.text for motion in REQUIRED_TURNS))
    assert program.page.modes == {1049: True, 25: False, 7: False}
    assert termios.tcgetattr(program.theirs) != program.settings
    assert program.ended() == 0
    assert program.page.modes == {1049: False, 25: True, 7: True}
    assert termios.tcgetattr(program.theirs) == program.settings
    printed = json.loads(program.output.read_text())
    monkeypatch.chdir(tmp_path)  # a result names its files as they were named
    status, checked = judged(Path(), "again.toml")
    assert status == 0
    assert without_software(printed) == without_software(checked)
    exit_status(["check", str(DUNLIN[0]), str(DUNLIN[2]), "--json", "original.json"])
    original = json.loads(Path("original.json").read_text())
    assert printed["matrix"] == original["matrix"]
    assert printed["mounting"] == original["mounting"]


def test_q_stops_and_keeps_everything_so_far(tmp_path, spawn):
    program = spawn(*DUNLIN, "--speed", "4", "--out", "again")
    program.until(has_rows(700))
    program.process.send_signal(signal.SIGSTOP)
    os.waitid(os.P_PID, program.process.pid, os.WSTOPPED)
    program.page = Terminal(80, 24)  # whoever halted it had the screen meanwhile
    program.process.send_signal(signal.SIGCONT)
    program.until(lambda page: page.modes.get(1049) and "rows" in page.lines[0] and "q: stop" in page.text)
    program.press(b"q")
    assert program.ended() == 3
    status, result = judged(tmp_path, "again.toml")
    assert status == 3
    assert 6.0 < result["capture"]["duration_s"] < 30.0
    assert "NOT SHOWN" in program.output.read_text()


def test_a_signal_stops_it_gives_the_terminal_back_and_keeps_everything(tmp_path, spawn):
    program = spawn(*DUNLIN, "--speed", "4", "--out", "again")
    program.until(has_rows(700))
    os.kill(program.process.pid, signal.SIGTERM)
    assert program.ended() == 130
    assert program.page.modes == {1049: False, 25: True, 7: True}
    assert termios.tcgetattr(program.theirs) == program.settings
    assert (tmp_path / "again.arrow.end.json").exists()
    assert judged(tmp_path, "again.toml")[0] == 3


def test_a_terminal_that_goes_away_takes_nothing_with_it(tmp_path, spawn):
    program = spawn(*DUNLIN, "--speed", "4", "--out", "again")
    program.until(has_rows(700))
    os.close(program.ours)
    os.close(program.theirs)
    program.process.wait(timeout=60)
    assert (tmp_path / "again.arrow.end.json").exists()
    assert judged(tmp_path, "again.toml")[0] == 3


def test_killed_outright_it_leaves_a_capture_that_check_takes(tmp_path, spawn):
    program = spawn(*DUNLIN, "--speed", "4", "--out", "again")
    program.until(has_rows(1200))
    program.process.kill()
    program.process.wait()
    assert not (tmp_path / "again.arrow.end.json").exists()
    status, result = judged(tmp_path, "again.toml")
    assert status == 3
    assert result["capture"]["samples"] > 1000


def test_line_by_line_where_no_terminal_is(tmp_path):
    finished = subprocess.run(
        [sys.executable, "-c", CODE, "record", *map(str, DUNLIN), "--speed", "inf", "--out", "again"],
        input="",
        capture_output=True,
        text=True,
        cwd=tmp_path,
        check=False,
    )
    assert finished.returncode == 0, finished.stderr
    assert "\x1b" not in finished.stderr + finished.stdout
    assert "NOSE UP: Raise the nose by" in finished.stderr
    assert finished.stderr.index("Caution: ") < finished.stderr.index(
        "HANDS OFF" if "HANDS OFF" in finished.stderr else "LEVEL"
    )
    assert "PASS" in finished.stdout


@pytest.fixture
def nowhere(tmp_path, monkeypatch):
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("arguments", "says", "status"),
    [
        ("", "neither --port nor --from is given", 2),
        ("--port X", "--device, the file that says what the unit sends", 2),
        ("--device d.toml --from m.toml", "expected --port", 2),
        ("--port X --device d.toml --from m.toml", "both --port and --from are given; expected one of --port and", 2),
        ("--port X --device d.toml --speed 2", "expected --from", 2),
        (f"--from {CAPTURES}/dunlin-ok.toml --motion free", "a capture brings its own", 2),
        (f"--from {CAPTURES}/dunlin-ok.toml --speed 0", "expected a number above zero, or inf", 2),
        ("--from absent.toml", "absent.toml", 5),
        (f"--from {CAPTURES}/teal-elevator-reversed.toml", "expected a capture of this airframe", 5),
        ("--port X --device absent.toml", "absent.toml", 5),
        (f"--port X --device {CAPTURES}/dunlin.toml", "is an airframe file, and not a device file", 5),
    ],
)
def test_what_does_not_go_together_is_said_before_anything_is_made(nowhere, capsys, arguments, says, status):
    assert exit_status(["record", str(DUNLIN[0]), "--out", "bench", *arguments.split()]) == status
    said = capsys.readouterr()
    assert says in said.err
    assert said.out == ""
    assert list(nowhere.iterdir()) == []


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ("actuators", 'receiver.toml: [columns.actuators]: gives the pulses to "front", and so does bench-unit.toml'),
        ("commands", ""),
    ],
)
def test_two_devices_that_tell_of_one_actuator_are_refused_before_anything_is_opened(nowhere, capsys, table, says):
    device = nowhere / "receiver.toml"
    device.write_text(
        "[device]\nname = 'receiver'\nsends = 'lines'\n[lines]\norder = ['t', 'ch1']\n[columns]\n"
        f"time = {{ names = ['t'], unit = 'ms' }}\n[columns.{table}]\nfront = {{ names = ['ch1'], unit = 'us' }}\n"
    )
    both = ["--port", "absent", "--device", str(CAPTURES / "bench-unit.toml")]
    both += ["--pulses-port", "absent-too", "--pulses-device", str(device)]
    status = exit_status(["record", str(DUNLIN[0]), "--out", "bench", *both])
    said = capsys.readouterr().err
    if says:
        assert says in said
        assert "expected one device for each; take them out of the file" in said
        assert status == 5
    else:
        assert "is not there" in said  # pulses of one and commands of the other go together: the port is looked for
        assert status == 6


def test_a_replay_never_writes_over_what_it_plays(tmp_path, capsys):
    for file in ("dunlin-ok.toml", "dunlin-ok.csv"):
        (tmp_path / file).write_bytes((CAPTURES / file).read_bytes())
    before = (tmp_path / "dunlin-ok.toml").read_bytes()
    manifest = str(tmp_path / "dunlin-ok.toml")
    assert exit_status(["record", str(DUNLIN[0]), "--from", manifest, "--out", manifest, "--force"]) == 2
    assert "which this recording reads" in capsys.readouterr().err
    assert (tmp_path / "dunlin-ok.toml").read_bytes() == before
