"""The tutorial and the README show what the program does: their own files and commands, run as they stand."""

import io
import re
import shlex
from contextlib import redirect_stdout
from pathlib import Path

import pytest

from benchrig.cli.main import exit_status

TOP = Path(__file__).parent.parent
PAGE = (TOP / "docs" / "tutorial.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    """Run every command of the page; give status and output by command."""
    folder = tmp_path_factory.mktemp("tutorial")
    declared = re.search(r"```toml\n(.*?)```", PAGE, re.DOTALL)[1]
    (folder / "dunlin.toml").write_text(declared, encoding="utf-8")
    commands = [
        line
        for block in re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL)
        for line in block.splitlines()
        if line.startswith("benchrig ")
    ]
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for command in commands:
            with redirect_stdout(io.StringIO()) as output:
                status = exit_status(shlex.split(command)[1:])
            found[command] = (status, output.getvalue())
    return found


def test_the_page_simulates_and_checks_twice(results):
    assert [command.split()[1] for command in results] == ["simulate", "check", "simulate", "check"]


def test_the_practice_capture_fails_with_the_words_on_the_page(results):
    status, output = next(result for command, result in results.items() if "check dunlin.toml practice.toml" in command)
    shown = re.search(r"```text\n(.*?)```", PAGE, re.DOTALL)[1]
    assert status == 1
    assert shown in output


def test_the_mended_capture_passes(results):
    status, output = results["benchrig check dunlin.toml mended.toml"]
    assert status == 0
    assert "PASS" in output


def test_the_readme_shows_the_report_that_the_program_prints(monkeypatch, capsys):
    monkeypatch.chdir(TOP)
    monkeypatch.setenv("COLUMNS", "80")
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    command = re.search(r"`(benchrig check captures/.*?)` prints", readme)[1]
    shown = re.search(r"prints:\n\n```text\n(.*?)```", readme, re.DOTALL)[1]
    assert exit_status(shlex.split(command)[1:]) == 1

    def words(report):
        # Numbers may differ in the last digit from one processor to the next.
        return re.sub(r"[\d.]+", "0", " ".join(report.split()))

    assert words(capsys.readouterr().out) == words(shown)


def test_the_demo_of_the_readme_judges_every_demo_capture(capsys):
    assert exit_status(["demo"]) == 0
    printed = capsys.readouterr()
    for capture in TOP.glob("captures/*.truth.toml"):
        assert f"{capture.name.removesuffix('.truth.toml')}.toml" in printed.out
    assert printed.out.count("PASS") == 1
    assert printed.out.count("FAIL") >= 3
    assert "fault" not in printed.err
