"""What lies under a name is told, and stays unless it may go; a declaration stays whatever is told."""

import pytest

from benchrig.capture.store.mark import STORE_KEY
from benchrig.capture.store.taken import refuse_to_replace
from benchrig.errors import UsageError


@pytest.mark.parametrize("force", [False, True])
@pytest.mark.parametrize(
    ("content", "kind"),
    [
        ("[airframe]\n", "an airframe file"),
        ("[device]\n", "a device file"),
        ("[reference]\n", "a worksheet of hangs and weighings"),
        ("# Written by `benchrig record`\n[airframe]\n", "an airframe file"),
    ],
)
def test_a_declaration_stays_and_is_named(tmp_path, content, kind, force):
    (tmp_path / "bench.toml").write_text(content)
    with pytest.raises(UsageError, match=f"bench.toml: is already there, and is {kind}; .*; choose another name$"):
        refuse_to_replace(tmp_path / "bench.toml", force=force)


@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [
        ("bench.toml", "[capture]\n", "the manifest of a capture"),
        ("bench.toml", "no table", "a file of another program"),
        ("bench.arrow", "ARROW1", "the stream of a capture"),
        ("bench.arrow.end.json", "{}", "the end of a recording"),
        ("bench", STORE_KEY, "a recording"),
    ],
)
def test_anything_else_stays_unless_it_may_be_replaced(tmp_path, name, content, kind):
    (tmp_path / name).write_text(content)
    with pytest.raises(UsageError, match=f"{name}: is already there, and is {kind}; .*, or replace it with --force"):
        refuse_to_replace(tmp_path / name, force=False)
    refuse_to_replace(tmp_path / name, force=True)
    refuse_to_replace(tmp_path / "free", force=False)
