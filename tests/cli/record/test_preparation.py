"""Whatever would fail or do harm later is refused before the unit gets power."""

import os
import shutil
from pathlib import Path

import pytest

from benchrig.cli.record.preparation import ROOM, Target, prepare
from benchrig.cli.record.wish import Wish
from benchrig.errors import StoreError, UsageError

NONE = {"--html": None, "--json": None, "--junit": None}


def test_a_recording_has_a_manifest_a_stream_and_its_end(tmp_path):
    names = [file.name for file in Target(tmp_path / "bench").files]
    assert names == ["bench.toml", "bench.arrow", "bench.arrow.end.json"]
    names = [file.name for file in Target(tmp_path / "v1.2", has_pulses=True).files]
    assert names[0] == "v1.2.toml"
    assert names[3:] == ["v1.2-pulses.arrow", "v1.2-pulses.arrow.end.json"]


@pytest.mark.parametrize("given", ["bench", "bench.toml", "bench.arrow"])
def test_a_name_may_carry_the_ending_of_one_of_its_files(tmp_path, given):
    assert Wish(airframe=Path("a.toml"), out=tmp_path / given).name == tmp_path / "bench"


def test_a_free_name_in_a_folder_with_room_is_taken(tmp_path):
    prepare(Target(tmp_path / "bench"), [], NONE, force=False)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("file", ["bench.toml", "bench.arrow", "bench.arrow.end.json"])
def test_a_file_of_others_is_written_over_only_where_that_is_told(tmp_path, file):
    (tmp_path / file).write_text("somebody's")
    with pytest.raises(UsageError, match=r"is already there, and is .*choose another name, or replace it with --force"):
        prepare(Target(tmp_path / "bench"), [], NONE, force=False)
    prepare(Target(tmp_path / "bench"), [], NONE, force=True)
    assert (tmp_path / file).read_text() == "somebody's"


@pytest.mark.parametrize("force", [False, True])
def test_no_declaration_is_written_over_whatever_is_told(tmp_path, force):
    (tmp_path / "bench.toml").write_text("[airframe]")
    with pytest.raises(UsageError, match=r"bench\.toml: is already there, and is an airframe file; "):
        prepare(Target(tmp_path / "bench"), [], NONE, force=force)


@pytest.mark.parametrize("force", [False, True])
def test_what_is_read_is_never_written_over(tmp_path, force):
    airframe = tmp_path / "dunlin.toml"
    airframe.write_text("[airframe]")
    (tmp_path / "link").symlink_to(tmp_path)
    with pytest.raises(UsageError, match=r"would write over .*dunlin.toml, which this recording reads"):
        prepare(Target(tmp_path / "." / "link" / "dunlin"), [airframe], NONE, force=force)


def test_a_report_cannot_have_the_name_of_the_recording(tmp_path):
    reports = {**NONE, "--json": tmp_path / "bench.toml"}
    with pytest.raises(UsageError, match="is also the target of --out"):
        prepare(Target(tmp_path / "bench"), [], reports, force=False)


def test_a_report_takes_no_foreign_file(tmp_path):
    (tmp_path / "page.html").write_text("somebody's page")
    with pytest.raises(UsageError, match="was not made by this command"):
        prepare(Target(tmp_path / "bench"), [], {**NONE, "--html": tmp_path / "page.html"}, force=False)


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(StoreError, match=r"its folder .*absent is not there; make the folder first"):
        prepare(Target(tmp_path / "absent" / "bench"), [], NONE, force=False)


def test_a_folder_without_rights_is_named(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "access", lambda *_: False)  # root may write anywhere: the answer is what is tested
    with pytest.raises(StoreError, match=r"nothing may be written in .*; name a folder that you may write to"):
        prepare(Target(tmp_path / "bench"), [], NONE, force=False)


def test_a_disk_without_room_is_refused_with_what_is_free(tmp_path, monkeypatch):
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=ROOM - 2**20))
    with pytest.raises(StoreError, match="only 63 MiB are free on its disk; expected 64 MiB"):
        prepare(Target(tmp_path / "bench"), [], NONE, force=False)


def test_a_recording_needs_a_name(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UsageError, match="is no name"):
        prepare(Target(Path()), [], NONE, force=False)
