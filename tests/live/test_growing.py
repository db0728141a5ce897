"""Rows that grow in memory: a table given once never changes."""

import numpy as np
import pytest

from benchrig.live.growing import CHUNK, Growing


def test_a_table_holds_all_rows_so_far_and_keeps_them_while_more_come():
    growing = Growing("x.arrow", ("t", "gx"))
    rng = np.random.default_rng(1)
    rows = rng.normal(size=(20_000, 2))
    tables, at = [], 0
    while at < len(rows):
        count = int(rng.integers(0, 900))
        growing.add(rows[at : at + count])
        at = min(at + count, len(rows))
        tables.append((at, growing.so_far()))
    for count, so_far in tables:
        table = so_far()
        assert len(table) == count
        np.testing.assert_array_equal(table.columns["gx"], rows[:count, 1])
        assert not table.columns["gx"].flags.writeable
    assert len(growing) == len(rows)


def test_a_batch_larger_than_all_before_fits():
    growing = Growing("x.arrow", ("t",))
    growing.add(np.zeros((1, 1)))
    growing.add(np.ones((100_000, 1)))
    assert growing.so_far()().columns["t"].sum() == 100_000


@pytest.mark.parametrize("count", [0, 1, CHUNK - 1, CHUNK, CHUNK + 1, 3 * CHUNK])
def test_rows_at_the_edge_of_a_chunk_are_all_there(count):
    growing = Growing("x.arrow", ("t",))
    growing.add(np.arange(count, dtype=float)[:, None])
    np.testing.assert_array_equal(growing.so_far()().columns["t"], np.arange(count))


def test_no_row_is_moved_once_it_is_laid_by():
    """Rows moved into ever larger places cost one step of a long session more than a person may wait for a word."""
    growing = Growing("x.arrow", ("t",))
    growing.add(np.zeros((CHUNK, 1)))
    places = []
    for _ in range(20):
        growing.add(np.zeros((CHUNK, 1)))
        places.append(growing._chunks[0].__array_interface__["data"][0])  # noqa: SLF001 - where it lies is the point
    assert len(set(places)) == 1
