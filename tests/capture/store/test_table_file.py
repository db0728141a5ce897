"""Every number that is written as text or Parquet reads back to the last bit, under a name that does no harm."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.capture.columnar import read_parquet
from benchrig.capture.store.table_file import text_names, write_columns
from benchrig.capture.text import read_text
from benchrig.errors import StoreError

FINITE = st.floats(allow_nan=True, allow_infinity=False, width=64)
TRICKY = [0.0, -0.0, 5e-324, 1.7976931348623157e308, 0.1 + 0.2, 1 / 3, 1e22, 123456789012345678.0, np.nan, -2.5e-7]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("columns")


def read_back(path, names):
    read = read_text if path.suffix == ".csv" else read_parquet
    return read(path.name, path.read_bytes(), names).columns


@pytest.mark.parametrize("ending", [".csv", ".parquet"])
@settings(max_examples=50, deadline=None)  # files are written, and a disk may be busy
@given(rows=st.lists(st.tuples(FINITE, FINITE), min_size=1, max_size=20))
def test_numbers_read_back_to_the_last_bit(ending, rows, folder):
    path = folder / f"a{ending}"
    a, b = np.array(rows).T
    write_columns(path, {"t": np.arange(len(rows)) / 3, "a": a, "b": b})
    back = read_back(path, ["t", "a", "b"])
    for name, values in (("a", a), ("b", b)):
        there = ~np.isnan(values)
        assert np.array_equal(there, ~np.isnan(back[name]))
        assert back[name][there].tobytes() == values[there].tobytes()
    assert np.array_equal(back["t"], np.arange(len(rows)) / 3)


@pytest.mark.parametrize("ending", [".csv", ".parquet"])
def test_the_hardest_numbers_read_back_to_the_last_bit(ending, folder):
    path = folder / f"hard{ending}"
    write_columns(path, {"a": np.array(TRICKY), "b": np.ones(len(TRICKY))})
    back = read_back(path, ["a"])["a"]
    assert np.array_equal(back, TRICKY, equal_nan=True)
    assert np.array_equal(np.signbit(back[:2]), [False, True])


def test_more_rows_than_are_held_at_one_time_come_out_in_order(folder):
    rows = np.arange(150_000) / 7
    write_columns(folder / "long.csv", {"a": rows, "b": -rows})
    back = read_back(folder / "long.csv", ["a", "b"])
    assert np.array_equal(back["a"], rows)
    assert np.array_equal(back["b"], -rows)


@settings(max_examples=50, deadline=None)  # as above
@given(names=st.lists(st.text(max_size=6), min_size=2, max_size=5))
def test_a_line_of_text_holds_any_name_and_begins_no_formula(names, folder):
    new = text_names(names)
    assert len(set(new)) == len(names)
    assert all(name[0] not in "=+-@\t" for name in new)
    write_columns(folder / "names.csv", {name: np.arange(3) + index for index, name in enumerate(new)})
    back = read_back(folder / "names.csv", new)
    assert [list(back[name]) for name in new] == [[index, index + 1, index + 2] for index in range(len(new))]


def test_plain_names_stay_as_they_are():
    assert text_names(["bench_time_s", "gx (deg/s)", "vorn°"]) == ("bench_time_s", "gx (deg/s)", "vorn°")


def test_a_full_disk_is_told_and_leaves_nothing_behind(tmp_path, files_of_at_most):
    with files_of_at_most(2000), pytest.raises(StoreError, match=r"a.csv: cannot be written: file too large"):
        write_columns(tmp_path / "a.csv", {"a": np.random.default_rng(1).normal(size=1000)})
    assert list(tmp_path.iterdir()) == []
