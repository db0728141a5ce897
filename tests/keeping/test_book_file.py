"""The book keeps what was entered, refuses what is spoilt, and can always be made anew."""

import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from benches import record, result

from benchrig.errors import BenchrigError, StoreError, UsageError
from benchrig.keeping.book_adding import add_files, enter_change, enter_record, refuse_unfit
from benchrig.keeping.book_entry import BenchEntry, ChangeEntry
from benchrig.keeping.book_file import BOOK, RESULTS, enter, not_entered, read_book

COUNT = int(os.environ.get("BENCHRIG_COUNT", "150"))


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    """Give a book of four benches of two airframes and one change."""
    folder = tmp_path_factory.mktemp("book")
    outside = tmp_path_factory.mktemp("outside")
    for day, verdict, name in (
        ("2026-03-01", "pass", None),
        ("2026-03-09", "fail", None),
        ("2026-04-02", "pass", None),
        ("2026-02-01", "pass", "Knot"),
    ):
        result(outside / f"{day}.json", day, verdict=verdict, airframe=name)
    add_files(folder, [outside])
    enter_change(folder, "Dunlin 450", "tail servo repaired", datetime(2026, 3, 20, tzinfo=UTC))
    return folder


def test_benches_and_changes_come_back_in_the_order_of_time(filled):
    entries = read_book(filled)
    told = [(e.airframe, f"{e.when:%m-%d}", e.verdict if isinstance(e, BenchEntry) else e.what) for e in entries]
    assert told == [
        ("Knot", "02-01", "pass"),
        ("Dunlin 450", "03-01", "pass"),
        ("Dunlin 450", "03-09", "fail"),
        ("Dunlin 450", "03-20", "tail servo repaired"),
        ("Dunlin 450", "04-02", "pass"),
    ]
    first = entries[1]
    assert first.declaration["sensor"]["axes"]["x"] == "aft"
    assert {"gyro bias", "latency"} <= {figure.kind for figure in first.figures}
    assert first.operator == "R. Vane"
    assert (filled / first.result_file).is_file()


def test_a_book_made_anew_from_its_results_says_the_same(filled, tmp_path):
    shutil.copytree(filled / RESULTS, tmp_path / RESULTS)
    added = add_files(tmp_path, [tmp_path])
    assert (len(added.new), added.known, added.refused, added.other) == (5, 0, (), 0)
    again = read_book(tmp_path)
    assert [(e.seal, e.when) for e in again] == [(e.seal, e.when) for e in read_book(filled)]


def test_adding_twice_adds_nothing(filled, tmp_path):
    shutil.copytree(filled, tmp_path / "book")
    added = add_files(tmp_path / "book", [tmp_path / "book"])
    assert (added.new, added.known) == ((), 5)
    assert len(list((tmp_path / "book" / RESULTS).iterdir())) == 5


def test_a_bench_that_was_just_judged_keeps_a_file_of_its_own(tmp_path):
    entry = enter_record(tmp_path, record())
    assert read_book(tmp_path) == (entry,)
    (kept,) = (tmp_path / RESULTS).iterdir()
    assert entry.result_file == f"{RESULTS}/{kept.name}"
    (tmp_path / BOOK).unlink()
    assert add_files(tmp_path, [kept]).new[0].seal == entry.seal


def test_a_book_made_anew_forgets_no_bench_whose_own_result_was_replaced_since(tmp_path):
    for day, verdict in (("2026-03-01", "pass"), ("2026-03-09", "fail")):
        add_files(tmp_path, [result(tmp_path / "last.json", day, verdict=verdict)])
    (tmp_path / BOOK).unlink()
    add_files(tmp_path, [tmp_path / RESULTS])
    assert [entry.verdict for entry in read_book(tmp_path)] == ["pass", "fail"]


def test_a_result_whose_file_got_another_date_is_not_kept_twice(tmp_path):
    path = result(tmp_path / "a.json", "2026-03-05", judged="2026-03-01T10:00:00+00:00")
    add_files(tmp_path, [path])
    os.utime(path, (1e9, 1e9))
    added = add_files(tmp_path, [path])
    assert (added.new, added.known) == ((), 1)
    assert not_entered(tmp_path, read_book(tmp_path)) == 0


@pytest.mark.parametrize("make", [os.mkdir, os.mkfifo])
def test_what_is_no_file_in_the_books_place_is_refused_at_once(tmp_path, make):
    make(tmp_path / BOOK)
    for use in (read_book, lambda folder: enter(folder, [])):
        with pytest.raises(StoreError, match=r"is a folder, a device or a pipe; expected a book .*; move it away"):
            use(tmp_path)


@pytest.mark.parametrize("name", ["a" * 5000, "x\0y.toml"])
def test_a_result_that_names_what_no_file_is_called_is_entered_all_the_same(tmp_path, name):
    path = result(tmp_path / "a.json", file=name)
    assert len(add_files(tmp_path, [path]).new) == 1


def test_a_spoilt_result_is_refused_by_name_and_the_others_are_entered(tmp_path):
    good = result(tmp_path / "results" / "good.json")
    text = good.read_text()
    (tmp_path / "results" / "edited.json").write_text(text.replace('"pass"', '"fail"', 1))
    (tmp_path / "results" / "cut.json").write_text(text[:9000])
    (tmp_path / "results" / "package.json").write_text('{"name": "something else"}')
    added = add_files(tmp_path, [tmp_path / "results"])
    assert (len(added.new), added.other) == (1, 1)
    assert sorted(problem.place.partition(":")[0] for problem in added.refused) == ["cut.json", "edited.json"]


def test_what_is_not_there_is_refused(tmp_path):
    with pytest.raises(UsageError, match=r"nowhere.json: is not there; name a file that `benchrig check --json` wrote"):
        add_files(tmp_path, [tmp_path / "nowhere.json"])
    with pytest.raises(UsageError, match=r"--book .*/none: is not there, or is no folder"):
        refuse_unfit(tmp_path / "none")


def test_a_folder_without_a_book_says_how_to_begin_one(tmp_path):
    with pytest.raises(UsageError, match="holds no bench book; enter results with `benchrig book add`"):
        read_book(tmp_path)


def harmed(data, kind, random):
    at = random.randrange(len(data))
    if kind == "cut":
        return data[:at]
    if kind == "zeros":
        return data[:at] + bytes(min(200, len(data) - at)) + data[at + 200 :]
    return data[:at] + bytes([data[at] ^ (1 << random.randrange(8))]) + data[at + 1 :]


@pytest.mark.parametrize("kind", ["cut", "zeros", "flip"])
def test_a_harmed_book_is_read_as_it_was_or_refused_in_words(filled, tmp_path, kind):
    data, truth = (filled / BOOK).read_bytes(), read_book(filled)
    chance = random.Random(kind)  # noqa: S311 - no secrets
    refused = 0
    for _ in range(COUNT):
        (tmp_path / BOOK).write_bytes(harmed(data, kind, chance))
        entries, said = read_or_refused(tmp_path)
        assert entries == truth or (entries is None and REFUSED.search(said))
        refused += entries is None
    assert refused > COUNT / 10


REFUSED = re.compile(r"makes the book anew|later version|holds no bench book")


def read_or_refused(folder):
    """Give the entries and no word, or none and the word of an error that a person can mend."""
    try:
        return read_book(folder), ""
    except BenchrigError as error:
        return None, str(error)


def test_a_row_changed_by_hand_or_taken_out_is_noticed(filled, tmp_path):
    for order, said in (
        ("UPDATE entry SET content = replace(content, '\"fail\"', '\"pass\"')", "is not as it was written"),
        ("DELETE FROM entry WHERE content LIKE '%\"fail\"%'", "entries are missing"),
        ("DELETE FROM total", "entries are missing"),
    ):
        shutil.copy(filled / BOOK, tmp_path / BOOK)
        with sqlite3.connect(tmp_path / BOOK) as connection:
            connection.execute(order)
        connection.close()
        with pytest.raises(StoreError, match=said):
            read_book(tmp_path)
        with pytest.raises(StoreError, match=said):
            enter(tmp_path, [])


def test_another_programs_database_is_left_alone(tmp_path):
    with sqlite3.connect(tmp_path / BOOK) as connection:
        connection.execute("CREATE TABLE songs (title TEXT)")
    connection.close()
    before = (tmp_path / BOOK).read_bytes()
    for use in (lambda: read_book(tmp_path), lambda: enter(tmp_path, []), lambda: enter_record(tmp_path, record())):
        with pytest.raises(StoreError, match="is a database, and no bench book"):
            use()
    assert (tmp_path / BOOK).read_bytes() == before
    assert not (tmp_path / RESULTS).exists()


def test_a_book_of_a_later_version_is_left_alone(filled, tmp_path):
    shutil.copy(filled / BOOK, tmp_path / BOOK)
    with sqlite3.connect(tmp_path / BOOK) as connection:
        connection.execute("PRAGMA user_version = 2")
    connection.close()
    with pytest.raises(StoreError, match="is a bench book of version 2; expected version 1"):
        read_book(tmp_path)


def test_text_in_place_of_the_book_is_refused(tmp_path):
    (tmp_path / BOOK).write_text("benches\n" * 400)
    with pytest.raises(StoreError, match="is no database"):
        read_book(tmp_path)


def test_a_book_in_use_is_waited_for_and_then_told(filled, tmp_path, monkeypatch):
    monkeypatch.setattr("benchrig.keeping.book_file.PATIENCE", 0.05)
    shutil.copy(filled / BOOK, tmp_path / BOOK)
    other = sqlite3.connect(tmp_path / BOOK, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StoreError, match=r"is in use by another program for more than 0.05 s.*; try again"):
        enter(tmp_path, [])
    other.close()
    assert enter(tmp_path, []) == ()


ENTER = """
import sys
from pathlib import Path
from benchrig.keeping.book_adding import add_files
for path in sys.argv[2:]:
    add_files(Path(sys.argv[1]), [Path(path)])
"""


def test_two_programs_that_enter_at_once_lose_nothing(tmp_path):
    paths = [result(tmp_path / "outside" / f"{n}.json", f"2026-05-{n + 1:02}") for n in range(8)]
    (tmp_path / "book").mkdir()
    halves = [
        subprocess.Popen([sys.executable, "-c", ENTER, str(tmp_path / "book"), *map(str, paths[half::2])])
        for half in (0, 1)
    ]
    assert [half.wait() for half in halves] == [0, 0]
    assert len(read_book(tmp_path / "book")) == 8


def test_a_disk_that_refuses_keeps_the_result_and_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr("benchrig.keeping.book_file._COUNT", "CREATE TABLE total (entries INTEGER NOT NULL) nonsense")
    with pytest.raises(StoreError):
        enter_record(tmp_path, record())
    assert len(list((tmp_path / RESULTS).iterdir())) == 1
    monkeypatch.undo()
    with pytest.raises(UsageError, match="holds no bench book; `benchrig book add bench-results` makes the book anew"):
        read_book(tmp_path)
    assert len(add_files(tmp_path, [tmp_path]).new) == 1


def test_a_book_begun_anew_does_not_forget_what_its_results_hold(filled, tmp_path):
    shutil.copytree(filled / RESULTS, tmp_path / RESULTS)
    enter_record(tmp_path, record())
    assert len(read_book(tmp_path)) == 6


def test_what_is_kept_and_not_entered_is_counted(filled, tmp_path):
    shutil.copytree(filled, tmp_path / "book")
    assert not_entered(tmp_path / "book", read_book(tmp_path / "book")) == 0
    result(tmp_path / "book" / RESULTS / "more.json", "2026-07-01")
    assert not_entered(tmp_path / "book", read_book(tmp_path / "book")) == 1


@pytest.mark.parametrize("what", ["", "  ", "x" * 201, "a\x1b[2Jb"])
def test_a_change_needs_a_few_printable_words(tmp_path, what):
    with pytest.raises(UsageError, match="1 to 200 printable letters"):
        enter_change(tmp_path, "Knot", what, datetime.now(UTC))


def test_a_change_that_was_edited_is_refused(tmp_path):
    (tmp_path / "book").mkdir()
    entry = enter_change(tmp_path / "book", "Knot", "new unit", datetime(2026, 3, 1, tzinfo=UTC))
    assert isinstance(entry, ChangeEntry)
    (kept,) = (tmp_path / "book" / RESULTS).iterdir()
    kept.write_text(kept.read_text().replace("2026", "2025"))
    (problem,) = add_files(tmp_path / "book", [kept]).refused
    assert "was changed after it was written" in str(problem)


def test_a_result_in_a_folder_that_cannot_be_read_is_refused_and_not_passed_over(tmp_path, monkeypatch):
    locked = result(tmp_path / "results" / "locked.json", verdict="fail")
    result(tmp_path / "results" / "open.json", "2026-03-02")
    read = Path.read_bytes

    def refuse(path):
        if path == locked:
            raise PermissionError(13, "Permission denied")  # a test may run as a user whom nothing is denied
        return read(path)

    monkeypatch.setattr(Path, "read_bytes", refuse)
    added = add_files(tmp_path, [tmp_path / "results"])
    assert (len(added.new), added.other) == (1, 0)
    assert [str(problem) for problem in added.refused] == [
        "locked.json: cannot be read: permission denied; change its permissions, or take it away"
    ]
