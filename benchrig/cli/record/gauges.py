"""How far it has turned, and how long it has been held: a large number and two bars.

The number is the size of the turn and never its way. Whoever saw the way would turn the airframe until the screen
agreed, and a gyro with a wrong sign would be obeyed instead of found.
"""

from __future__ import annotations

from math import hypot
from typing import Final

from benchrig.cli.record.canvas import Canvas
from benchrig.cli.record.letters import HEIGHT, block_letters
from benchrig.cli.record.phrases import wanted
from benchrig.live.view import View
from benchrig.report.lettering import columns

_LARGEST: Final = 999.0  # deg: three digits are all that is written large
_LEAST_SCALE: Final = 90.0  # deg
_GAP: Final = 3
_BELOW: Final = 8
"""Lines kept free below the number."""
_BARS: Final = 3
"""Lines that must be left below the smallest number."""


def size_of_turn(view: View) -> float:
    """Give the angle turned since the last rest, deg, whatever the axis."""
    return min(hypot(*view.turned_deg), _LARGEST)


def draw_gauges(canvas: Canvas, where: tuple[int, int, int, int], view: View) -> int:
    """Draw the number and the bars that fit this moment; give how many lines they took.

    Parameters
    ----------
    canvas : Canvas
    where : tuple of int
        Line, column, columns and lines of the place for them.
    view : View
    """
    line, column, width, _ = where
    used = 0
    if view.phase in {"move", "moving", "hold", "return"} and view.motion != "level":
        used += _number(canvas, where, view)
        if _wants(view):
            canvas.put(line + used, column, turn_bar(size_of_turn(view), view.wanted_deg, width, canvas))
            used += 1
    if view.hold_s > 0:
        lying = "still" if view.phase in {"lie still", "return"} else "held"
        words = f"{lying} {min(view.held_s, view.hold_s):.1f} of {view.hold_s:.1f} s "
        canvas.put(line + used, column, words)
        share = min(1.0, view.held_s / view.hold_s)
        canvas.put(line + used, column + columns(words), bar(share, width - columns(words), canvas))
        used += 1
    return used


def _wants(view: View) -> bool:
    """Say whether a turn is asked for at this moment; on the way back none is."""
    return any(view.wanted_deg) and view.phase != "return"


def _number(canvas: Canvas, where: tuple[int, int, int, int], view: View) -> int:
    """Write the size of the turn: large where there is room, beside what is wanted; else on one line."""
    line, column, width, height = where
    size = f"{size_of_turn(view):.0f}°"
    words = ["turned", "so far"]
    if _wants(view):
        words += ["", "wanted", wanted(view.wanted_deg)]
    room = width - max(map(columns, words)) - _GAP
    digits = size if canvas.ink.can_show(size) else size[:-1]
    fill = "█" if canvas.ink.has_blocks else "#"
    tall = max(HEIGHT, height - _BELOW)
    letters = block_letters(digits, room, tall, fill) if height >= HEIGHT + _BARS else []
    if not letters:
        text = f"turned {size}" + (f", wanted {wanted(view.wanted_deg)}" if _wants(view) else "")
        canvas.put(line, column, canvas.ink.signs(text), "strong")
        return 1
    canvas.block(line, column, letters, "strong")
    for below, word in enumerate(words):
        canvas.put(line + below, column + len(letters[0]) + _GAP, canvas.ink.signs(word))
    return len(letters)


def turn_bar(turned: float, asked: tuple[float, float], width: int, canvas: Canvas) -> str:
    """Give the bar of the turn: filled as far as it went, and the wanted range marked in what is still empty.

    Parameters
    ----------
    turned : float, deg
    asked : tuple of float, deg
        The least and the largest turn wanted.
    width : int
        Columns.
    canvas : Canvas
        For its alphabet.
    """
    full, mark, empty = _bar_signs(canvas)
    scale = max(_LEAST_SCALE, 1.5 * asked[1])
    filled = round(min(1.0, turned / scale) * width)
    first, last = (round(min(1.0, limit / scale) * width) for limit in asked)
    return "".join(
        full if place < filled else mark if first <= place < last else empty for place in range(max(0, width))
    )


def bar(share: float, width: int, canvas: Canvas) -> str:
    """Give a bar that is filled to a share between 0 and 1."""
    full, _, empty = _bar_signs(canvas)
    filled = round(share * max(0, width))
    return full * filled + empty * (width - filled)


def _bar_signs(canvas: Canvas) -> tuple[str, str, str]:
    return ("█", "▒", "·") if canvas.ink.can_show("█▒·") else ("#", "=", ".")
