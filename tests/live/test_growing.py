"""Rows that grow in memory: a table given once never changes."""

import numpy as np

from benchrig.live.growing import Growing


def test_a_table_holds_all_rows_so_far_and_keeps_them_while_more_come():
    growing = Growing("x.arrow", ("t", "gx"))
    rng = np.random.default_rng(1)
    rows = rng.normal(size=(20_000, 2))
    tables, at = [], 0
    while at < len(rows):
        count = int(rng.integers(0, 900))
        growing.add(rows[at : at + count])
        at = min(at + count, len(rows))
        tables.append((at, growing.table()))
    for count, table in tables:
        assert len(table) == count
        np.testing.assert_array_equal(table.columns["gx"], rows[:count, 1])
        assert not table.columns["gx"].flags.writeable
    assert len(growing) == len(rows)


def test_a_batch_larger_than_all_before_fits():
    growing = Growing("x.arrow", ("t",))
    growing.add(np.zeros((1, 1)))
    growing.add(np.ones((100_000, 1)))
    assert growing.table().columns["t"].sum() == 100_000
