"""Finding the port that a unit is plugged in at, by what it sends and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from benchrig.capture.device.device_file import Device
from benchrig.capture.port.listening import Heard, listen
from benchrig.capture.port.listing import PortName, ports
from benchrig.capture.port.troubles import ports_in_words, trouble
from benchrig.declaration.quotation import escape
from benchrig.errors import PortError, Problem

AUTO = "auto"


@dataclass(frozen=True, slots=True)
class Found:
    """The port that was taken.

    Attributes
    ----------
    port : PortName
    baud : int
        At which its rows come.
    why : str
        In words, for the person at the bench.
    """

    port: PortName
    baud: int
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class _Tried:
    port: PortName
    heard: Heard | None
    refused: Problem | None

    @property
    def fits(self) -> bool:
        return self.heard is not None and self.heard.fits

    def __str__(self) -> str:
        """Say what was seen at the port."""
        if self.refused is not None:
            return f"{self.port} {self.refused.finding}"
        tally = None if self.heard is None else self.heard.tally
        if tally is None or not tally.bytes:
            return f"{self.port} was silent"
        return f"{self.port} sent {tally.bytes:,} bytes, {tally.valid_share:.0%} of them rows"


def find_port(device: Device, there: Sequence[PortName] | None = None) -> Found:
    """Listen at every port for a moment, and take the one that sends the device's rows.

    Nothing is written to any port, unless there is only one and the device must be started.

    Parameters
    ----------
    device : Device
    there : sequence of PortName, optional
        All ports of this computer where none are given.

    Raises
    ------
    PortError
        If there is no port, none fits, or several do.
    """
    there = ports() if there is None else there
    if not there:
        raise PortError(trouble("no ports", f"--port {AUTO}"))
    with ThreadPoolExecutor(len(there)) as pool:
        tried = list(pool.map(lambda port: _try(port, device, starts=len(there) == 1), there))
    fitting = [each for each in tried if each.fits]
    if len(fitting) == 1:
        return _found(fitting[0], tried, device)
    unit = escape(device.name)
    if fitting:
        names = ports_in_words([each.port for each in fitting])
        raise PortError(trouble("several fit", f"--port {AUTO}", names=names, unit=unit))
    code = "not started" if device.start and len(there) > 1 else "none fits"
    seen, file = "; ".join(map(str, tried)), escape(device.file.path.name)
    raise PortError(trouble(code, f"--port {AUTO}", unit=unit, file=file, seen=seen))


def _try(port: PortName, device: Device, *, starts: bool) -> _Tried:
    try:
        return _Tried(port, listen(port.name, device, device.baud, starts=starts), None)
    except PortError as error:
        return _Tried(port, None, error.problems[0])


def _found(best: _Tried, tried: Sequence[_Tried], device: Device) -> Found:
    assert best.heard is not None  # noqa: S101 - it fits
    others = len(tried) - 1
    among = "the only port there is" if not others else f"the only one of {len(tried)} ports that does"
    why = f"{best.port} sends rows of {escape(device.name)}: {among}"
    if best.heard.baud != device.baud:
        why += f"; they come at {best.heard.baud:,} bits a second, where the device file says {device.baud:,}"
    return Found(best.port, best.heard.baud, why)
