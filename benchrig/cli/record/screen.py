"""One moment of a session as a page for the terminal, to be read from two metres away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sin
from typing import Final

from benchrig.cautions import CAUTIONS
from benchrig.cli.record import phrases
from benchrig.cli.record.canvas import Canvas
from benchrig.cli.record.gauges import draw_gauges
from benchrig.cli.record.ink import Ink, Role
from benchrig.cli.record.letters import HEIGHT, block_letters
from benchrig.cli.record.pictures import draw_motion
from benchrig.cli.record.standings import draw_strip, draw_table, in_words, table_size
from benchrig.declaration.airframe import Kind
from benchrig.live.view import Question, View
from benchrig.report.lettering import columns, shorten, wrap

SMALLEST: Final = (20, 4)
"""Columns and lines below which no page is made."""
_NARROW: Final = 64
_LOW: Final = 16
"""Fewer columns or lines than this have no place for a picture."""
_BESIDE: Final = 13
"""Lines kept for all else beside several names in block letters."""
_FLAT: Final = 8
"""Fewer lines than this have no place for a second line of keys."""
_SHOWN: Final = {"lie still", "move", "moving", "hold", "return"}
_STRIP: Final = 2
_OUT_S: Final = 1.2
_STAY_S: Final = 1.0
_MOODS: Final[dict[str, Role]] = {"good": "agrees", "again": "differs", "trouble": "differs"}


@dataclass(frozen=True, slots=True)
class Bench:
    """Whose bench it is.

    Attributes
    ----------
    name : str
        Of the airframe.
    kind : str
    """

    name: str
    kind: Kind


def page(bench: Bench, view: View, size: tuple[int, int], ink: Ink, now: float = 0.0) -> list[str]:
    """Draw one moment.

    Parameters
    ----------
    bench : Bench
    view : View
    size : tuple of int
        Columns and lines of the terminal.
    ink : Ink
    now : float, s
        By any clock that runs evenly: the wanted motion is shown moving.

    Returns
    -------
    list of str
        One line of the terminal each, none longer than its width.
    """
    width, height = max(size[0], SMALLEST[0]), max(size[1], SMALLEST[1])
    canvas = Canvas(width, height, ink)
    _head(canvas, bench, view)
    line = _word(canvas, 2, view)
    line = _sentence(canvas, line, view)
    keys = phrases.keys(canvas.width)[: _STRIP if canvas.height >= _FLAT else 1]
    foot = _foot(canvas, view, len(keys))
    _middle(canvas, bench, view, (line, foot), now)
    for below, text in enumerate(keys):  # last: how to stop is never drawn over
        canvas.put(canvas.height - len(keys) + below, 0, text.ljust(canvas.width), "faint")
    return canvas.lines()


def _head(canvas: Canvas, bench: Bench, view: View) -> None:
    heard = view.heard
    rate = f"{heard.rate_hz:.0f} a second" if heard.rate_hz is not None else "none coming"
    told = [f"{heard.samples} rows", rate]
    told += [f"{count} {word}" for count, word in ((heard.lost, "lost"), (heard.refused, "refused")) if count]
    right = f"{', '.join(told)}   {phrases.clock(heard.seconds)}"
    left = canvas.ink.written(shorten(bench.name, max(8, canvas.width - len(right) - 14)))
    canvas.put(0, 0, left, "strong")
    if view.number:
        canvas.put(0, columns(left) + 2, f"motion {view.number}")
    if columns(left) + len(right) + 12 < canvas.width:
        canvas.end(0, right)
    canvas.put(1, 0, canvas.ink.signs("━") * canvas.width, "faint")


def _word(canvas: Canvas, line: int, view: View) -> int:
    word = phrases.large(view)
    letters = _letters(canvas, word, view.watch if view.phase == "hold" else ())
    if not letters:
        canvas.put(line, 0, canvas.ink.written(word).upper(), "strong")
        return line + 1
    canvas.block(line, 0, letters, "strong")
    return line + len(letters) + (1 if canvas.height > 24 else 0)  # noqa: PLR2004 - the height of an ordinary terminal


def _letters(canvas: Canvas, word: str, watch: Sequence[str]) -> list[str]:
    """Write a word in block letters, or names to be watched below one another; empty where there is no place."""
    fill = "█" if canvas.ink.has_blocks else "#"
    if canvas.height < _LOW:
        return []
    if len(watch) <= 1:
        return block_letters(word, canvas.width, max(HEIGHT, canvas.height // 4), fill)
    each = [block_letters(name, canvas.width, HEIGHT, fill) for name in watch]
    high = len(watch) * (HEIGHT + 1) - 1
    if not all(each) or canvas.height < high + _BESIDE:
        return []
    return [line for letters in each for line in (*letters, "")][:-1]


def _sentence(canvas: Canvas, line: int, view: View) -> int:
    lines = _wrapped(canvas, phrases.instruction(view), canvas.width)[: 2 if canvas.width >= _NARROW else 3]
    for below, text in enumerate(lines):
        canvas.put(line + below, 0, text)
    return line + len(lines) + (canvas.height >= _LOW)


def _foot(canvas: Canvas, view: View, keys: int) -> int:
    """Write how it stands above the lines of the keys, from the bottom up; give the first line that is taken."""
    bottom = canvas.height - keys
    if canvas.height < _LOW:
        return bottom
    words = _wrapped(canvas, in_words(view.standing), canvas.width)[:_STRIP]
    for below, text in enumerate(words):
        canvas.put(bottom - len(words) + below, 0, text)
    first = bottom - len(words)
    if not _has_table(canvas, view):
        first -= _STRIP
        draw_strip(canvas, first, _STRIP, view.standing)
    return first


def _has_table(canvas: Canvas, view: View) -> bool:
    wide, high = table_size(view.standing)
    return bool(wide) and canvas.width >= _NARROW + 12 + wide and canvas.height >= _LOW + high + 4


def _middle(canvas: Canvas, bench: Bench, view: View, between: tuple[int, int], now: float) -> None:
    top, height = between[0], between[1] - between[0]
    table = _has_table(canvas, view)
    wide = canvas.width - (table_size(view.standing)[0] + 3 if table else 0)
    picture = int(wide * 0.45) if view.phase in _SHOWN and canvas.width >= _NARROW and height >= 6 else 0  # noqa: PLR2004 - lines below which a picture tells nothing
    if picture:
        _picture(canvas, bench, view, (top, 0, picture, height), now)
    left = picture + 3 if picture else 0
    _column(canvas, view, (top, left, wide - left, height))
    if table:
        draw_table(canvas, top, wide + 3, view.standing)


def _picture(canvas: Canvas, bench: Bench, view: View, where: tuple[int, int, int, int], now: float) -> None:
    line, column, width, height = where
    motion, angle = shown_now(view, now)
    drawn = draw_motion(bench.kind, motion, angle, width, height - 1, blocks=canvas.ink.has_blocks)
    canvas.block(line, column, list(drawn.faint), "faint")
    canvas.block(line, column, list(drawn.solid))
    below, right, text = drawn.label
    canvas.put(line + below, column + right, text, "strong")
    canvas.put(line + height - 1, column, drawn.caption[:width], "faint")


def shown_now(view: View, now: float) -> tuple[str, float]:
    """Give the motion that the picture shows at this moment, and how far, deg.

    What is asked for moves out and stays, again and again; once it moves it is shown where it shall be held.
    """
    if view.motion == "free" and view.phase in {"move", "moving"}:
        turn = ("nose up", "roll right", "yaw right", "nose down", "roll left", "yaw left")[int(now / 1.5) % 6]
        return turn, 35.0 * sin(pi * (now / 1.5 % 1.0))
    held = sum(view.wanted_deg) / 2
    if view.phase in {"lie still", "return"} or not held:
        return view.motion, 0.0
    if view.phase != "move":
        return view.motion, held
    share = min(1.0, (now % (_OUT_S + _STAY_S)) / _OUT_S)
    return view.motion, held * share


def _column(canvas: Canvas, view: View, where: tuple[int, int, int, int]) -> None:
    """Fill the column of words: a trouble before all else, then answers or numbers, then what was seen."""
    line, column, width, height = where
    if view.trouble is not None:
        _text(canvas, (line, column, width, height), f"! {phrases.trouble(view.trouble)}", "differs")
        return
    used = 0
    if view.question is not None and view.phase == "question":
        used = _answers(canvas, where, view.question)
    elif height > 0:
        used = draw_gauges(canvas, where, view)
    gap = 1 if used and height > used + 3 else 0
    rest = (line + used + gap, column, width, height - used - gap)
    if view.said:
        _text(canvas, rest, phrases.seen(view), _MOODS.get(view.mood, ""))
    elif view.phase in {"waiting", "lie still"}:
        _cautions(canvas, rest)


def _answers(canvas: Canvas, where: tuple[int, int, int, int], question: Question) -> int:
    """Write every answer with its key, one a line where there is place; give how many lines they took."""
    line, column, width, height = where
    if len(question.answers) > height:
        short = [f"{key}: {answer}" for key, answer in question.answers.items()]
        lines = _wrapped(canvas, "; ".join(short), width)[: max(0, height)]
        canvas.block(line, column, lines, "strong")
        return len(lines)
    for below, (key, answer) in enumerate(question.answers.items()):
        canvas.put(line + below, column, canvas.ink.written(f"[{key}]"), "strong")
        canvas.put(line + below, column + 5, canvas.ink.written(answer))
    return len(question.answers)


def _cautions(canvas: Canvas, where: tuple[int, int, int, int]) -> None:
    """Write the cautions that fit whole: half a caution is none."""
    line, column, width, height = where
    for caution in CAUTIONS:
        lines = wrap(canvas.ink.written(caution), width, "! ")
        if len(lines) > height:
            return
        canvas.block(line, column, lines)
        line, height = line + len(lines), height - len(lines)


def _text(canvas: Canvas, where: tuple[int, int, int, int], text: str, role: Role) -> None:
    line, column, width, height = where
    if text and width > 0:
        for below, piece in enumerate(_wrapped(canvas, text, width)[: max(0, height)]):
            canvas.put(line + below, column, piece, role)


def _wrapped(canvas: Canvas, text: str, width: int) -> list[str]:
    return wrap(canvas.ink.written(text), width) if text else []
