"""`benchrig record`: the guided bench, from the first prompt to the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

_PATH = click.Path(path_type=Path)


@click.command()
@click.argument("airframe", type=_PATH)
@click.option("--port", metavar="PORT", help="Where the unit is plugged in; auto finds it.")
@click.option("--device", type=_PATH, help="The file that says what the unit sends; needed with --port.")
@click.option("--from", "replayed", type=_PATH, metavar="MANIFEST", help="Replay a stored capture instead.")
@click.option("--speed", type=float, metavar="X", help="Times as fast as it was recorded; inf: at once [1].")
@click.option("--out", required=True, type=_PATH, metavar="NAME", help="NAME of the files to make.")
@click.option("--pulses-port", metavar="PORT", help="Where a second device gives the pulses to the actuators.")
@click.option("--pulses-device", type=_PATH, help="The file that says what that device sends.")
@click.option("--motion", "motions", multiple=True, help="Ask for these motions, in order, and no others.")
@click.option("--operator", default="", help="Who moves the airframe.")
@click.option("--plain", is_flag=True, help="Print a line for each change instead of a full screen.")
@click.option(
    "--sounds/--no-sounds", default=True, help="Ring: once for done, twice for again, three times for trouble."
)
@click.option("--voice", is_flag=True, help="Speak the prompts, where the system has a speech program.")
@click.option("--html", type=_PATH, help="Write the report as one page.")
@click.option("--json", "json_target", type=_PATH, help="Write the result; - prints only it.")
@click.option("--junit", type=_PATH, help="Write the result for a build server.")
@click.option("--book", type=_PATH, help="Enter the bench into the book of this folder.")
@click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
@click.option("--force", is_flag=True, help="Replace files of this name; a declaration never.")
def record(**given: Any) -> int:  # noqa: ANN401 - each value is what its option above says
    """Record a bench of AIRFRAME, prompting each motion, and judge it.

    Take the blades or propellers off first. Leaves NAME.arrow (every sample), NAME.arrow.end.json and NAME.toml, which
    `benchrig check` takes; a recording that is stopped or killed at any moment keeps what it has. Keys: space says the
    prompt again, backspace takes the last motion back, enter goes on, q stops and keeps everything.
    """
    from benchrig.cli.record.bench import run  # noqa: PLC0415 - the help must not wait for the work
    from benchrig.cli.record.wish import Wish  # noqa: PLC0415 - as above

    return run(Wish(**given))
