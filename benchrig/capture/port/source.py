"""A unit at a port as a source of samples: opened, decoded, watched over, and kept through every unplug."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

from benchrig.capture.device.decoder import Decoder
from benchrig.capture.device.device_file import Device
from benchrig.capture.device.samples import Samples, Trouble
from benchrig.capture.port.health import SILENCE, Health, no_rows
from benchrig.capture.port.listening import listen, speeds
from benchrig.capture.port.listing import LONGEST, port_named
from benchrig.capture.port.serial_port import Back, Chunk, Lost, SerialPort
from benchrig.capture.port.troubles import ended, trouble
from benchrig.declaration.quotation import escape
from benchrig.errors import PortError, Problem

FIRST_ROWS: Final = 1.5
"""s in which rows must come where bytes do, or it is looked for why."""

SHOWN: Final = 10.0
"""s for which it stands that the unit's clock broke off."""

_END: Final = None  # after the last of what the port gave
_ENOUGH: Final = 200  # bytes that tell: fewer may be what a unit says when it starts


class PortSource:
    """The rows of a unit at a serial port.

    Parameters
    ----------
    device : Device
    port : str
        Its name.
    baud : int, optional
        The device file's where none is given.
    clock : callable
        Monotonic, s.
    say : callable, optional
        Told in a sentence what takes long when it is opened.

    Attributes
    ----------
    columns : tuple of str
        The device's.
    opened : float, s
        What the clock showed when the port was opened.
    """

    def __init__(
        self,
        device: Device,
        port: str,
        baud: int | None = None,
        *,
        clock: Callable[[], float] = time.monotonic,
        say: Callable[[str], object] | None = None,
    ) -> None:
        self._device, self._clock = device, clock
        self._baud = device.baud if baud is None else baud
        self._wanted, self._say = port, say
        self._port = self._new_port()
        self._decoder = Decoder(device)
        self._health = Health(device, self._decoder.tally, 0.0)
        self._lost, self._started = "", 0.0
        self._doubted: tuple[Problem, ...] = ()
        self._breaks = 0
        self._broke: float | None = None
        self._left: list[Chunk | Lost | Back | None] = []
        self._is_closed = False
        self.columns = self._decoder.columns
        self.opened = 0.0

    @property
    def name(self) -> str:
        """The port's name, printable."""
        return escape(self._port.name, LONGEST)

    @property
    def clock(self) -> str:
        """Which clock the times are by, in words."""
        return self._decoder.clock

    @property
    def notes(self) -> tuple[str, ...]:
        """What happened to the unit's clock and count so far, in words."""
        return self._decoder.notes

    @property
    def ended(self) -> bool:
        """Whether it was closed and its last rows were given."""
        return self._is_closed and not self._left

    def open(self) -> None:
        """Open the port, and see whether what comes is rows; a unit that is silent may get its power later.

        Raises
        ------
        PortError
            If the port cannot be opened, or what comes is no rows.
        """
        self._port.open()
        self.opened = self._clock()
        trial = self._listen()
        if trial.tally.rows or trial.tally.bytes < _ENOUGH:
            return
        self._port.close()
        self._look_closer()
        # what came first was no rows, and now rows come: begin with those
        self._left.clear()
        self._port = self._new_port()
        self._port.open()
        self.opened = self._clock()

    def take(self, timeout: float) -> tuple[Samples | Trouble, ...]:
        """Give what has come since the last call, after at most `timeout` s, and what happened to the port.

        After `close` it gives once more what was left.
        """
        taken, self._left = self._left, []
        if not taken and not self._is_closed:
            taken += self._port.take(timeout)
        given: list[Samples | Trouble] = []
        for event in taken:
            given += self._given(event)
        if not self._is_closed and not self._lost:
            self._health.place = self._port.name
            given += self._health.look(self._clock() - self.opened)
            self._start_again()
        return (*given, *self._new_doubts(), *self._new_breaks())

    def close(self) -> None:
        """Let the port go; may be called twice. The last rows are there to be taken."""
        if self._is_closed:
            return
        self._port.close()
        self._left += [*self._port.take(0.0), _END]
        self._is_closed = True

    def _given(self, event: Chunk | Lost | Back | None) -> list[Samples | Trouble]:
        """Turn what the port gave into samples and troubles."""
        if event is _END:
            return list(self._decoder.finish())
        if isinstance(event, Chunk):
            return list(self._decoder.feed(event.data, event.at - self.opened))
        if isinstance(event, Lost):
            code = self._lost = "shared" if event.is_there else "unplugged"
            return [*self._decoder.interrupted(), Trouble(code, trouble(code, self._port.name))]
        code, self._lost = self._lost, ""
        self._health.revive(self._clock() - self.opened)
        return [Trouble(code, ended(code, event.name), is_over=True)]

    def _listen(self) -> Decoder:
        """Keep what comes at the beginning, and see what it is."""
        trial = Decoder(self._device)
        until = self.opened + FIRST_ROWS
        while not trial.tally.rows and (left := until - self._clock()) > 0:
            for event in self._port.take(left):
                self._left.append(event)
                if isinstance(event, Chunk):
                    trial.feed(event.data, event.at - self.opened)
        return trial

    def _look_closer(self) -> None:
        """Find why what comes is no rows, and refuse it for that; nothing where rows come by now."""
        name, file = self._port.name, escape(self._device.file.path.name)
        if self._say is not None:
            self._say(f"Nothing readable yet at {self._baud:,} bits a second; trying other speeds ...")
        heard = listen(name, self._device, self._baud, starts=True, clock=self._clock)
        if heard.fits and heard.baud == self._baud:
            return
        if heard.fits:
            unit = escape(self._device.name)
            speeds_in_words = {"baud": f"{self._baud:,}", "speed": f"{heard.baud:,}", "found": heard.baud}
            raise PortError(trouble("wrong speed", name, **speeds_in_words, unit=unit, file=file))
        tried = ", ".join(f"{baud:,}" for baud in speeds(self._baud))
        code, parts = no_rows(self._device, heard.tally, tried)
        raise PortError(trouble(code, name, **parts))

    def _start_again(self) -> None:
        """Write the text that starts the unit again where nothing has come, as after a unit got its power late."""
        now = self._clock() - self.opened
        if self._device.start and now - max(self._health.heard, self._started) >= SILENCE:
            self._started = now
            self._port.write(self._device.start)

    def _new_doubts(self) -> list[Trouble]:
        doubts = self._decoder.doubts
        fresh, self._doubted = doubts[len(self._doubted) :], doubts
        return [Trouble("doubt", problem) for problem in fresh]

    def _new_breaks(self) -> list[Trouble]:
        """Tell when the unit's clock began again or jumped, and after some seconds that it goes on."""
        now, before = self._clock(), self._breaks
        self._breaks = self._decoder.breaks
        if self._breaks > before:
            self._broke = now
            note = "; ".join(self._decoder.break_words)
            return [Trouble("began again", trouble("began again", self._port.name, note=note))]
        if self._broke is None or now - self._broke < SHOWN:
            return []
        self._broke = None
        return [Trouble("began again", ended("began again", self._port.name), is_over=True)]

    def _new_port(self) -> SerialPort:
        return SerialPort(port_named(self._wanted), self._baud, self._device.start, self._clock)
