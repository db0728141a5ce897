"""A description as the manifest that it proposes: TOML, with the reasons as comments."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Final

from benchrig.declaration.quotation import escape
from benchrig.measure.describe.description import NEEDED, Description, Proposed

MADE_BY: Final = "Proposed by `benchrig describe`"
_WIDTH: Final = 110

_MOTIONS: Final = """\
# What the operator did, and about when, in seconds from the first row: only you know it. Take the # away, write
# one entry a motion, and see docs/reference/capture.md for the words.
# [[motion]]
# name = "nose up"
# start_s = 4.0
# end_s = 6.1
"""


def manifest_text(description: Description) -> str:
    """Write the manifest that a description proposes.

    Every name from the stream is quoted as TOML asks, and escaped where it stands in a comment.

    Returns
    -------
    str
    """
    lines = [*_head(description), "", "[capture]", f"stream = {quoted(description.unknown.stream_name)}", ""]
    lines.append("[columns]")
    for name in NEEDED:
        group = description.group(name)
        if group is None:
            lines += _comment(f"{name}: not found. {_missing(description, name)}")
        else:
            lines += _group(group)
    for group in description.groups:
        if group.group not in NEEDED:
            lines += _group(group, needed=False)
    lines += ["", *_rest(description), *_MOTIONS.splitlines()]
    return "\n".join(lines) + "\n"


def column_line(group: Proposed) -> str:
    """Write a group as a line of ``[columns]``.

    Examples
    --------
    >>> column_line(Proposed("gyro", ("a", "b", "c"), "deg/s", 16.384, True, ""))
    'gyro = { names = ["a", "b", "c"], unit = { lsb_per = "deg/s", count = 16.384 } }'
    """
    names = ", ".join(quoted(name) for name in group.names)
    unit = quoted(group.unit)
    if group.count is not None:
        unit = f"{{ lsb_per = {unit}, count = {group.count!r} }}"
    return f"{group.group} = {{ names = [{names}], unit = {unit} }}"


def quoted(text: str) -> str:
    r"""Write text as a basic string of TOML.

    Examples
    --------
    >>> print(quoted('a "b"\t'))
    "a \"b\"\u0009"
    """
    parts = ("\\" + c if c in '"\\' else c if c.isprintable() else _code(c) for c in text)
    return f'"{"".join(parts)}"'


def _code(character: str) -> str:
    number = ord(character)
    return f"\\u{number:04x}" if number <= 0xFFFF else f"\\U{number:08x}"  # noqa: PLR2004 - TOML's two lengths


def _head(description: Description) -> Iterator[str]:
    rows, rate = len(description.clock.time), description.clock.rate
    yield from _comment(
        f"{MADE_BY} from {escape(description.unknown.path.name)}: {rows:,} rows, {rate:.4g} a second. "
        "A proposal and no more: read why, mend what is wrong, and write down the motions."
    )
    yield from _comment(f"Gyro against accelerometer: {description.agreement}.")
    yield from _comment(
        "What no stream shows: whether an axis that points up reads +g or -g (accelerometer_reads in the airframe "
        "file), and where each axis points in the airframe (axes)."
    )
    for note in description.notes:
        yield from _comment(f"Note: {note}.")


def _group(group: Proposed, *, needed: bool = True) -> Iterator[str]:
    certainty = "sure" if group.is_sure else "NOT SURE"
    said = f"{group.group}: {certainty}. {group.why[:1].upper()}{group.why[1:]}."
    if group.lead is not None:
        alone = " alone" if len(group.next_names) < len(group.names) else ""
        ahead = f" ({' '.join(map(escape, group.next_names))}{alone})" if group.next_names else ""
        said = f"{said} Leads the next choice{ahead} by {group.lead:g} in log-likelihood."
    if group.surer:
        said = f"{said} To be surer: {group.surer}."
    yield from _comment(said)
    live = needed or group.is_sure or group.group == "temperature"  # which nothing is judged by
    yield column_line(group) if live else f"# {column_line(group)}"


def _missing(description: Description, name: str) -> str:
    if name == "time" and not description.clock.column:
        return (
            f"{description.clock.why[:1].upper()}{description.clock.why[1:]}. `check` needs a column of stamps: "
            'log the time, then write time = { names = ["…"], unit = "us" }.'
        )
    return "Nothing in the stream behaves as one: is it recorded at all, and was the unit turned?"


def _rest(description: Description) -> Iterator[str]:
    if description.pulses:
        yield from _comment(
            "These look like servo pulses in us. Which actuator each one drives only you know: take the # away and "
            "put the name from the airframe file in the place of NAME."
        )
        yield "# [columns.actuators]"
        for name in description.pulses:
            yield f'# NAME = {{ names = [{quoted(name)}], unit = "us" }}'
        yield ""
    if description.others:
        yield from _comment("Columns that are left out, and what can be said of them:")
        for name, said in description.others.items():
            yield from _comment(f"  {escape(name)}: {said}")
        yield ""


def _comment(text: str) -> list[str]:
    indent = len(text) - len(text.lstrip())
    return textwrap.wrap(
        text.strip(),
        _WIDTH,
        initial_indent="# " + " " * indent,
        subsequent_indent="# " + " " * (indent * 2),
        break_long_words=False,
        break_on_hyphens=False,
    )


def brief_line(group: Proposed) -> str:
    """Say in one line what is proposed for a group.

    Examples
    --------
    >>> brief_line(Proposed("gyro", ("a", "b", "c"), "deg/s", None, True, ""))
    'gyro           sure      a b c, deg/s'
    """
    unit = group.unit if group.count is None else f"{group.count:g} counts to one {group.unit}"
    names = " ".join(escape(name) for name in group.names)
    return f"{group.group:<14} {'sure' if group.is_sure else 'not sure':<9} {names}, {unit}"
