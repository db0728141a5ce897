"""The simulated unit on a pseudo-terminal: it sends rows in real time, as a serial port would bring them."""

from __future__ import annotations

import errno
import os
import random
import termios
import threading
import time
import tty
from pathlib import Path
from typing import Final, Self

from benchrig.capture.device.device_file import Device
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, UsageError
from benchrig.simulation.device.encoder import Encoder
from benchrig.simulation.device.uart import received
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.made import Made

LONGEST: Final = 200
"""Characters of a name that are shown."""

TICK: Final = 0.01
"""s between two bursts of bytes."""

_KEPT: Final = 0.1  # s that bytes wait for a reader, as in a driver; what nobody reads then is gone

_SPEEDS: Final = {
    getattr(termios, name): int(name[1:]) for name in dir(termios) if name[0] == "B" and name[1:].isdigit()
}


class PtyDevice:
    """A thread that sends a bench's rows over a pseudo-terminal, with what goes wrong on wires.

    Use it as a context manager, or call `start` and `stop`.

    Parameters
    ----------
    bench : LiveBench
    device : Device
        What it sends, and how.
    link : Path, optional
        A name that always leads to the port, also after it was unplugged and plugged in again.
    waits : bool
        Whether it sends nothing before it has read the device file's text that starts it.

    Attributes
    ----------
    baud : int
        At which it sends: the device file's at first. A receiver of another speed gets what the wire would give it.
    sent : int
        Bytes so far, whether anybody read them or not.
    """

    def __init__(self, bench: LiveBench, device: Device, *, link: Path | None = None, waits: bool = False) -> None:
        self.baud = device.baud
        self.sent = 0
        self._bench, self._device, self._link = bench, device, link
        self._encoder = Encoder(device, bench)
        self._waits = waits and bool(device.start)
        self._lock = threading.RLock()
        self._ends: tuple[int, int] | None = None
        self._name = ""
        self._heard = b""
        self._garbage = self._unwritten = b""
        self._losing = 0.0
        self._silent_until = self._deaf_until = self._written = 0.0
        self._random = random.Random(bench.seed)  # noqa: S311 - chance, not secrecy
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="simulated unit", daemon=True)

    def __enter__(self) -> Self:
        """Start."""
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Stop."""
        self.stop()

    @property
    def name(self) -> str:
        """By which its port can be opened."""
        return self._name if self._link is None else str(self._link)

    def start(self) -> None:
        """Plug it in, and begin to send."""
        self.plug_in()
        self._thread.start()

    def stop(self) -> None:
        """Stop sending, and take the port away; may be called twice."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(5.0)
        self.unplug()

    def ask(self, motion: str) -> Made | None:
        """Ask the simulated operator for a motion.

        Raises
        ------
        UsageError
            If no hand makes such a motion.
        """
        with self._lock:
            return self._bench.ask(motion)

    def drop(self) -> None:
        """Let the airframe be knocked over and caught."""
        with self._lock:
            self._bench.drop()

    def seconds_until(self, moment: float) -> float:
        """Say how far off a moment is by the unit's clock, s."""
        with self._lock:
            return moment - self._bench.now

    def plug_in(self) -> None:
        """Make the port, as when its plug is put in."""
        with self._lock:
            if self._ends is not None:
                return
            self._ends = os.openpty()
            tty.setraw(self._ends[1])
            os.set_blocking(self._ends[0], False)
            self._name = os.ttyname(self._ends[1])
            if self._link is not None:
                _lead(self._link, self._name)

    def unplug(self) -> None:
        """Take the port away, as when its plug is pulled; the unit goes on by itself."""
        with self._lock:
            if self._ends is None:
                return
            for end in self._ends:
                os.close(end)
            self._ends = None
            if self._link is not None:
                self._link.unlink(missing_ok=True)

    def garbage(self, count: int = 400) -> None:
        """Put so many bytes of noise on the wire."""
        with self._lock:
            self._garbage += self._random.randbytes(count)

    def lose(self, share: float) -> None:
        """From now on lose this share of the bytes on the wire."""
        self._losing = share

    def stall(self, seconds: float) -> None:
        """Send nothing for so long; the rows of that time never come."""
        self._silent_until = time.monotonic() + seconds

    def ignore_start(self, seconds: float) -> None:
        """Have no power for so long: neither hear the text that starts it, nor send."""
        self._deaf_until = time.monotonic() + seconds

    def jump_clock(self, seconds: float) -> None:
        """Let the unit's clock jump ahead."""
        with self._lock:
            self._encoder.jump(seconds)

    def restart(self, after: float = 0.3) -> None:
        """Let the unit lose its power and start again: silence, then a clock and a count that begin anew."""
        with self._lock:
            self._encoder.restart(self._bench.now)
        self.stall(after)

    def _run(self) -> None:
        before = time.monotonic()
        while not self._stop.wait(TICK):
            now = time.monotonic()
            with self._lock:
                pieces = self._encoder.encoded(self._bench.rows(now - before))
                self._send(pieces, now)
            before = now

    def _send(self, pieces: list[bytes], now: float) -> None:
        if self._ends is None:
            return
        if self._waits:
            self._waits = not self._was_started(self._ends[0]) or now < self._deaf_until
        noise, self._garbage = self._garbage, b""
        data = noise if self._waits or now < self._silent_until else noise + b"".join(pieces)
        if self._losing:
            data = bytes(byte for byte in data if self._random.random() >= self._losing)
        reading = _SPEEDS.get(termios.tcgetattr(self._ends[1])[5], self.baud)
        # a pseudo-terminal has 38,400 until somebody opens it as a port
        if reading != self.baud:
            data = received(data, self.baud, reading)
        self.sent += len(data)
        if now - self._written > _KEPT:
            self._unwritten = b""
        data = self._unwritten + data
        written = _write(self._ends[0], data)
        self._unwritten = data[written:]
        if not self._unwritten:
            self._written = now

    def _was_started(self, end: int) -> bool:
        try:
            self._heard = (self._heard + os.read(end, 1024))[-1024:]
        except OSError:
            return False
        started = self._device.start in self._heard
        self._heard = b"" if started else self._heard
        return started


def _write(end: int, data: bytes) -> int:
    """Write what fits, and give how much that is."""
    try:
        return os.write(end, data) if data else 0
    except OSError as error:
        if error.errno not in {errno.EAGAIN, errno.EIO}:
            raise
        return 0


def _lead(link: Path, name: str) -> None:
    """Let a name lead to the port."""
    if link.is_symlink():
        link.unlink()
    try:
        link.symlink_to(name)
    except OSError as error:
        finding, act = (
            f"{escape(str(link), LONGEST)} cannot be made: {error.strerror}",
            "give another name, in a folder of yours",
        )
        raise UsageError(Problem("--port", finding, act=act)) from None
