"""A pair of hands that does what the screen of a bench asks for, with a simulated unit in them."""

from pathlib import Path

from benchrig.capture.device.device_file import read_device
from benchrig.cli.record.phrases import asked
from benchrig.declaration.airframe_file import read_airframe
from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.simulation.device.device_text import device_text
from benchrig.simulation.device.pty_device import PtyDevice
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.options import Options

ASKED = {asked(motion, (0.0, 0.0)).rstrip("."): motion for motion in (*REQUIRED_TURNS, "free")}
"""What the screen says before "by 25° to 50°", and the motion that is meant."""


def unit(folder, airframe, *, faults=(), form="frames", seed=3, **options):
    """Make a simulated unit with its device file, ready to be started."""
    declared = read_airframe(Path(airframe))
    bench = LiveBench(declared, seed, parse_faults(faults, declared), Options(**options))
    path = folder / "unit.toml"
    path.write_text(device_text(bench, form), encoding="utf-8")
    return PtyDevice(bench, read_device(path), link=folder / "port"), path, bench


class Hands:
    """Makes each motion once when the screen asks for it, and again when it is asked for again."""

    def __init__(self, device, bench):
        self.device, self.bench = device, bench
        self.made = []
        self.ready = True

    def look(self, page):
        """Read the screen, and move if it asks for that."""
        said = " ".join(page.text.split())
        motion = next((motion for words, motion in ASKED.items() if words in said), None)
        if motion is None:
            self.ready = True  # it was seen: hold, back, or something else is asked for now
        elif self.ready and self.bench.is_idle:
            self.device.ask(motion)
            self.made.append(motion)
            self.ready = False
