"""Paper being printed: letters, rules and boxes set on A4, in mm from the top left corner of a page."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import datetime
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Final, Literal, Self, cast

from benchrig.report.lettering import clean

if TYPE_CHECKING:
    from fpdf import FPDF
    from fpdf.fonts import TTFFont

Ink = tuple[int, int, int]

BLACK: Final[Ink] = (0, 0, 0)
SOFT: Final[Ink] = (68, 68, 68)
HAIR: Final[Ink] = (170, 170, 170)
WHITE: Final[Ink] = (255, 255, 255)
INKS: Final[dict[str, Ink]] = {"agrees": (0, 90, 140), "differs": (168, 71, 0), "open": SOFT, "none": SOFT}
"""By the role of a mark: dark enough for white paper, and grey levels of their own."""

WIDTH: Final = 210.0
HEIGHT: Final = 297.0
LEFT: Final = 12.0
RIGHT: Final = WIDTH - 12.0
TOP: Final = 9.0
BOTTOM: Final = HEIGHT - 10.0
CREATOR: Final = "benchrig"
_FAMILY: Final = "sheet"
_FONTS: Final = {"": "DejaVuSansCondensed.ttf", "B": "DejaVuSansCondensed-Bold.ttf"}
_LETTERS: Final = 0x110000
"""Of Unicode."""
_LEADING: Final = 0.43
"""mm of a line's height to a point of its letters."""
_RISE: Final = 0.32
"""mm from the top of a line down to the letters' foot, to a point."""


class Press:
    """One A4 document being set; a context in which its fonts are open.

    Parameters
    ----------
    title : str
    made : datetime
        With its zone; stands in the document's properties.
    """

    def __init__(self, title: str, made: datetime) -> None:
        from fpdf import FPDF  # noqa: PLC0415 - only print pays for it

        # what it says about making a subset of a font is for its makers
        logging.getLogger("fontTools.subset").setLevel(logging.ERROR)
        self._pdf: FPDF = FPDF(format="A4")
        self._pdf.set_auto_page_break(auto=False)
        self._pdf.set_margin(0)
        self._pdf.c_margin = 0
        self._open = ExitStack()
        self._letters = set(range(_LETTERS))
        for style, name in _FONTS.items():
            path = self._open.enter_context(as_file(files("benchrig.report") / "fonts" / name))
            self._pdf.add_font(_FAMILY, style, path)
            font = cast("TTFFont", self._pdf.fonts[f"{_FAMILY}{style}"])
            self._open.callback(font.close)
            self._letters &= set(font.cmap)
        self._pdf.set_title(self.printable(title))
        self._pdf.set_creator(CREATOR)
        self._pdf.set_lang("en-GB")
        self._pdf.set_creation_date(made)
        self.page()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *stopped: object) -> None:
        self._open.close()

    def page(self) -> None:
        """Begin a new page."""
        self._pdf.add_page()

    def printable(self, text: str) -> str:
        """Clean text, and spell a letter that the font lacks as its code."""
        return "".join(letter if ord(letter) in self._letters else f"\\u{ord(letter):04x}" for letter in clean(text))

    def lines(self, text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
        """Break text into lines of at most `width` mm."""
        self._font(size, bold=bold)
        broken = self._pdf.multi_cell(width, text=self.printable(text), dry_run=True, output="LINES", align="L")
        return cast("list[str]", broken) or [""]

    def wide(self, text: str, size: float, *, bold: bool = False) -> float:
        """Measure text that stands on one line, mm."""
        self._font(size, bold=bold)
        return float(self._pdf.get_string_width(self.printable(text)))

    def write(
        self, x: float, y: float, lines: Sequence[str], size: float, *, bold: bool = False, ink: Ink = BLACK
    ) -> None:
        """Set lines, the first with its top at y."""
        self._font(size, bold=bold)
        self._pdf.set_text_color(*ink)
        for step, line in enumerate(lines):
            self._pdf.text(x, y + _RISE * size + step * leading(size), self.printable(line))

    def rule(self, x: float, y: float, end: float, *, weight: float = 0.1, ink: Ink = HAIR) -> None:
        """Draw a level line."""
        self._pdf.set_draw_color(*ink)
        self._pdf.set_line_width(weight)
        self._pdf.line(x, y, end, y)

    def box(
        self, x: float, y: float, width: float, height: float, *, style: Literal["D", "F"] = "D", ink: Ink = BLACK
    ) -> None:
        """Draw a frame, or fill a box."""
        self._pdf.set_draw_color(*ink)
        self._pdf.set_fill_color(*ink)
        self._pdf.set_line_width(0.25)
        self._pdf.rect(x, y, width, height, style=style)

    def number_pages(self, label: str, size: float, header: str = "") -> None:
        """Write at the foot of each page of several what it belongs to, and a header on all but the first."""
        count = self._pdf.pages_count
        for number in range(1, count + 1 if count > 1 else 1):
            self._pdf.page = number
            self._font(size + 1, bold=False)  # another size first: a font that is set already is not written here
            text = f"{label}, page {number} of {count}"
            self.write(RIGHT - self.wide(text, size), BOTTOM + 3, [text], size, ink=SOFT)
            if number > 1:
                self.write(LEFT, TOP, self.lines(header, RIGHT - LEFT, size)[:1], size, bold=True)

    def printed(self) -> bytes:
        """Give the document."""
        return bytes(self._pdf.output())

    def _font(self, size: float, *, bold: bool) -> None:
        self._pdf.set_font(_FAMILY, "B" if bold else "", size)


def leading(size: float) -> float:
    """Give the height of a line, mm, for letters of `size` points."""
    return _LEADING * size
