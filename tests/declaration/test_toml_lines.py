"""TOML files: what is no TOML, no text or no file is refused in plain words and at its line."""

from __future__ import annotations

import os

import pytest

from benchrig.declaration.toml_lines import read_toml
from benchrig.errors import CaptureError


@pytest.fixture
def read(tmp_path):
    path = tmp_path / "a.toml"

    def read_bytes(content: bytes | str):
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_toml(path, error=CaptureError, what="manifest")

    return read_bytes


def test_a_place_names_the_nearest_key_above_a_missing_one(read) -> None:
    file = read("[capture]\nstream = 'a'\n[[motion]]\n[[motion]]\nname = 'level'\n")
    assert file.place("capture", "stream") == "a.toml:2"
    assert file.place("capture", "operator") == "a.toml:1"
    assert file.place("motion", 1, "start_s") == "a.toml:4"
    assert file.place("columns") == file.place() == "a.toml"


def test_windows_line_ends_and_a_utf8_mark_change_nothing(read) -> None:
    file = read(b"\xef\xbb\xbf[capture]\r\nstream = 'a'\r\n")
    assert file.data == {"capture": {"stream": "a"}}
    assert file.place("capture", "stream") == "a.toml:2"


FAULTS = [
    ("a = 1\nb = front\n", 2, "no value that TOML knows in ‘b = front’; .* quotation marks"),
    ("a = 1\nb = 0,5\n", 2, "more on this line than one value in ‘b = 0,5’"),
    ("a = 1\na = 2\n", 2, "this key stands twice"),
    ("[a]\n[b]\n[a]\n", 3, r"this table stands twice, or was closed above in ‘\[a\]’"),
    ("\n\na = 'x\n", 3, "a text that is not closed in ‘a = 'x’"),
    ('a = "x\n', 1, "a text that is not closed on its line"),
    ('a = """x\n', 1, "a text that is not closed"),
    ("\na = [1, 2\nb = 3", 3, "a list that is not closed"),
    ("a = { b = 1\n", 1, "a table that is not closed"),
    ('a = "C:\\data"', 1, "a backslash that begins no known escape"),
    ('a = "\\ud800"', 1, "stands for no character"),
    ("a = 2026-02-30", 1, "a date or time that does not exist"),
    ("a = 2026-13-01", 1, "a date that does not exist"),
    ("a = '''x\n", 1, "a text that is not closed"),
    ("my key = 1", 1, "a key without '='"),
    ("[a b]", 1, "name that is not closed"),
    ("= 1", 1, "neither a key nor a"),
    ("a = {}\na.b = 1\n", 2, "a table that is already closed"),
    ("a = { b = 1, b = 2 }", 1, "stands twice between"),
    ("a = 1\n# \x07", 2, "a control character"),
    ("a = 1\nb = " + "9" * 5000, 2, "a number with thousands of digits"),
    ("a = 1\nb = " + "[" * 5000, 2, "nested too deeply"),
    ("a = 1\nb = " + "{x = " * 5000, 2, "nested too deeply"),
    ("a = 1\n" + "k." * 100_000 + "k = 1", 2, "more than 64 names joined by dots"),
    ("a = 1\n[" + "'k' . " * 100_000 + "k]", 2, "more than 64 names joined by dots"),
]


@pytest.mark.parametrize(("text", "line", "words"), FAULTS, ids=[words for _, _, words in FAULTS])
def test_what_is_not_toml_is_refused_at_its_line_in_plain_words(read, text, line, words) -> None:
    with pytest.raises(CaptureError, match=words) as caught:
        read(text)
    (problem,) = caught.value.problems
    assert problem.place == f"a.toml:{line}"
    assert problem.act
    assert len(str(problem)) < 400


@pytest.mark.parametrize(
    ("content", "place", "words"),
    [
        (b"", "a.toml", "the manifest is empty"),
        (b"\xef\xbb\xbf \n\n", "a.toml", "the manifest is empty"),
        ("a = 1".encode("utf-16"), "a.toml", "is UTF-16 text; expected UTF-8 text"),
        (b"a = 1\n\x89\0\0PNG", "a.toml:2", "holds binary data"),
        (b"a = 1\nb = 'caf\xe9'", "a.toml:2", "the byte 0xe9 is not UTF-8"),
    ],
)
def test_what_is_no_text_is_refused(read, content, place, words) -> None:
    with pytest.raises(CaptureError, match=words) as caught:
        read(content)
    assert caught.value.problems[0].place == place


def test_a_large_file_is_refused_by_its_size_without_reading_it(tmp_path) -> None:
    path = tmp_path / "run.bin"
    with path.open("wb") as stream:
        stream.truncate(100_000_000_000)  # a hole: reading it would take minutes
    with pytest.raises(CaptureError, match=r"run\.bin: has 100000\.0 MB; expected a text file of at most 1000 kB"):
        read_toml(path, error=CaptureError, what="manifest")


def test_a_file_of_one_megabyte_is_read(read) -> None:
    assert len(read(b"a = 1\n#" + b"x" * 999_993).data) == 1


def test_a_folder_a_pipe_and_a_missing_file_are_refused(tmp_path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path, words in (
        (tmp_path, "is a folder"),
        (pipe, "is a device or a pipe"),
        (tmp_path / "b.toml", "there is no such manifest in"),
        (pipe / "b.toml", "there is no such manifest in"),
        (tmp_path / "a\0b", "cannot be read: embedded null"),
        (tmp_path / ("n" * 300), "cannot be read: File name too long"),
    ):
        with pytest.raises(CaptureError, match=words):
            read_toml(path, error=CaptureError, what="manifest")


def test_a_file_without_the_right_to_read_it_is_refused_with_the_systems_reason(tmp_path, monkeypatch) -> None:
    # Who runs as root may read everything, so the system's refusal is raised here by hand.
    path = tmp_path / "a.toml"
    path.write_text("a = 1")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(type(path), "open", refuse)
    with pytest.raises(CaptureError, match="the manifest cannot be read: Permission denied; check its path"):
        read_toml(path, error=CaptureError, what="manifest")


def test_a_file_name_with_a_terminal_sequence_is_shown_escaped(tmp_path) -> None:
    with pytest.raises(CaptureError, match=r"^\\u001b\[31mred: there is no such") as caught:
        read_toml(tmp_path / "\x1b[31mred", error=CaptureError, what="manifest")
    assert "\x1b" not in str(caught.value)
