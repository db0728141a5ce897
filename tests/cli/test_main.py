"""The door: every way a command can end gives its own status and its own words, and none gives a traceback."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import click
import pytest

from benchrig import __version__
from benchrig.cli import main
from benchrig.cli.lazy import Entry, LazyGroup
from benchrig.errors import AirframeFileError, CaptureError, Problem, UsageError

COMMANDS = [
    *("check", "record", "measure", "sheet", "rejudge", "compare", "book", "describe", "export", "simulate", "demo")
]


def ends_with(monkeypatch, body):
    """Run a command line whose one command does `body`."""
    group = LazyGroup("benchrig", {"act": Entry("acting:act", "Act.")}, help="", epilog="")
    command = click.Command("act", callback=body)
    monkeypatch.setattr(LazyGroup, "get_command", lambda *_: command)
    monkeypatch.setattr(main, "benchrig", group)
    return main.exit_status(["act"])


def raising(error):
    def body():
        raise error

    return body


def process(*arguments, **options):
    call = "from benchrig.cli.main import run; run()"
    return subprocess.run([sys.executable, "-c", call, *arguments], capture_output=True, check=False, **options)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_listed_command_exists_and_explains_itself(name):
    context = click.Context(main.benchrig)
    assert main.benchrig.list_commands(context) == COMMANDS
    assert main.benchrig.get_command(context, name).help


def test_help_lists_every_command_with_its_line_and_every_exit_status():
    shown = process("--help", text=True).stdout
    for name, entry in main.COMMANDS.items():
        assert re.search(rf"^ +{name} +{re.escape(entry.line[:40])}", shown, re.MULTILINE)
    for status, meaning in {0: "pass", 1: "fail", 3: "not shown", 70: "a fault of the program"}.items():
        assert re.search(rf"{status} +{meaning}", shown)


def test_version_is_the_packages_own():
    assert process("--version", text=True).stdout == f"benchrig {__version__}\n"


@pytest.mark.parametrize(("returned", "status"), [(None, 0), (0, 0), (1, 1), (3, 3)])
def test_what_a_command_returns_is_the_exit_status(monkeypatch, returned, status):
    assert ends_with(monkeypatch, lambda: returned) == status


@pytest.mark.parametrize(("kind", "status"), [(UsageError, 2), (AirframeFileError, 4), (CaptureError, 5)])
def test_an_error_that_a_person_can_mend_is_told_in_its_own_words_with_its_own_status(
    monkeypatch, capsys, kind, status
):
    error = kind(Problem("dunlin.toml:12", "reads nothing", "a word"), Problem("dunlin.toml:14", "reads less"))
    assert ends_with(monkeypatch, raising(error)) == status
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err == "dunlin.toml:12: reads nothing; expected a word\ndunlin.toml:14: reads less\n"


def test_a_mistyped_command_is_a_wrong_usage_that_names_the_one_meant():
    finished = process("chekc", text=True)
    assert finished.returncode == 2
    assert 'no command is named "chekc"; did you mean check?' in finished.stderr


def test_a_name_like_no_command_gets_the_list_of_them():
    finished = process("zzzzzz", text=True)
    assert finished.returncode == 2
    assert f"the commands are {', '.join(COMMANDS)}" in finished.stderr


def test_an_unknown_option_is_a_wrong_usage():
    finished = process("--helf", text=True)
    assert finished.returncode == 2
    assert "--help" in finished.stderr


def test_a_file_error_of_the_command_line_library_is_a_wrong_usage_and_not_a_fail(monkeypatch, capsys):
    assert ends_with(monkeypatch, raising(click.FileError("run.csv", "cannot be opened"))) == 2
    assert "run.csv" in capsys.readouterr().err


@pytest.mark.parametrize("error", [KeyboardInterrupt(), EOFError(), click.Abort()])
def test_a_stop_by_the_user_is_one_line(monkeypatch, capsys, error):
    assert ends_with(monkeypatch, raising(error)) == 130
    assert capsys.readouterr().err.split("\n") == ["", "Stopped; no verdict stands.", ""]


def test_a_real_interrupt_of_the_process_ends_it_with_130_and_no_traceback():
    code = (
        "import sys, time, click\n"
        "from benchrig.cli import main\n"
        "@click.command()\n"
        "def wait():\n"
        "    print('waiting', flush=True)\n"
        "    time.sleep(60)\n"
        "main.LazyGroup.get_command = lambda *_: wait\n"
        "sys.argv[1:] = ['check']\n"
        "main.run()\n"
    )
    pipe = subprocess.PIPE
    with subprocess.Popen([sys.executable, "-c", code], stdout=pipe, stderr=pipe, text=True) as running:
        assert running.stdout.readline() == "waiting\n"
        running.send_signal(signal.SIGINT)
        _, err = running.communicate(timeout=30)
    assert running.returncode == 130
    assert err == "\nStopped; no verdict stands.\n"


def test_a_fault_is_one_sentence_and_its_details_lie_in_a_file(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert ends_with(monkeypatch, raising(ZeroDivisionError("float division\nby zero"))) == 70
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "Traceback" not in err
    assert "stopped by a fault of the program, so no verdict stands (ZeroDivisionError: float division)" in err
    details = Path(re.search(r"the details are in (\S+\.txt);", err)[1])
    assert details.parent == tmp_path
    text = details.read_text(encoding="utf-8")
    assert "called as: benchrig act" in text
    assert "Traceback (most recent call last)" in text
    assert "ZeroDivisionError" in text


def test_a_fault_whose_details_cannot_be_written_is_told_all_the_same(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "missing"))
    assert ends_with(monkeypatch, raising(ValueError("odd"))) == 70
    assert "(ValueError: odd); and the details could not be written either" in capsys.readouterr().err


def test_what_the_system_refuses_is_not_called_a_fault_of_the_program(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert ends_with(monkeypatch, raising(OSError(28, "No space left on device"))) == 70
    err = capsys.readouterr().err
    assert "because the system refused something" in err
    assert "No space left on device" in err


def test_a_reader_that_goes_away_ends_the_program_quietly_and_never_with_a_pass():
    read, write = os.pipe()
    os.close(read)
    try:
        finished = subprocess.run(
            [sys.executable, "-c", "from benchrig.cli.main import run; run()", "--help"],
            stdout=write,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    finally:
        os.close(write)
    assert finished.returncode == 141
    assert finished.stderr == ""


def test_completion_for_a_shell_is_offered():
    finished = process(text=True, env={**os.environ, "_BENCHRIG_COMPLETE": "zsh_source"})
    assert finished.returncode == 0
    assert "_BENCHRIG_COMPLETE=zsh_complete benchrig" in finished.stdout


def test_a_table_entry_that_is_no_command_is_refused():
    group = LazyGroup("g", {"odd": Entry("math:pi", "Odd.")}, help="", epilog="")
    with pytest.raises(TypeError, match="math:pi is not a click command but float"):
        group.get_command(click.Context(group), "odd")
