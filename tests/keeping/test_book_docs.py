"""The pages on the bench book say what it does."""

import json
import re
import shlex
import shutil
from pathlib import Path
from typing import get_args

import pytest
from benches import CAPTURES, result

from benchrig.cli.main import exit_status
from benchrig.keeping.book_adding import add_files
from benchrig.keeping.book_due import Code
from benchrig.keeping.moved import Weight

DOCS = Path(__file__).resolve().parents[2] / "docs"
REFERENCE = (DOCS / "reference" / "book.md").read_text(encoding="utf-8")
HOW_TO = (DOCS / "how-to" / "keep-the-bench-book.md").read_text(encoding="utf-8")


def test_every_command_of_the_page_runs_with_a_status_that_it_names(tmp_path, monkeypatch, capsys):
    for name in ("dunlin.toml", "dunlin-ok.toml", "dunlin-ok.csv"):
        shutil.copy(CAPTURES / name, tmp_path)
    result(tmp_path / "results" / "march.json", "2026-03-01", file=tmp_path / "dunlin.toml")
    monkeypatch.chdir(tmp_path)
    commands = [line for block in re.findall(r"```sh\n(.*?)```", HOW_TO, re.DOTALL) for line in block.splitlines()]
    assert len(commands) == 8
    statuses = [exit_status(shlex.split(command)[1:]) for command in commands]
    assert statuses == [0, 0, 0, 0, 0, 3, 3, 0], capsys.readouterr().err


def test_the_reference_lists_every_code_every_word_and_every_key(tmp_path, capsys):
    listed = re.findall(r"`([^`]+)`", REFERENCE)
    assert set(get_args(Code)) <= set(listed)
    assert {weight.value for weight in Weight} <= set(listed)
    result(tmp_path / "a.json", "2026-03-01")
    result(tmp_path / "b.json", "2026-04-01")
    add_files(tmp_path, [tmp_path])
    exit_status(["book", "show", "Dunlin 450", "--book", str(tmp_path), "--json", "-"])
    (airframe,) = json.loads(capsys.readouterr().out)["airframes"]
    keys = {*airframe, *airframe["benches"][0], *airframe["figures"][0], *airframe["figures"][0]["points"][0]}
    assert keys <= {word.removeprefix("….") for word in listed}


@pytest.mark.parametrize("word", ["o", "-", "|"])
def test_the_page_explains_what_a_strip_is_drawn_with(word):
    assert f"`{word}`" in HOW_TO
