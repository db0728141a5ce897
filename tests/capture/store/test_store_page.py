"""The page of the store says what the code writes."""

import json
import re
from pathlib import Path

import pyarrow as pa

from benchrig.capture.store.mark import MARK, Mark

PAGE = (Path(__file__).resolve().parents[3] / "docs" / "reference" / "store.md").read_text(encoding="utf-8")


def keys_under(heading):
    """Give the code words in the first cells of the tables of a section, in order."""
    section = PAGE.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]
    return [
        word for cell in re.findall(r"^\| (`.*?) \|", section, re.MULTILINE) for word in re.findall("`(.*?)`", cell)
    ]


def test_the_page_lists_the_keys_of_head_and_end_file(bench):
    metadata = pa.ipc.open_stream(pa.BufferReader(bench.data)).schema.metadata
    assert keys_under("The stream") == ["bench_time_s", "bench_arrival_s", *(key.decode() for key in metadata)]
    assert keys_under("The end file") == list(json.loads(bench.end))


def test_the_mark_on_the_page_is_one():
    shown = re.search(r"```text\n(.*?)\n```", PAGE)[1]
    assert MARK.fullmatch(shown.encode())
    assert shown.startswith(Mark(22, 6, 240, 9, 0, 0).text.rpartition(" ")[0])
