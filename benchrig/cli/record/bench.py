"""One bench from the command line to the exit status: prepare, guide, keep, judge, report."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final

import click

from benchrig.cautions import CAUTIONS
from benchrig.cli.book.folder import enter_in_book, refuse_unfit_book
from benchrig.cli.check import STATUS, shown, write_reports
from benchrig.cli.record.fullscreen import FullScreen
from benchrig.cli.record.ink import Ink
from benchrig.cli.record.keyboard import Keyboard
from benchrig.cli.record.loop import Door, guide
from benchrig.cli.record.phrases import WORDS, seen
from benchrig.cli.record.preparation import Target, prepare
from benchrig.cli.record.screen import Bench
from benchrig.cli.record.sounds import Bells
from benchrig.cli.record.sources import planned
from benchrig.cli.record.stops import Stops
from benchrig.cli.record.telling import Telling
from benchrig.cli.record.voice import Voice, find_speaker
from benchrig.cli.record.wish import Wish
from benchrig.cli.terminal import tell
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_file import read_airframe
from benchrig.errors import BenchrigError

if TYPE_CHECKING:
    from benchrig.live.closing import Finished
    from benchrig.live.session import Session
    from benchrig.verdict.record import BenchRecord

STOPPED: Final = 130
"""Left with where a signal stopped the recording, whatever was recorded shows."""


def run(wish: Wish) -> int:
    """Record, judge, report; give the exit status.

    Raises
    ------
    BenchrigError
        With whatever forbids it, before anything is written.
    """
    airframe = read_airframe(wish.airframe)
    plan = planned(wish, airframe)
    target = Target(wish.name, has_pulses=plan.has_pulses)
    refuse_unfit_book(wish.book)
    prepare(target, (*wish.reads, *plan.reads), wish.reports, force=wish.force)
    for caution in CAUTIONS:
        tell(f"Caution: {caution}")
    with Stops() as stops:
        # what is typed while a port is looked for is not left to the shell either
        with Keyboard(by_line=not _has_page(wish)) as keyboard:
            session = plan.begin()
            session.open()
            finished = _recorded(session, wish, airframe, stops, keyboard)
        try:
            status = _reported(finished, wish)
        except (OSError, BenchrigError) as error:
            if not stops.asked:
                raise
            if isinstance(error, BenchrigError):
                tell(str(error))
            return STOPPED  # and whoever would read the report may have gone; everything is kept
    return STOPPED if stops.asked else status


def _recorded(session: Session, wish: Wish, airframe: Airframe, stops: Stops, keyboard: Keyboard) -> Finished:
    """Guide the session to its end; whatever happens, what was recorded is kept, and the terminal given back."""
    voice = Voice(find_speaker()) if wish.voice else None
    bells = Bells() if wish.sounds else None
    try:
        with _display(wish, airframe) as display:

            def pressed() -> list[str]:
                if stops.was_halted:
                    stops.was_halted = False
                    keyboard.take_again()
                    display.draw_again()
                keys = keyboard.pressed()
                display.answer(keys)
                for line in keyboard.misread():
                    display.refuse(line)
                return keys

            last = guide(session, Door(display, pressed, lambda: stops.asked, bells, voice))
            finished = session.finish()
    except Exception:
        with suppress(Exception):
            session.finish()  # keeps what there is; the fault itself is what must be told
        raise
    if last is not None and isinstance(display, FullScreen):
        tell(seen(last))  # went with the screen; line by line it stands there already
    if voice is not None and finished.record is not None:
        voice.say(f"Finished. {finished.record.verdict}")
    return finished


def _has_page(wish: Wish) -> bool:
    """Say whether there is a whole terminal to be taken."""
    return sys.stderr.isatty() and os.environ.get("TERM") not in {None, "", "dumb"} and not wish.plain


@contextmanager
def _display(wish: Wish, airframe: Airframe) -> Iterator[FullScreen | Telling]:
    """Choose how views are shown: on the whole terminal, or line by line."""
    stream = sys.stderr
    display: FullScreen | Telling
    if _has_page(wish):
        colour = not os.environ.get("NO_COLOR") if wish.colour is None else wish.colour
        display = FullScreen(stream, Bench(airframe.name, airframe.kind), Ink(stream.encoding, colour))
    else:
        tell(WORDS)
        display = Telling(stream)
    try:
        yield display
    finally:
        display.close()


def _reported(finished: Finished, wish: Wish) -> int:
    """Print what must be known besides, then the report; give the verdict's status.

    Raises
    ------
    BenchrigError
        Where nothing could be judged.
    """
    told = () if finished.error is None else finished.error.problems
    for problem in dict.fromkeys(finished.problems):
        if problem not in told:
            tell(str(problem))
    if finished.manifest.exists():
        tell(f"Recorded {finished.manifest}")
    if finished.record is None:
        raise finished.error or AssertionError(finished)
    _print(finished.record, wish)
    write_reports(finished.record, wish.reports)
    enter_in_book(wish.book, finished.record, wish.reports["--json"])
    return STATUS[finished.record.verdict]


def _print(record: BenchRecord, wish: Wish) -> None:
    if wish.prints_json:
        from benchrig.report.result import result_json  # noqa: PLC0415 - only where it is asked for

        click.echo(result_json(record))
    else:
        click.echo(shown(record, colour=wish.colour), color=True)
