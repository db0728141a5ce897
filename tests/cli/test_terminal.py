"""A terminal that lacks a character gets a spelling of it, and the program goes on."""

import io
import os
import subprocess
import sys

import pytest

from benchrig.cli.terminal import SPELLINGS, is_written, never_refuse, tell


def written(text, encoding):
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding, newline="\n")
    never_refuse(stream)
    stream.write(text)
    stream.flush()
    return raw.getvalue().decode(encoding)


def test_a_minus_sign_stays_a_minus_sign_on_a_plain_terminal():
    assert written("−8.2°", "ascii") == "-8.2 deg"


def test_the_mark_of_a_fail_is_never_spelled_like_the_mark_of_a_doubt():
    assert written("≠ FAIL", "ascii") == "!= FAIL"


def test_a_character_without_a_spelling_becomes_a_question_mark():
    assert written("Ж", "ascii") == "?"


def test_a_capable_terminal_gets_the_text_as_it_is():
    assert written("−8.2° ± 0.4 µs × √2", "utf-8") == "−8.2° ± 0.4 µs × √2"


def test_a_terminal_that_has_some_of_the_characters_keeps_those():
    assert written("−8.2°", "latin-1") == "-8.2°"


def test_every_spelling_is_plain():
    assert all(spelling.isascii() for spelling in SPELLINGS.values())


def test_what_is_not_a_text_file_is_left_alone():
    never_refuse(None, io.StringIO())


@pytest.mark.parametrize("settings", [{"LC_ALL": "C"}, {"PYTHONIOENCODING": "ascii"}, {"PYTHONIOENCODING": "cp437"}])
def test_the_process_survives_a_terminal_with_few_characters(settings):
    code = (
        "import click, sys\n"
        "from benchrig.cli import main\n"
        "main.LazyGroup.get_command = lambda *_: click.Command('say', callback=lambda: print('−1 × 30° Ж → µ'))\n"
        "sys.argv[1:] = ['check']\n"
        "main.run()\n"
    )
    environment = {key: value for key, value in os.environ.items() if key not in {"LC_ALL", "LANG", "PYTHONUTF8"}}
    finished = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=False, env={**environment, **settings}
    )
    assert finished.returncode == 0
    assert finished.stderr == b""
    assert b"1 " in finished.stdout


def test_an_ascii_terminal_gets_no_other_byte_from_reports_and_help(captures):
    environment = {key: value for key, value in os.environ.items() if key not in {"LC_ALL", "LANG", "PYTHONUTF8"}}
    code = "from benchrig.cli.main import run; run()"
    for arguments in (
        ["check", "dunlin.toml", "dunlin-ok.toml"],
        ["--help"],
        ["check", "no-such.toml", "no-such.toml"],
    ):
        finished = subprocess.run(
            [sys.executable, "-c", code, *arguments],
            capture_output=True,
            check=False,
            cwd=captures,
            env={**environment, "PYTHONIOENCODING": "ascii"},
        )
        assert (finished.stdout + finished.stderr).isascii(), arguments
        assert finished.stdout + finished.stderr


LONG = "the unit: " + "a word that stays whole " * 8


@pytest.mark.parametrize("columns", [80, 60, 40])
def test_on_a_terminal_what_is_told_breaks_at_words(monkeypatch, capfd, columns):
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    monkeypatch.setattr("os.get_terminal_size", lambda _: os.terminal_size((columns, 24)))
    tell(f"{LONG}\nsecond")
    lines = capfd.readouterr().err.splitlines()
    assert lines[-1] == "second"
    assert max(map(len, lines)) <= columns < len(LONG)
    assert " ".join(" ".join(lines[:-1]).split()) == LONG.strip()


def test_in_a_file_or_a_pipe_what_is_told_stays_one_line(capfd):
    tell(LONG)
    assert capfd.readouterr().err == f"{LONG}\n"


class Halting(io.RawIOBase):
    """Takes five bytes at a time, as a terminal does where signals come in between, and none once it is gone."""

    def __init__(self):
        self.taken, self.is_gone = b"", False

    def writable(self):
        """Be written to."""
        return True

    def write(self, data):
        """Take a part."""
        if self.is_gone:
            raise OSError(5, "Input/output error")
        self.taken += bytes(data[:5])
        return min(len(data), 5)


def test_an_unbuffered_terminal_gets_every_byte_of_what_signals_cut_short():
    raw = Halting()
    stream = io.TextIOWrapper(raw, encoding="utf-8", write_through=True)
    assert is_written(stream, "█▒ −8.2° ██\n")
    assert raw.taken.decode() == "█▒ −8.2° ██\n"
    raw.is_gone = True
    assert not is_written(stream, "more")
