"""`benchrig simulate --live`, run as a user runs it: a port, a device file, and an operator who does what is typed."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from benchrig.capture.device.device_file import read_device
from benchrig.capture.device.samples import Samples
from benchrig.capture.port.source import PortSource
from benchrig.cli.live_unit import MISHAPS, NUMBERED
from benchrig.cli.main import exit_status
from benchrig.simulation.live_hand import LIVE_MOTIONS

PATIENCE = 20.0  # s


@pytest.fixture
def unit(captures, tmp_path):
    """Start the command, and give what it printed first, its process, and the name that leads to its port."""
    started = []

    def start(*options, airframe="dunlin"):
        link = tmp_path / "unit"
        command = [sys.executable, "-c", "from benchrig.cli.main import run; run()", "simulate"]
        command += [str(captures / f"{airframe}.toml"), "--live", "--port", str(link), *options]
        process = subprocess.Popen(
            command, cwd=tmp_path, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        started.append(process)
        said = dict(process.stdout.readline().split(maxsplit=1) for _ in range(2))
        return {key: value.strip() for key, value in said.items()}, process, link

    yield start
    for process in started:
        process.kill()
        process.communicate()


def rows_until(source, condition):
    taken = []
    stop = time.monotonic() + PATIENCE
    while not (taken and condition(taken)):
        assert time.monotonic() < stop
        taken += [item for item in source.take(0.1) if isinstance(item, Samples)]
    return np.concatenate([each.values for each in taken])


def test_it_sends_rows_moves_when_it_is_told_to_and_ends_when_it_is_told_to(unit, captures):
    said, process, link = unit("--seed", "5")
    assert said == {"port": str(link), "device": str(captures / "bench-unit.toml")}
    source = PortSource(read_device(Path(said["device"])), said["port"])
    source.open()
    try:
        gyro = [source.columns.index(name) for name in ("gx", "gy", "gz")]
        still = rows_until(source, lambda taken: sum(len(each.time) for each in taken) > 100)
        assert still[:, gyro].std(axis=0).max() < 10  # counts
        process.stdin.write("1\n")
        process.stdin.flush()
        moved = rows_until(source, lambda taken: abs(taken[-1].values[:, gyro] - still[0, gyro]).max() > 200)
        assert len(moved)
    finally:
        source.close()
    _, told = process.communicate("quit\n", timeout=PATIENCE)
    assert process.returncode == 0
    assert "nose up: " in told
    assert not os.path.lexists(link)


def test_a_device_file_that_is_not_there_is_written_for_the_airframe(unit, tmp_path):
    said, process, _ = unit("--device", "mine.toml", "--sends", "lines", airframe="teal")
    assert said["device"] == "mine.toml"
    device = read_device(tmp_path / "mine.toml")
    assert list(device.meaning.actuators) == ["left aileron", "right aileron", "elevator", "rudder"]
    assert device.is_pulses_only is False
    process.send_signal(signal.SIGTERM)
    _, told = process.communicate(timeout=PATIENCE)
    assert (process.returncode, "Wrote mine.toml" in told) == (0, True)


def test_a_word_that_nobody_knows_is_answered_and_the_unit_goes_on(unit):
    _, process, _ = unit()
    _, told = process.communicate("fly\n drop \nUNPLUG\nplug in\nquit\n", timeout=PATIENCE)
    assert '"fly": is no motion that a hand makes; expected one of: nose up' in told
    assert "drop: the airframe is knocked over and caught" in told
    assert told.index("unplug: pull the plug") < told.index("plug in: put it in again")
    assert process.returncode == 0


@pytest.mark.parametrize(
    ("options", "refusal"),
    [
        ([], "--out and --live: are both missing; expected one of them"),
        (["--live", "--out", "x"], "--out and --live: are both given; expected one of them"),
        (["--out", "x", "--port", "y"], "--port: does not stand alone; expected --live"),
        (["--live", "--routine"], "--live: --routine says nothing about a unit that waits to be moved"),
        (["--live", "--rest-s", "3"], "--live: --rest-s says nothing about a unit that waits to be moved"),
    ],
)
def test_options_that_do_not_go_together_are_refused(options, refusal, captures, capsys):
    assert exit_status(["simulate", str(captures / "dunlin.toml"), *options]) == 2
    assert refusal in capsys.readouterr().err


def test_the_usual_device_file_is_refused_for_another_airframe_with_the_way_out(captures, capsys):
    assert exit_status(["simulate", str(captures / "knot.toml"), "--live"]) == 2
    told = capsys.readouterr().err
    assert "bench-unit.toml is the unit of another airframe than Knot; name a file that is not there" in told


def test_a_form_is_refused_where_the_device_file_says_it_already(captures, capsys):
    given = ["--live", "--device", str(captures / "bench-unit.toml"), "--sends", "lines"]
    assert exit_status(["simulate", str(captures / "dunlin.toml"), *given]) == 2
    assert "--sends: the device file says already what the unit sends" in capsys.readouterr().err


def test_everything_that_can_be_typed_is_a_motion_or_a_mishap():
    assert set(NUMBERED.values()) <= set(LIVE_MOTIONS)
    assert not set(MISHAPS) & set(LIVE_MOTIONS)
