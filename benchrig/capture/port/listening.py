"""Listening to a port for a moment: how much of what comes is rows of a device, and at which speed."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from math import log
from typing import Final

import serial

from benchrig.capture.device.decoder import Decoder
from benchrig.capture.device.device_file import Device
from benchrig.capture.device.tally import Tally
from benchrig.capture.port.serial_port import FAILURES, opened

LISTEN: Final = 1.5
"""s at the speed of the device file."""

LISTEN_BRIEFLY: Final = 0.5
"""s at each other speed."""

USUAL_BAUDS: Final = (9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600, 1_000_000, 1_500_000, 2_000_000)
"""Bits a second that units are set to (common practice)."""

ENOUGH_ROWS: Final = 5
GOOD_SHARE: Final = 0.5
"""Rows, and their share of the bytes, by which a port is the device's."""


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """What came in a moment at one speed."""

    baud: int
    tally: Tally

    @property
    def fits(self) -> bool:
        """Whether the device's rows are what comes."""
        return self.tally.rows >= ENOUGH_ROWS and self.tally.valid_share >= GOOD_SHARE

    @property
    def is_readable(self) -> bool:
        """Whether lines of numbers came, though they are not the device's: then the speed is right."""
        common = self.tally.reasons.most_common(1)
        return bool(common) and common[0][0] in {"fields", "no names"}


def listen(name: str, device: Device, baud: int, *, starts: bool, clock: Callable[[], float] = time.monotonic) -> Heard:
    """Listen at one speed, and, where bytes come that are no rows, at the usual ones.

    Parameters
    ----------
    name : str
        Of the port.
    device : Device
    baud : int
        Bits a second.
    starts : bool
        Whether to write the text that starts the device.
    clock : callable

    Returns
    -------
    Heard
        At the first speed that fits; else at the one given.

    Raises
    ------
    PortError
        If the port cannot be opened.
    """
    with opened(name, baud) as link:
        own = _heard(link, device, LISTEN, clock, start=device.start if starts else b"")
        if own.fits or own.is_readable or not own.tally.bytes:
            return own
        return _other_speed(link, device, baud, clock) or own


def speeds(first: int) -> tuple[int, ...]:
    """Give the speeds that are tried: the first, then the usual ones, nearest first."""
    return (first, *sorted(set(USUAL_BAUDS) - {first}, key=lambda each: abs(log(each / first))))


def _other_speed(link: serial.Serial, device: Device, first: int, clock: Callable[[], float]) -> Heard | None:
    """Find the usual speed at which an open port gives the device's rows; None where there is none."""
    for baud in speeds(first)[1:]:
        try:
            link.baudrate = baud
            link.reset_input_buffer()
        except FAILURES:
            continue  # a speed that the adapter has not
        heard = _heard(link, device, LISTEN_BRIEFLY, clock)
        if heard.fits:
            return heard
    return None


def _heard(
    link: serial.Serial, device: Device, seconds: float, clock: Callable[[], float], *, start: bytes = b""
) -> Heard:
    decoder = Decoder(device)
    begun = clock()
    try:
        if start:
            link.write(start)
        while (passed := clock() - begun) < seconds:
            decoder.feed(link.read(max(1, link.in_waiting)), passed)
            if decoder.tally.rows >= 10 * ENOUGH_ROWS and decoder.valid_share >= GOOD_SHARE:
                break
    except FAILURES:
        pass  # it was pulled meanwhile: what came until then is judged
    return Heard(link.baudrate, decoder.tally)
