"""A serial port that is read by a thread of its own: every byte with the time it came, and unplugging survived."""

from __future__ import annotations

import errno
import os
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import serial

from benchrig.capture.port.listing import PortName, there_again
from benchrig.capture.port.troubles import cannot_open
from benchrig.errors import PortError

try:
    import termios
except ImportError:  # pragma: no cover - not on Windows
    _TERMINAL: tuple[type[Exception], ...] = ()
else:
    _TERMINAL = (termios.error,)

READ_TIMEOUT: Final = 0.05
"""s that a read waits for a byte."""

FAILURES: Final[tuple[type[Exception], ...]] = (OSError, ValueError, TypeError, *_TERMINAL)
"""What a port raises that fails: what the system says, and, where it goes away while it is asked, the others."""

_RETRY: Final = 0.25  # s between two looks for a port that went away
_SETTLE: Final = 0.2  # s after which the system has taken away the name of what was pulled
_OPENED: Final = 1.0  # s that a port gets to be opened in, once it is there again


@dataclass(frozen=True, slots=True)
class Chunk:
    """Some bytes, and when they were read (s, by the clock that the port was given)."""

    data: bytes
    at: float


@dataclass(frozen=True, slots=True)
class Lost:
    """The port gave no more; `is_there` where its name still is, as where a second program reads it."""

    at: float
    is_there: bool


@dataclass(frozen=True, slots=True)
class Back:
    """The port is open again, under this name."""

    at: float
    name: str


class SerialPort:
    """A port, opened for this program alone, read as fast as it gives.

    Parameters
    ----------
    port : PortName
    baud : int
    start : bytes
        Written whenever the port has been opened.
    clock : callable
        Monotonic, s.

    Attributes
    ----------
    name : str
        Under which it is open; another one, maybe, after it was plugged in again.
    """

    def __init__(
        self, port: PortName, baud: int, start: bytes = b"", clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.name = port.name
        self._port, self._baud, self._start, self._clock = port, baud, start, clock
        self._queue: queue.SimpleQueue[Chunk | Lost | Back] = queue.SimpleQueue()
        self._written: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None

    def open(self) -> None:
        """Open the port, and begin to read.

        Raises
        ------
        PortError
            With the likely cause.
        """
        link = opened(self.name, self._baud)
        self._thread = threading.Thread(target=self._run, args=(link,), name=f"port {self.name}", daemon=True)
        self._thread.start()

    def take(self, timeout: float) -> list[Chunk | Lost | Back]:
        """Give all that has come since the last call, after at most `timeout` s."""
        taken: list[Chunk | Lost | Back] = []
        try:
            taken.append(self._queue.get(timeout=max(timeout, 0.0)) if timeout > 0 else self._queue.get_nowait())
            while True:
                taken.append(self._queue.get_nowait())
        except queue.Empty:
            return taken

    def write(self, data: bytes) -> None:
        """Write to the unit, once the reading thread comes to it."""
        self._written.put(data)

    def close(self) -> None:
        """Stop reading and let the port go; may be called twice."""
        self._stop.set()
        if self._thread is not None and self._thread is not threading.current_thread():
            self._thread.join(timeout=5.0)

    def _run(self, link: serial.Serial) -> None:
        """Read until it is closed, over as many unplugs as there are."""
        while True:
            self._read(link)
            _let_go(link)
            if self._stop.is_set():
                return
            self._stop.wait(_SETTLE)
            self._queue.put(Lost(self._clock(), os.path.exists(self.name)))  # noqa: PTH110 - a Windows port is no path
            again = self._reopened()
            if again is None:
                return
            link = again
            self._queue.put(Back(self._clock(), self.name))

    def _read(self, link: serial.Serial) -> None:
        """Read until it is closed or the port fails."""
        try:
            _write(link, self._start)
            while not self._stop.is_set():
                data = link.read(max(1, link.in_waiting))
                if data:
                    self._queue.put(Chunk(data, self._clock()))
                elif not self._written.empty():
                    _write(link, self._written.get())
        except FAILURES:
            return

    def _reopened(self) -> serial.Serial | None:
        """Wait until the port is there again and can be opened; None where it was closed meanwhile."""
        while not self._stop.wait(_RETRY):
            name = there_again(self._port)
            if name is None:
                continue
            try:
                link = opened(name, self._baud)
            except PortError:
                continue  # its rights may come a moment after its name
            self.name = name
            return link
        return None


def opened(name: str, baud: int) -> serial.Serial:
    """Open a port for this program alone.

    Raises
    ------
    PortError
        With the likely cause.
    """
    try:
        return serial.Serial(name, baud, timeout=READ_TIMEOUT, write_timeout=_OPENED, exclusive=True)
    except FAILURES as error:
        number = error.args[0] if error.args and isinstance(error.args[0], int) else None
        # pyserial gives no number where a file is no port
        number = errno.ENOTTY if number is None and "configure" in str(error) else number
        raise PortError(cannot_open(name, number, str(error), baud)) from None


def _write(link: serial.Serial, data: bytes) -> None:
    """Write to a unit; one that takes nothing may send all the same, and where it does not, its silence is told."""
    try:
        if data:
            link.write(data)
    except serial.SerialTimeoutException:
        link.reset_output_buffer()


def _let_go(link: serial.Serial) -> None:
    try:
        link.close()
    except OSError:
        return  # it is gone already
