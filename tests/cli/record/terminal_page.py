"""The part of a terminal that the screen of a bench uses, as a page of letters (sequences: ECMA-48; xterm's modes)."""

import re

SEQUENCE = re.compile(r"\x1b\[(\??)([\d;]*)([A-Za-z])|(\x07)|(\r?\n)|([^\x1b\x07])", re.DOTALL)
UNFINISHED = re.compile(r"\x1b(?:\[\??[\d;]*)?$")


class Terminal:
    """Reads what a program writes; `lines` is what a person then sees."""

    def __init__(self, columns=80, lines=24):
        self.columns, self.height = columns, lines
        self.bells = 0
        self.modes = {}
        self.rest = ""
        self.clear()

    def clear(self):
        """Empty the page."""
        self.cells = [[" "] * self.columns for _ in range(self.height)]
        self.row = self.column = 0

    @property
    def lines(self):
        """What stands there, line by line."""
        return ["".join(row).rstrip() for row in self.cells]

    @property
    def text(self):
        """What stands there."""
        return "\n".join(self.lines)

    def feed(self, text):
        """Take what a program wrote, in whatever pieces."""
        text = self.rest + text
        cut = UNFINISHED.search(text)
        self.rest = cut[0] if cut else ""
        for private, numbers, command, bell, newline, letter in SEQUENCE.findall(text.removesuffix(self.rest)):
            if bell:
                self.bells += 1
            elif newline:
                self.next_line()
            elif letter:
                self.put(letter)
            else:
                self.obey(private, numbers, command)

    def put(self, letter):
        """Put one letter where the cursor is; a line that is too long goes on below, where that is switched on."""
        if self.column >= self.columns:
            assert self.modes.get(7, True), f"wrote past the right edge of line {self.row + 1}"
            self.next_line()
        self.cells[self.row][self.column] = letter
        self.column += 1

    def next_line(self):
        """Begin a new line, and push the others up at the bottom."""
        self.column = 0
        if self.row + 1 < self.height:
            self.row += 1
        else:
            self.cells = [*self.cells[1:], [" "] * self.columns]

    def obey(self, private, numbers, command):
        """Follow one sequence."""
        if private:
            self.modes[int(numbers)] = command == "h"
        elif command == "H":
            line, column = map(int, (numbers or "1;1").split(";"))
            assert line <= self.height, f"wrote to line {line} of {self.height}"
            self.row, self.column = line - 1, column - 1
        elif command == "J":
            self.cells = [[" "] * self.columns for _ in range(self.height)]
        elif command == "K":
            self.cells[self.row] = [" "] * self.columns
        else:
            assert command == "m", f"a sequence that the screen has no use for: {command}"
