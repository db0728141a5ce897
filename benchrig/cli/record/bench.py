"""One bench from the command line to the exit status: prepare, guide, keep, judge, report."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from benchrig.cautions import CAUTIONS
from benchrig.cli.check import STATUS, print_cautions, shown, write_reports
from benchrig.cli.record.fullscreen import FullScreen
from benchrig.cli.record.ink import Ink
from benchrig.cli.record.keyboard import Keyboard
from benchrig.cli.record.loop import Door, guide
from benchrig.cli.record.phrases import WORDS
from benchrig.cli.record.preparation import prepare, target_of
from benchrig.cli.record.screen import Bench
from benchrig.cli.record.sounds import Bells
from benchrig.cli.record.sources import begin
from benchrig.cli.record.stops import Stops
from benchrig.cli.record.telling import Telling
from benchrig.cli.record.voice import Voice, find_speaker
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_file import read_airframe

if TYPE_CHECKING:
    from benchrig.live.session import Finished, Session

STOPPED: Final = 130
"""Left with where a signal stopped the recording, whatever was recorded shows."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the command line asked for; each field is an option, and the help tells its meaning."""

    airframe: Path
    out: Path
    port: str | None = None
    device: Path | None = None
    replayed: Path | None = None
    speed: float | None = None
    pulses_port: str | None = None
    pulses_device: Path | None = None
    motions: Sequence[str] = ()
    operator: str = ""
    plain: bool = False
    sounds: bool = True
    voice: bool = False
    html: Path | None = None
    json_target: Path | None = None
    junit: Path | None = None
    colour: bool | None = None
    force: bool = False

    @property
    def reports(self) -> dict[str, Path | None]:
        """The report files that are wanted, by option."""
        wanted = None if self.prints_json else self.json_target
        return {"--html": self.html, "--json": wanted, "--junit": self.junit}

    @property
    def prints_json(self) -> bool:
        """Whether standard output is for the result alone."""
        return str(self.json_target) == "-"


def run(asked: Asked) -> int:
    """Record, judge, report; give the exit status.

    Raises
    ------
    BenchrigError
        With whatever forbids it, before anything is written.
    """
    airframe = read_airframe(asked.airframe)
    target = target_of(asked.out, has_pulses=asked.pulses_port is not None)
    given = [path for path in (asked.airframe, asked.device, asked.replayed, asked.pulses_device) if path is not None]
    prepare(target, given, asked.reports, force=asked.force)
    for caution in CAUTIONS:
        click.echo(f"Caution: {caution}", err=True)
    session = begin(asked, airframe, target)
    with Stops() as stops:
        finished = _recorded(session, asked, airframe, stops)
        status = _reported(finished, asked)
    return STOPPED if stops.asked else status


def _recorded(session: Session, asked: Asked, airframe: Airframe, stops: Stops) -> Finished:
    """Guide the session to its end; whatever happens, what was recorded is kept, and the terminal given back."""
    try:
        with Keyboard() as keyboard, _display(asked, airframe) as display:
            bells = Bells() if asked.sounds else None
            voice = Voice(find_speaker()) if asked.voice else None
            guide(session, Door(display, keyboard.pressed, lambda: stops.asked, bells, voice))
            return session.finish()
    except Exception:
        with suppress(Exception):
            session.finish()  # keeps what there is; the fault itself is what must be told
        raise


@contextmanager
def _display(asked: Asked, airframe: Airframe) -> Iterator[FullScreen | Telling]:
    """Choose how views are shown: on the whole terminal, or line by line."""
    stream = sys.stderr
    whole = stream.isatty() and os.environ.get("TERM") not in {None, "", "dumb"} and not asked.plain
    display: FullScreen | Telling
    if whole:
        colour = not os.environ.get("NO_COLOR") if asked.colour is None else asked.colour
        display = FullScreen(stream, Bench(airframe.name, airframe.kind), Ink(stream.encoding, colour))
    else:
        click.echo(WORDS, err=True)
        display = Telling(stream)
    try:
        yield display
    finally:
        display.close()


def _reported(finished: Finished, asked: Asked) -> int:
    record = finished.record
    if asked.prints_json:
        from benchrig.report.result import result_json  # noqa: PLC0415 - only where it is asked for

        print_cautions(record)
        click.echo(result_json(record))
    else:
        click.echo(shown(record, colour=asked.colour), color=True)
    click.echo(f"Recorded {finished.manifest}", err=True)
    write_reports(record, asked.reports)
    return STATUS[record.verdict]
