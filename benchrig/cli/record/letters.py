"""Words that can be read from across the bench: block letters, six squares wide and five high."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

HEIGHT: Final = 5
"""Lines of a letter at its smallest."""
_GAP: Final = 2
_SPACE: Final = 3

_SHAPES: Final[Mapping[str, str]] = {
    "A": ".####. ##..## ###### ##..## ##..##",
    "B": "#####. ##..## #####. ##..## #####.",
    "C": ".##### ##.... ##.... ##.... .#####",
    "D": "#####. ##..## ##..## ##..## #####.",
    "E": "###### ##.... ####.. ##.... ######",
    "F": "###### ##.... ####.. ##.... ##....",
    "G": ".##### ##.... ##.### ##..## .#####",
    "H": "##..## ##..## ###### ##..## ##..##",
    "I": "## ## ## ## ##",
    "J": "....## ....## ....## ##..## .####.",
    "K": "##..## ##.##. ####.. ##.##. ##..##",
    "L": "##.... ##.... ##.... ##.... ######",
    "M": "##....## ###..### ##.##.## ##....## ##....##",
    "N": "##..## ###.## ###### ##.### ##..##",
    "O": ".####. ##..## ##..## ##..## .####.",
    "P": "#####. ##..## #####. ##.... ##....",
    "Q": ".####. ##..## ##..## ##.##. .###.#",
    "R": "#####. ##..## #####. ##.##. ##..##",
    "S": ".##### ##.... .####. ....## #####.",
    "T": "###### ..##.. ..##.. ..##.. ..##..",
    "U": "##..## ##..## ##..## ##..## .####.",
    "V": "##..## ##..## ##..## .####. ..##..",
    "W": "##....## ##....## ##.##.## ###..### ##....##",
    "X": "##..## .####. ..##.. .####. ##..##",
    "Y": "##..## .####. ..##.. ..##.. ..##..",
    "Z": "###### ...##. ..##.. .##... ######",
    "0": ".####. ##..## ##..## ##..## .####.",
    "1": ".##. ###. .##. .##. ####",
    "2": "#####. ....## .####. ##.... ######",
    "3": "#####. ....## .####. ....## #####.",
    "4": "##..## ##..## ###### ....## ....##",
    "5": "###### ##.... #####. ....## #####.",
    "6": ".####. ##.... #####. ##..## .####.",
    "7": "###### ....## ...##. ..##.. ..##..",
    "8": ".####. ##..## .####. ##..## .####.",
    "9": ".####. ##..## .##### ....## .####.",
    "-": ".... .... #### .... ....",
    "°": "### #.# ### ... ...",
}


def block_letters(text: str, width: int, height: int = HEIGHT, fill: str = "█") -> list[str]:
    """Write text in block letters, as large as the place allows.

    Parameters
    ----------
    text : str
        Letters without accents, digits, spaces, hyphens and degree signs.
    width, height : int
        Columns and lines there are.
    fill : str
        What a letter is made of, one column wide.

    Returns
    -------
    list of str
        Lines of one length; empty where the text does not fit, or has a letter that is not drawn.

    Examples
    --------
    >>> for line in block_letters("-up", 20, fill="#"):
    ...     print(line.rstrip())
          ##  ##  #####
          ##  ##  ##  ##
    ####  ##  ##  #####
          ##  ##  ##
           ####   ##
    """
    rows = _rows(text.upper())
    if rows is None:
        return []
    size = min(width // max(1, len(rows[0])), height // HEIGHT)
    stretched = ["".join(square * size for square in row) for row in rows]
    return [row.replace("#", fill).replace(".", " ") for row in stretched for _ in range(size)]


def _rows(text: str) -> list[str] | None:
    if not text.strip() or any(letter not in _SHAPES and letter != " " for letter in text):
        return None
    rows = [""] * HEIGHT
    for place, letter in enumerate(text):
        gap = "." * _GAP if place and letter != " " and text[place - 1] != " " else ""
        shape = ["." * _SPACE] * HEIGHT if letter == " " else _SHAPES[letter].split()
        rows = [row + gap + part for row, part in zip(rows, shape, strict=True)]
    return rows
