"""`benchrig simulate --live`: a simulated unit on a port of its own, and an operator who does what is typed."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from benchrig.cli.demo import demo_folder
from benchrig.cli.outputs import write_whole
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, UsageError
from benchrig.geometry.turns import REQUIRED_TURNS

if TYPE_CHECKING:
    from benchrig.capture.device.device_file import Device
    from benchrig.simulation.device.pty_device import PtyDevice
    from benchrig.simulation.faults import Fault
    from benchrig.simulation.live_bench import LiveBench
    from benchrig.simulation.options import Options

USUAL_DEVICE: Final = "bench-unit.toml"

NUMBERED: Final[Mapping[str, str]] = {
    **{str(number): motion for number, motion in enumerate(REQUIRED_TURNS, 1)},
    "7": "free",
    "8": "level",
}
"""A motion can be typed as its number."""

MISHAPS: Final[Mapping[str, tuple[str, Callable[[PtyDevice], object]]]] = {
    "unplug": ("pull the plug", lambda unit: unit.unplug()),
    "plug in": ("put it in again", lambda unit: unit.plug_in()),
    "garbage": ("400 bytes of noise on the wire", lambda unit: unit.garbage()),
    "noisy": ("one byte in 2,000 is lost from now on", lambda unit: unit.lose(0.0005)),
    "clean": ("and no longer", lambda unit: unit.lose(0.0)),
    "stall": ("the unit says nothing for 3 s", lambda unit: unit.stall(3.0)),
    "restart": ("the unit starts again", lambda unit: unit.restart()),
    "jump": ("its clock jumps ahead by 1 s", lambda unit: unit.jump_clock(1.0)),
    "drop": ("the airframe is knocked over and caught", lambda unit: unit.drop()),
}
QUIT: Final = ("quit", "q")

ALLOWED: Final = frozenset(
    {
        "airframe", "live", "device", "port", "sends", "faults", "seed", "rate_hz", "slop_deg", "pulses", "commands",
        "field_ut", "force",
    }
)  # fmt: skip
"""The options of `benchrig simulate` that say something about a unit that waits to be moved."""


@dataclass(frozen=True, slots=True)
class Live:
    """What the command line says of a unit at a port: its device file, a name that leads to its port, its form."""

    device: Path | None = None
    port: Path | None = None
    sends: str | None = None

    def refuse_misuse(self, *, live: bool, files: bool, given: Sequence[str]) -> None:
        """Refuse options that do not go together, or that would change nothing.

        Parameters
        ----------
        live, files : bool
            Whether ``--live`` and ``--out`` are there.
        given : sequence of str
            Names of the parameters that stand on the command line.

        Raises
        ------
        UsageError
        """
        if live == files:
            finding = "are both given" if live else "are both missing"
            raise UsageError(Problem("--out and --live", finding, "one of them", act="see benchrig simulate --help"))
        own = [f"--{field.name}" for field in fields(self) if getattr(self, field.name) is not None]
        if own and not live:
            raise UsageError(Problem(own[0], "does not stand alone", "--live", act="see benchrig simulate --help"))
        idle = [f"--{name.replace('_', '-')}" for name in given if name not in ALLOWED]
        if live and idle:
            finding = f"{', '.join(idle)} says nothing about a unit that waits to be moved"
            act = "leave it out: motions are typed while the unit runs, and no capture is written"
            raise UsageError(Problem("--live", finding, act=act))


def run_live(airframe: Airframe, live: Live, seed: int, faults: Sequence[Fault], options: Options) -> int:
    """Send rows until it is stopped, and do what is typed meanwhile.

    Raises
    ------
    UsageError
        If this system has no pseudo-terminals, or the device file does not fit.
    """
    if not hasattr(os, "openpty"):
        finding, act = "this system has no pseudo-terminals", "use Linux or macOS, or play a capture again"
        raise UsageError(Problem("--live", finding, act=f"{act}: benchrig record AIRFRAME --from MANIFEST --out NAME"))
    from benchrig.simulation.device.pty_device import PtyDevice  # noqa: PLC0415 - not on every system
    from benchrig.simulation.live_bench import LiveBench  # noqa: PLC0415 - keeps the help light

    bench = LiveBench(airframe, seed, faults, options)
    path, device = _device(airframe, bench, live.device, live.sends)
    with PtyDevice(bench, device, link=live.port) as unit:
        # whoever reads the port's name may end the unit at once: from there on it goes in order
        previous = signal.signal(signal.SIGTERM, _stop)
        try:
            click.echo(f"port    {unit.name}")
            click.echo(f"device  {path}")
            click.echo(_words(), err=True)
            _listen(unit)
        except KeyboardInterrupt:
            click.echo("Stopped.", err=True)
        finally:
            signal.signal(signal.SIGTERM, previous)
    return 0


def _device(airframe: Airframe, bench: LiveBench, path: Path | None, sends: str | None) -> tuple[Path, Device]:
    """Read the device file, or write one for this airframe where a name is free."""
    from benchrig.capture.device.device_file import read_device  # noqa: PLC0415 - keeps the help light
    from benchrig.simulation.device.device_text import device_text  # noqa: PLC0415 - keeps the help light

    if path is not None and not path.exists():
        write_whole("--device", path, device_text(bench, "lines" if sends == "lines" else "frames"))
        click.echo(f"Wrote {path}", err=True)
    elif sends is not None:
        act = "leave it out, or name a file that is not there: it is then written"
        raise UsageError(Problem("--sends", "the device file says already what the unit sends", act=act))
    usual = demo_folder() / USUAL_DEVICE
    device = read_device(path or usual)
    theirs, own = set(device.meaning.actuators), {actuator.name for actuator in airframe.actuators}
    if path is None and (not theirs <= own or not bench.options.pulses):
        finding = f"{escape(usual.name)} is the unit of another airframe than {escape(airframe.name)}"
        act = "name a file that is not there, such as --device my-unit.toml: it is then written"
        raise UsageError(Problem("--device", finding, act=act))
    return path or usual, device


def _words() -> str:
    motions = "  ".join(f"{number} {motion}" for number, motion in NUMBERED.items())
    mishaps = "\n".join(f"  {word:<8} {what}" for word, (what, _) in MISHAPS.items())
    return (
        "The airframe lies level. Type a motion, or its number, and press enter:\n"
        f"  {motions}\n  inverted, on nose, on tail, on left side, on right side\n"
        f"or a mishap:\n{mishaps}\n  quit     (or Ctrl-C) ends it"
    )


def _listen(unit: PtyDevice) -> None:
    """Do what is typed, a line each; at the end of the input the unit goes on until it is stopped."""
    for line in sys.stdin:
        typed = " ".join(line.split()).lower()
        if typed in QUIT:
            return
        if typed:
            click.echo(_done(unit, NUMBERED.get(typed, typed)), err=True)
    threading.Event().wait()


def _done(unit: PtyDevice, word: str) -> str:
    """Do one thing, and say so."""
    if word in MISHAPS:
        what, act = MISHAPS[word]
        act(unit)
        return f"{word}: {what}"
    try:
        made = unit.ask(word)
    except UsageError as error:
        return str(error)
    if made is None:
        return f"{word}: a fault has the operator leave it out"
    return f"{word}: {made.back - made.start:.1f} s, {unit.seconds_until(made.start):.1f} s from now"


def _stop(*_: Any) -> None:  # noqa: ANN401 - what a signal brings along
    raise KeyboardInterrupt
