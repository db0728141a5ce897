"""A manifest is whole at every moment, and nobody else's file is ever replaced."""

import tomllib

import pytest
import tomlkit

from benchrig.capture.store.manifest_file import write_manifest
from benchrig.errors import StoreError, UsageError


@pytest.fixture
def path(tmp_path):
    return tmp_path / "bench.toml"


def test_a_manifest_is_written_again_and_again_by_who_made_it(path):
    document = tomlkit.parse('# kept\n[capture]\nstream = "bench.arrow"\n')
    before = write_manifest(path, document)
    document["capture"]["operator"] = "R. Vane"
    write_manifest(path, document, before=before)
    assert path.read_text().startswith("# kept\n")
    assert tomllib.loads(path.read_text()) == {"capture": {"stream": "bench.arrow", "operator": "R. Vane"}}
    assert [each.name for each in path.parent.iterdir()] == ["bench.toml"]


def test_a_manifest_that_was_there_is_left_alone_unless_forced(path):
    earlier = "# Written by `benchrig record`, anew\n[capture]\n"
    path.write_text(earlier)
    with pytest.raises(
        UsageError,
        match=r"bench.toml: is already there, and is the manifest of a capture; .* with --force",
    ):
        write_manifest(path, {"capture": {}})
    assert path.read_text() == earlier
    write_manifest(path, {"capture": {}}, force=True)
    assert path.read_text() == "[capture]\n"


def test_an_airframe_file_is_left_alone_even_if_forced(path):
    path.write_text("[airframe]\n")
    with pytest.raises(UsageError, match=r"is already there, and is an airframe file; .*--force never"):
        write_manifest(path, {"capture": {}}, force=True)
    assert path.read_text() == "[airframe]\n"


def test_a_manifest_that_was_edited_meanwhile_is_left_alone(path):
    before = write_manifest(path, {"capture": {"stream": "bench.arrow"}})
    path.write_text("edited")
    with pytest.raises(StoreError, match="was changed by another program while this one was recording"):
        write_manifest(path, {"capture": {"stream": "bench.arrow"}}, before=before)
    assert path.read_text() == "edited"


def test_a_manifest_that_was_removed_meanwhile_is_written_again(path):
    before = write_manifest(path, {"capture": {"stream": "bench.arrow"}})
    path.unlink()
    assert write_manifest(path, {"capture": {"stream": "bench.arrow"}}, before=before) == before
    assert path.is_file()


def test_a_manifest_in_a_folder_that_is_not_there_is_refused_in_a_sentence(tmp_path):
    with pytest.raises(StoreError, match=r"nowhere/bench.toml: cannot be written: no such file or directory"):
        write_manifest(tmp_path / "nowhere" / "bench.toml", {})
