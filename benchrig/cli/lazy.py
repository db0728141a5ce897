"""A group of commands that imports a command's module only when that command is called."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from typing import NamedTuple

import click


class Entry(NamedTuple):
    """Where a command lives, as ``module:function``, and the line that the list of commands shows for it."""

    target: str
    line: str


class LazyGroup(click.Group):
    """A click group whose commands are named by a table.

    Parameters
    ----------
    name : str
    entries : mapping of str to Entry
        In the order in which the help lists them.
    help : str
    epilog : str
    """

    def __init__(
        self,
        name: str,
        entries: Mapping[str, Entry],
        help: str,  # noqa: A002 - click's own name for it
        epilog: str,
    ) -> None:
        super().__init__(name=name, help=help, epilog=epilog)
        self.entries = entries

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Give the names in the order of the table."""
        return list(self.entries)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - click's signature
        """Import one command, or give None for a name that is not in the table.

        Raises
        ------
        TypeError
            If what the table names is not a command.
        """
        entry = self.entries.get(cmd_name)
        if entry is None:
            return None
        module, _, function = entry.target.partition(":")
        command = getattr(importlib.import_module(module), function)
        if not isinstance(command, click.Command):
            message = f"{entry.target} is not a click command but {type(command).__name__}"
            raise TypeError(message)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - click's signature
        """Write the list of commands from the table alone, so that help imports none of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, entry.line) for name, entry in self.entries.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that the arguments call.

        Raises
        ------
        click.UsageError
            For a name that is not in the table; it names the closest ones.
        """
        name = args[0]
        if name in self.entries or name.startswith("-"):
            return super().resolve_command(ctx, args)
        import difflib  # noqa: PLC0415 - only a mistyped name pays for it

        close = difflib.get_close_matches(name, self.entries, n=2, cutoff=0.5)
        known = f"did you mean {' or '.join(close)}?" if close else f"the commands are {', '.join(self.entries)}"
        message = f'no command is named "{name}"; {known}'
        raise click.UsageError(message, ctx)
