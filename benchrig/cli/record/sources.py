"""Where the samples of a recording come from: a stored capture, or the port of a unit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from benchrig.capture.beside import SecondSource
from benchrig.cli.record.wish import Wish
from benchrig.cli.terminal import tell
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape, listed, nearest, quote
from benchrig.errors import DeviceFileError, Problem, UsageError
from benchrig.geometry.turns import TURNS

if TYPE_CHECKING:
    from benchrig.capture.device.device_file import Device
    from benchrig.capture.port.source import PortSource
    from benchrig.live.asking import Fixed
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
    has_pulses : bool
        Whether a second stream is recorded beside the first.
    """

    reads: tuple[Path, ...]
    begin: Callable[[], Session]
    has_pulses: bool = False


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
    if wish.port is not None and wish.replayed is not None:
        act = "give --port to record from a unit, or --from to play a capture again"
        raise UsageError(Problem("benchrig record", "both --port and --from are given", one, act=act))
    for option, value, needs, given in (
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
    described = source.described
    reads: tuple[Path, ...] = (manifest, described.stream)
    second = None
    if described.pulse_stream is not None:
        second = ReplaySource(manifest, airframe, speed, beside=True)
        reads = (*reads, described.pulse_stream.file)

    def begin() -> Session:
        from benchrig.live.leading import script_of  # noqa: PLC0415 - the judge's libraries come last
        from benchrig.live.occasion import occasion_again  # noqa: PLC0415 - as above
        from benchrig.live.session import Session  # noqa: PLC0415 - as above

        occasion = occasion_again(described, source.notes)
        pulses = None
        if second is not None and described.pulse_stream is not None:
            about = {"source": f"{described.pulse_stream.file.name}, played again", "clock": second.clock}
            known = described.pulse_stream.offset
            stream = pulses_stream(wish)
            pulses = SecondSource(second, described.meaning, stream, about, known=known, force=wish.force)
        script = script_of(described)
        return Session(airframe, source, occasion, wish.name, asking=script, pulses=pulses, force=wish.force)

    return Plan(reads, begin, has_pulses=second is not None)


def _port(wish: Wish, airframe: Airframe) -> Plan:
    """Read the device files; ports are looked for and opened when the session begins."""
    from benchrig.capture.device.device_file import read_device  # noqa: PLC0415 - only a port needs it

    if wish.port is None or wish.device is None:
        raise AssertionError(wish)  # pragma: no cover - whoever calls has looked
    port, device = wish.port, read_device(wish.device)
    _require_actuators(device, airframe)
    beside = None
    if wish.pulses_port is not None and wish.pulses_device is not None:
        beside = (wish.pulses_port, read_device(wish.pulses_device))
        _require_actuators(beside[1], airframe)
        _require_one_teller(device, beside[1])
    asking = _asked_motions(wish)

    def begin() -> Session:
        from benchrig.live.occasion import occasion_of  # noqa: PLC0415 - the judge's libraries come last
        from benchrig.live.session import Session  # noqa: PLC0415 - as above

        source, where = _source(port, device)
        pulses = None
        if beside is not None:
            second, there = _source(*beside)
            about = {"source": there, "clock": second.clock}
            pulses = SecondSource(second, beside[1].meaning, pulses_stream(wish), about, force=wish.force)
        occasion = occasion_of(device.meaning, where, operator=wish.operator)
        return Session(airframe, source, occasion, wish.name, asking=asking, pulses=pulses, force=wish.force)

    return Plan((), begin, has_pulses=beside is not None)


def _source(port: str, device: Device) -> tuple[PortSource, str]:
    """Give a source at a port, which is found first where that is left to the program, and where it is in words."""
    from benchrig.capture.port.finding import AUTO, find_port  # noqa: PLC0415 - only a port needs it
    from benchrig.capture.port.source import PortSource  # noqa: PLC0415 - as above

    unit = escape(device.name)
    if port != AUTO:
        source = PortSource(device, port, say=tell)
        return source, f"{unit} at {source.name}"
    tell("Looking for the port ...")
    found = find_port(device)
    tell(f"{found.why}.")
    source = PortSource(device, found.port.name, found.baud, say=tell)
    return source, f"{unit} at {source.name}"


def _asked_motions(wish: Wish) -> Fixed | None:
    from benchrig.live.asking import Fixed  # noqa: PLC0415 - the judge's libraries come last

    allowed = ("level", *TURNS, "free")
    for motion in wish.motions:
        if motion not in allowed:
            close = nearest(motion, allowed)
            act = f'did you mean "{close}"?' if close else "choose one of them"
            raise UsageError(Problem(f"--motion {quote(motion)}", "is no motion", listed(allowed), act=act))
    return Fixed(tuple(wish.motions)) if wish.motions else None


def _require_actuators(device: Device, airframe: Airframe) -> None:
    """Refuse pulses of an actuator that the airframe does not have, before the unit gets power."""
    known = [actuator.name for actuator in airframe.actuators]
    for name in (*device.meaning.actuators, *device.meaning.commands):
        if name not in known:
            place = f"{escape(device.file.path.name)}: [columns.actuators]"
            finding = f"{quote(name)} is no actuator of {escape(airframe.name)}"
            close = nearest(name, known)
            act = f'did you mean "{close}"?' if close else "name it as the airframe file does"
            expectation = listed(map(escape, known)) if known else "no actuator: the airframe file declares none"
            raise DeviceFileError(Problem(place, finding, expectation, act=act))


def _require_one_teller(device: Device, second: Device) -> None:
    """Refuse two devices that both tell of one actuator: only one of them can be on the wire that counts.

    Raises
    ------
    DeviceFileError
    """
    for key, what in (("actuators", "the pulses to"), ("commands", "what is commanded of")):
        named = [name for name in getattr(second.meaning, key) if name in getattr(device.meaning, key)]
        if named:
            files = [escape(each.file.path.name) for each in (device, second)]
            finding = f"gives {what} {', '.join(map(quote, named))}, and so does {files[0]}"
            act = f"take them out of the file whose columns do not hold what goes to the servos: {' or '.join(files)}"
            raise DeviceFileError(Problem(f"{files[1]}: [columns.{key}]", finding, "one device for each", act=act))


def pulses_stream(wish: Wish) -> Path:
    """Name the store of a second device's pulses."""
    return wish.name.with_name(f"{wish.name.name}-pulses.arrow")
