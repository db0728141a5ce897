"""A simulated unit on a real pseudo-terminal, and hands that do what the screen asks for: the whole bench."""

import json
import os
import re
import signal

import pytest
from hands import Hands, unit
from spawned import CAPTURES, Spawned

from benchrig.cli.main import exit_status

DUNLIN = CAPTURES / "dunlin.toml"
TEAL = CAPTURES / "teal.toml"


class Rig:
    """The simulated unit, the program that records it, and the hands."""

    def __init__(self, folder, airframe, *arguments, **options):
        self.folder, self.airframe = folder, airframe
        self.device, path, bench = unit(folder, airframe, **options)
        self.device.start()
        named = ["--port", self.device.name, "--device", path, "--out", "bench", *arguments]
        self.program = Spawned(["record", airframe, *named], folder)
        self.hands = Hands(self.device, bench)

    def work(self, seconds=150.0):
        """Do what is asked for until the program ends; give its status."""
        return self.program.ended(seconds, self.hands.look)

    def until(self, seen):
        """Do what is asked for until `seen(page)` holds."""
        return self.program.until(seen, meanwhile=self.hands.look)

    def checked(self):
        """Judge again what was stored, as `check` does."""
        result = self.folder / "checked.json"
        status = exit_status(["check", str(self.airframe), str(self.folder / "bench.toml"), "--json", str(result)])
        return status, json.loads(result.read_text())

    def close(self):
        """End both."""
        self.program.close()
        self.device.stop()


@pytest.fixture
def rig(tmp_path):
    made = []

    def make(airframe, *arguments, **options):
        made.append(Rig(tmp_path, airframe, *arguments, **options))
        return made[-1]

    yield make
    for each in made:
        each.close()


def test_a_right_rig_passes_and_judges_the_same_from_what_was_stored(rig):
    bench = rig(DUNLIN, "--json", "-", "--operator", "R. Vane", rate_hz=100.0)
    assert bench.work() == 0, bench.program.page.text
    printed = json.loads(bench.program.output.read_text())
    status, checked = bench.checked()
    assert status == 0
    assert checked["matrix"] == printed["matrix"]
    assert checked["mounting"] == printed["mounting"]
    assert checked["capture"]["operator"] == "R. Vane"
    assert checked["capture"]["sha256"] == printed["capture"]["sha256"]


def test_an_unplugged_unit_is_told_and_what_was_recorded_goes_on(rig):
    bench = rig(TEAL, "--motion", "nose up", form="lines")
    bench.until(lambda page: re.search(r"([2-9]\d\d) rows", page.lines[0]))
    bench.device.unplug()
    bench.until(lambda page: "is gone." in page.text)
    bench.until(lambda page: "Plug it in again" in page.text)
    bench.device.plug_in()
    bench.until(lambda page: "is gone." not in page.text)
    status = bench.work()
    assert status == bench.checked()[0] == 3
    manifest = (bench.folder / "bench.toml").read_text()
    assert 'name = "nose up"' in manifest


def test_a_motion_that_the_operator_takes_back_is_kept_as_taken_back(rig):
    bench = rig(TEAL, "--motion", "nose up", "--motion", "roll right")
    bench.until(lambda page: "Put the right side down" in page.text)
    bench.program.press(b"\x7f")
    bench.until(lambda page: "Raise the nose" in page.text)
    bench.program.press(b"q")
    assert bench.program.ended() == 3
    assert "[[taken_back]]" in (bench.folder / "bench.toml").read_text()
    assert bench.checked()[0] == 3


def test_a_unit_that_says_nothing_is_told_and_can_be_given_up(tmp_path):
    _, path, _ = unit(tmp_path, DUNLIN)
    silent, port = os.openpty()
    program = Spawned(["record", DUNLIN, "--port", os.ttyname(port), "--device", path, "--out", "bench"], tmp_path)
    try:
        program.until(lambda page: "nothing has come for 2 s" in " ".join(page.text.split()))
        program.process.send_signal(signal.SIGINT)
        assert program.ended() == 130
        assert program.page.modes == {1049: False, 25: True, 7: True}
        assert "Traceback" not in program.page.text
    finally:
        program.close()
        os.close(silent)
        os.close(port)
