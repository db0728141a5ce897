"""The entry point: one command line in, one exit status out, and never a traceback on the terminal."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from typing import Final, NoReturn

import click

from benchrig import __version__
from benchrig.cli.lazy import Entry, LazyGroup
from benchrig.cli.terminal import never_refuse, tell
from benchrig.errors import BenchrigError

COMMANDS: Final[Mapping[str, Entry]] = {
    "check": Entry("benchrig.cli.check:check", "Judge a capture against the declared airframe: the main job."),
    "record": Entry("benchrig.cli.record.command:record", "Record a guided bench, motion by motion, and judge it."),
    "measure": Entry("benchrig.cli.measure.group:measure", "Prove the numbers that the declaration rests on."),
    "sheet": Entry("benchrig.cli.sheet:sheet", "One printable page: declared, measured, judged, and still open."),
    "rejudge": Entry("benchrig.cli.rejudge:rejudge", "Judge an old capture again, and show what changed."),
    "compare": Entry("benchrig.cli.compare:compare", "Show what moved between two benches of one airframe."),
    "book": Entry("benchrig.cli.book.group:book", "Keep the benches of all airframes, and know what is due."),
    "describe": Entry("benchrig.cli.describe:describe", "Propose the manifest of an unknown stream, by physics."),
    "export": Entry("benchrig.cli.export:export", "Write a recorded stream as text or Parquet, for other programs."),
    "simulate": Entry("benchrig.cli.simulate:simulate", "Make a capture with known truth and chosen faults."),
    "demo": Entry("benchrig.cli.demo:demo", "Run the main job on the demo airframe and captures."),
}

PURPOSE: Final = """Check, before the first hover, that a gyro and accelerometer unit sits, senses
and corrects as declared.

Take the blades or propellers off before the unit gets power. This is bench evidence only."""

STATUSES: Final = """\b
Exit status:
  0  pass              5  the capture or another input is unusable
  1  fail              6  the port gives no samples
  2  wrong usage      70  a fault of the program
  3  not shown       130  stopped by the user
  4  the airframe file is invalid"""

WRONG_USAGE: Final = 2
FAULT: Final = 70
STOPPED: Final = 130
PIPE_CLOSED: Final = 141
"""What a shell reports for a program that a closed pipe ended (128 + SIGPIPE); no verdict may be read from it."""

COMPLETION_VARIABLE: Final = "_BENCHRIG_COMPLETE"


benchrig = click.version_option(__version__, prog_name="benchrig", message="%(prog)s %(version)s")(
    LazyGroup("benchrig", COMMANDS, help=PURPOSE, epilog=STATUSES)
)


def run() -> NoReturn:
    """Run the command line of this process and leave with its exit status."""
    never_refuse(sys.stdout, sys.stderr)
    if COMPLETION_VARIABLE in os.environ:
        benchrig.main(prog_name="benchrig", complete_var=COMPLETION_VARIABLE)
    sys.exit(exit_status(sys.argv[1:]))


def exit_status(arguments: Sequence[str]) -> int:
    """Run one command line; whatever goes wrong becomes its text on standard error and a status.

    Parameters
    ----------
    arguments : sequence of str
        Without the program's name.

    Returns
    -------
    int
        What the command returned, 0 where it returned no whole number, or the status of what stopped it.
    """
    try:
        status = called(arguments)
        click.echo(nl=False)  # flushes, and copes with an output that was closed from the start
    except (Exception, KeyboardInterrupt) as error:  # noqa: BLE001 - the last place where a fault can be told in a sentence
        status = stopped_by(error, arguments)
    return status


def called(arguments: Sequence[str]) -> int:
    """Let click read the arguments and call the command."""
    with benchrig.make_context("benchrig", list(arguments)) as context:
        answer = benchrig.invoke(context)
    return answer if isinstance(answer, int) else 0


def stopped_by(error: BaseException, arguments: Sequence[str]) -> int:
    """Tell what stopped a command, and give the status for it."""
    match error:
        case click.exceptions.Exit():
            status = error.exit_code
        case click.ClickException():
            error.show()
            status = WRONG_USAGE
        case BenchrigError():
            tell(str(error))
            status = error.exit_status
        case KeyboardInterrupt() | EOFError() | click.Abort():
            click.echo("\nStopped; no verdict stands.", err=True)
            status = STOPPED
        case BrokenPipeError():
            drop_output()
            status = PIPE_CLOSED
        case _:
            tell_fault(error, arguments)
            status = FAULT
    return status


def drop_output() -> None:
    """Send what is still unwritten nowhere, so that the interpreter does not complain while it shuts down."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def tell_fault(error: BaseException, arguments: Sequence[str]) -> None:
    """Say in one sentence what failed, the program or the system under it, and where the details are."""
    from benchrig.cli.fault import write_details  # noqa: PLC0415 - only a fault pays for it

    what = f"{type(error).__name__}: {error}".partition("\n")[0].rstrip(": ")
    try:
        where = f"the details are in {write_details(error, arguments)}; please send that file to the maintainers"
    except OSError as refused:
        where = f"and the details could not be written either ({refused})"
    culprit = "because the system refused something" if isinstance(error, OSError) else "by a fault of the program"
    click.echo(f"benchrig: stopped {culprit}, so no verdict stands ({what}); {where}.", err=True)
