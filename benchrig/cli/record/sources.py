"""Where the samples of a recording come from: a stored capture, or the port of a unit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from benchrig.cli.record.wish import Wish
from benchrig.declaration.airframe import Airframe
from benchrig.errors import Problem, UsageError

if TYPE_CHECKING:
    from benchrig.live.session import Session


@dataclass(frozen=True, slots=True)
class Plan:
    """A recording of which every file was read, and nothing was opened yet.

    Attributes
    ----------
    reads : tuple of Path
        The files it reads, which it must never write.
    begin : callable
        Makes the session.
    """

    reads: tuple[Path, ...]
    begin: Callable[[], Session]


def planned(wish: Wish, airframe: Airframe) -> Plan:
    """Read what the command line names.

    Raises
    ------
    UsageError
        If the options do not go together.
    DeviceFileError
    CaptureError
    """
    _require_sense(wish)
    return _replay(wish, airframe) if wish.replayed is not None else _port(wish, airframe)


def _require_sense(wish: Wish) -> None:
    one = "one of --port and --from"
    if wish.port is None and wish.replayed is None:
        act = "name the port of the unit (auto finds it), or a capture to play again"
        raise UsageError(Problem("benchrig record", "neither --port nor --from is given", one, act=act))
    for option, value, needs, given in (
        ("--port", wish.port, "no --from", wish.replayed is None),
        ("--port", wish.port, "--device, the file that says what the unit sends", wish.device is not None),
        ("--device", wish.device, "--port", wish.port is not None),
        ("--speed", wish.speed, "--from", wish.replayed is not None),
        ("--motion", wish.motions or None, "--port: a capture brings its own", wish.replayed is None),
        ("--pulses-port", wish.pulses_port, "--port", wish.port is not None),
        ("--pulses-port", wish.pulses_port, "--pulses-device", wish.pulses_device is not None),
        ("--pulses-device", wish.pulses_device, "--pulses-port", wish.pulses_port is not None),
    ):
        if value is not None and not given:
            raise UsageError(Problem(option, "does not stand alone", needs, act="see benchrig record --help"))


def _replay(wish: Wish, airframe: Airframe) -> Plan:
    from benchrig.capture.port.replay import ReplaySource  # noqa: PLC0415 - only a replay reads a stream here

    if wish.replayed is None:
        raise AssertionError(wish)  # pragma: no cover - whoever calls has looked
    manifest = wish.replayed
    speed = 1.0 if wish.speed is None else wish.speed
    source = ReplaySource(manifest, airframe, speed)

    def begin() -> Session:
        from benchrig.live.leading import script_of  # noqa: PLC0415 - the judge's libraries come last
        from benchrig.live.occasion import occasion_again  # noqa: PLC0415 - as above
        from benchrig.live.session import Session  # noqa: PLC0415 - as above

        described = source.described
        occasion = occasion_again(described, source.notes)
        return Session(airframe, source, occasion, wish.name, asking=script_of(described), force=wish.force)

    return Plan((manifest, source.described.stream), begin)


def _port(wish: Wish, airframe: Airframe) -> Plan:
    """Read the device files; ports are opened when the session begins."""
    raise NotImplementedError
