"""`benchrig record` as a process of its own on a real pseudo-terminal, as a person would run it."""

import codecs
import fcntl
import os
import select
import struct
import subprocess
import sys
import termios
import time
from contextlib import suppress
from pathlib import Path

from terminal_page import Terminal

CAPTURES = Path(__file__).parents[3] / "captures"
CODE = "from benchrig.cli.main import run; run()"


class Spawned:
    """The program, its terminal, and what a person sees there; standard output goes to a pipe of its own.

    Parameters
    ----------
    arguments : sequence
        Of `benchrig`.
    folder : Path
        In which it runs.
    size : tuple of int
        Columns and lines.
    """

    def __init__(self, arguments, folder, size=(80, 24)):
        self.ours, theirs = os.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        settings = termios.tcgetattr(theirs)
        settings[1] &= ~termios.OPOST
        termios.tcsetattr(theirs, termios.TCSANOW, settings)
        self.settings = termios.tcgetattr(theirs)
        self.theirs = theirs
        self.page = Terminal(*size)
        self.decoder = codecs.getincrementaldecoder("utf-8")()
        self.output = folder / "output.txt"
        environment = {**os.environ, "TERM": "xterm", "PYTHONIOENCODING": "utf-8"}
        environment.pop("NO_COLOR", None)
        with self.output.open("wb") as output:
            self.process = subprocess.Popen(
                [sys.executable, "-c", CODE, *map(str, arguments)],
                stdin=theirs,
                stdout=output,
                stderr=theirs,
                cwd=folder,
                env=environment,
            )

    def read(self, seconds=0.05):
        """Take what was written within so many seconds."""
        if select.select([self.ours], [], [], seconds)[0]:
            with suppress(OSError):
                self.page.feed(self.decoder.decode(os.read(self.ours, 65536)))

    def until(self, seen, seconds=60.0, meanwhile=None):
        """Read until `seen(page)` holds, doing something with the page meanwhile; give what it gave."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            found = seen(self.page)
            if found:
                return found
            assert self.process.poll() is None, self.page.text
            self.read()
            if meanwhile is not None:
                meanwhile(self.page)
        raise AssertionError(self.page.text)

    def press(self, keys):
        """Press keys."""
        os.write(self.ours, keys)

    def ended(self, seconds=60.0, meanwhile=None):
        """Read until the program has ended, doing something with the page meanwhile; give its status."""
        end = time.monotonic() + seconds
        while self.process.poll() is None and time.monotonic() < end:
            self.read()
            if meanwhile is not None:
                meanwhile(self.page)
        status = self.process.wait(timeout=1)
        self.read(0.0)
        return status

    def close(self):
        """Leave nothing behind."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        for handle in (self.ours, self.theirs):
            with suppress(OSError):
                os.close(handle)
