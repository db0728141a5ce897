"""The page about device files says what the program knows, and its examples are read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from benchrig.capture.device.checksums import CHECKS
from benchrig.capture.device.device_file import RESERVED, read_device
from benchrig.capture.device.device_layout import LARGEST_FRAME, LONGEST_SYNC
from benchrig.capture.device.form import USUAL_BAUD, CounterTable, DeviceTable, FramesTable, LinesTable
from benchrig.capture.device.layout import SEPARATORS, TYPES
from benchrig.capture.device.lines import LONGEST_LINE

PAGE = (Path(__file__).parents[3] / "docs" / "reference" / "device-file.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


def section(name: str) -> str:
    return PAGE.partition(f"## `[{name}]`")[2].partition("\n## ")[0]


def first_cells(name: str) -> list[str]:
    return re.findall(r"^\| `([\w/-]+)` \|", section(name), re.MULTILINE)


@pytest.mark.parametrize("example", EXAMPLES, ids=["frames", "lines"])
def test_every_example_is_a_device_file(example, tmp_path):
    path = tmp_path / "unit.toml"
    path.write_text(example, encoding="utf-8")
    device = read_device(path)
    assert {"gx", "gy", "gz"} <= set(device.columns)


@pytest.mark.parametrize(
    ("name", "form"),
    [("device", DeviceTable), ("lines", LinesTable), ("frames", FramesTable), ("counter", CounterTable)],
)
def test_every_key_is_listed(name, form):
    assert set(form.model_fields) <= set(first_cells(name))


def test_every_word_is_listed():
    assert set(re.findall(r"`(\w+)`", section("frames").partition("Types are")[2].partition(":")[0])) == set(TYPES)
    listed = dict(re.findall(r"^\| `(\S+)` \| (\d) \| ", section("frames"), re.MULTILINE))
    assert {name: int(width) for name, width in listed.items()} == {name: check.width for name, check in CHECKS.items()}
    assert all(f"`{word}`" in section("lines") for word in (*SEPARATORS, "xor"))
    assert all(f"`{name}`" in section("columns") for name in RESERVED)


def test_the_published_check_values_are_those_of_the_program():
    for name, value in re.findall(r"^\| `(\S+)` \| \d \| ([0-9A-F]+) \|", section("frames"), re.MULTILINE):
        assert CHECKS[name].of(b"123456789") == int(value, 16)


def test_the_limits_are_those_of_the_program():
    assert f"at most {LARGEST_FRAME} bytes" in section("frames")
    assert f"at most {LONGEST_LINE} bytes" in section("lines")
    assert f"{USUAL_BAUD} where it is left out" in section("device")
    assert LONGEST_SYNC == 8
    assert "one to eight" in section("frames")
