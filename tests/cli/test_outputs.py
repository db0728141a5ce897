"""Files of results: recognised by their heads, written whole or not at all."""

from __future__ import annotations

import os
import stat

import pytest

from benchrig.cli.outputs import MARKS, refuse_foreign, write_whole
from benchrig.errors import UsageError


@pytest.mark.parametrize("option", MARKS)
def test_a_new_name_is_taken(tmp_path, option):
    refuse_foreign(option, tmp_path / "new", force=False)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("option", MARKS)
def test_a_file_with_the_head_of_its_kind_is_its_own(tmp_path, option):
    own = tmp_path / "own"
    own.write_text(f"<head> {MARKS[option]} and more", encoding="utf-8")
    refuse_foreign(option, own, force=False)


@pytest.mark.parametrize("option", MARKS)
@pytest.mark.parametrize("content", [b"", b"another's", b"\xff\xfe\x00\x80 not text", b"x" * 10_000])
def test_any_other_file_is_refused_unless_forced(tmp_path, option, content):
    foreign = tmp_path / "foreign"
    foreign.write_bytes(content)
    with pytest.raises(UsageError, match="exists and was not made by this command; give another name, or --force"):
        refuse_foreign(option, foreign, force=False)
    refuse_foreign(option, foreign, force=True)
    assert foreign.read_bytes() == content


def test_a_report_of_another_kind_is_foreign_too(tmp_path):
    page = tmp_path / "page"
    page.write_text(MARKS["--html"], encoding="utf-8")
    with pytest.raises(UsageError, match="was not made by this command"):
        refuse_foreign("--json", page, force=False)


def test_a_mark_far_down_in_a_file_makes_it_nobodys(tmp_path):
    quoted = tmp_path / "quoted"
    quoted.write_text("x" * 5000 + MARKS["--json"], encoding="utf-8")
    with pytest.raises(UsageError, match="was not made by this command"):
        refuse_foreign("--json", quoted, force=False)


@pytest.mark.parametrize("force", [True, False])
def test_a_folder_is_refused_even_when_forced(tmp_path, force):
    with pytest.raises(UsageError, match="is a folder; expected the name of a file to write; give another name"):
        refuse_foreign("--html", tmp_path, force=force)


def test_a_folder_that_is_missing_is_told_so(tmp_path):
    with pytest.raises(UsageError, match="its folder does not exist"):
        refuse_foreign("--html", tmp_path / "none" / "a.html", force=True)


def test_a_text_is_written_as_it_is_and_readable_by_others(tmp_path):
    target = tmp_path / "a.txt"
    write_whole("--html", target, "−8.2 ± 0.4 m/s²\nend\n")
    assert target.read_bytes() == "−8.2 ± 0.4 m/s²\nend\n".encode()
    assert stat.S_IMODE(target.stat().st_mode) == 0o644
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_failure_leaves_the_old_file_whole_and_no_scraps(tmp_path, monkeypatch):
    target = tmp_path / "a.txt"
    target.write_text("old", encoding="utf-8")

    def full(*_: object, **__: object):
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr("pathlib.Path.replace", full)
    with pytest.raises(UsageError, match="cannot be written: No space left on device; choose a folder"):
        write_whole("--html", target, "new")
    assert target.read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_folder_that_is_gone_is_told_in_words(tmp_path):
    with pytest.raises(UsageError, match=r"--json .*a\.json: cannot be written: No such file or directory"):
        write_whole("--json", tmp_path / "gone" / "a.json", "{}")
