"""Told to, a command replaces what it wrote itself and nothing else, and says what is in the way."""

import pytest

from benchrig.capture.store.ending import ending_path
from benchrig.capture.store.mark import STORE_KEY
from benchrig.capture.store.taken import is_exported, is_recorded, refuse_to_replace
from benchrig.errors import UsageError


@pytest.mark.parametrize("force", [False, True])
@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [
        ("bench.toml", "[airframe]\n", "an airframe file"),
        ("bench.toml", "[device]\n", "a device file"),
        ("bench.toml", "[reference]\n", "a worksheet of hangs and weighings"),
        ("bench.toml", "# Simulated by `benchrig simulate`\n[capture]\n", "the manifest of a capture"),
        ("bench.toml", "# Written by `benchrig record`\n[airframe]\n", "an airframe file"),
        (
            "bench.toml",
            "# Exported by `benchrig export` from a\n# Written by `benchrig record`\n[capture]\n",
            "the man",
        ),
        ("bench.toml", "no table", "a file of another program"),
        ("bench.arrow", "ARROW1", "the stream of a capture"),
        ("bench.arrow.end.json", "{}", "a file of another program"),
        ("bench", STORE_KEY, "a recording"),
    ],
)
def test_what_record_did_not_write_stays_and_is_named(tmp_path, name, content, kind, force):
    (tmp_path / name).write_text(content)
    with pytest.raises(UsageError, match=f"{name}: is already there, and is {kind}.*even by --force; choose another"):
        refuse_to_replace(tmp_path / name, force=force)


def test_what_record_wrote_is_known_and_replaced_where_that_is_asked(new_store, tmp_path):
    writer, _ = new_store()
    writer.close()
    manifest = tmp_path / "bench.toml"
    manifest.write_text("# Written by `benchrig record`, anew after each motion\n[capture]\n")
    for path in (writer.path, ending_path(writer.path), manifest):
        assert is_recorded(path)
        refuse_to_replace(path, force=True)
        with pytest.raises(UsageError, match="an earlier recording; choose another name, or replace it with --force"):
            refuse_to_replace(path, force=False)


def test_a_store_that_broke_off_before_its_first_byte_is_no_loss(tmp_path):
    (tmp_path / "bench.arrow").touch()
    refuse_to_replace(tmp_path / "bench.arrow", force=True)


def test_an_exported_stream_is_known_by_the_manifest_beside_it(tmp_path):
    for name in ("bench.csv", "bench-pulses.csv", "other.csv"):
        (tmp_path / name).touch()
    manifest = tmp_path / "bench.toml"
    manifest.write_text('[capture]\nstream = "bench.csv"\n')
    assert not is_exported(tmp_path / "bench.csv")
    manifest.write_text(
        '# Exported by `benchrig export` from a\n[capture]\nstream = "bench.csv"\n[pulses]\nstream = "bench-pulses.csv"'
    )
    assert [is_exported(tmp_path / name) for name in ("bench.csv", "bench-pulses.csv", "other.csv")] == [True, True, 0]
