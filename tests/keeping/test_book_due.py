"""A bench is due when something speaks for it, and never for nothing; and a doubt is a reason."""

import re
import shutil
from datetime import UTC, datetime

import pytest
from benches import CAPTURES, result

from benchrig.keeping.book_adding import add_files, enter_change
from benchrig.keeping.book_due import due
from benchrig.keeping.book_file import read_book
from benchrig.keeping.book_history import histories


@pytest.fixture
def book(tmp_path):
    """Give a folder with the airframe's file, and a way to enter benches that are dated one after another."""
    shutil.copy(CAPTURES / "dunlin.toml", tmp_path / "dunlin.toml")
    days = iter(f"2026-{month:02}-{day:02}" for month in range(1, 10) for day in range(1, 28))

    class Book:
        folder = tmp_path
        airframe = tmp_path / "dunlin.toml"

        def bench(self, day=None, **said):
            """Enter a bench."""
            day = day or next(days)
            path = result(tmp_path / "results" / f"{day}-{len(said)}.json", day, file="dunlin.toml", **said)
            added = add_files(tmp_path, [path])
            assert len(added.new) == 1, added
            return day

        def changed(self, what):
            """Enter a change, the day after the newest bench."""
            day = next(days)
            enter_change(tmp_path, "Dunlin 450", what, datetime.fromisoformat(f"{day}T12:00:00+00:00"))

        def history(self):
            """Give the airframe's history."""
            (history,) = histories(read_book(tmp_path))
            return history

        def reasons(self):
            """Give why it is due: codes and texts."""
            return [(reason.code, reason.text) for reason in due(self.history(), tmp_path)]

    return Book()


def codes(book):
    return [code for code, _ in book.reasons()]


def test_after_a_pass_nothing_is_due(book):
    book.bench()
    assert book.reasons() == []
    book.bench()
    assert book.reasons() == []


def test_a_bench_that_did_not_pass_is_due_until_one_passes(book):
    book.bench(verdict="not shown")
    assert book.reasons() == [("never passed", "no bench of it has passed")]
    book.bench()
    assert book.reasons() == []
    book.bench(verdict="fail")
    assert book.reasons() == [("last bench", "the last bench came to fail")]
    book.bench(verdict="not shown")
    assert book.reasons() == [("last bench", "the last bench came to not shown")]
    book.bench()
    assert book.reasons() == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('x = "aft", y = "left"', 'x = "forward", y = "right"', "[sensor] axes"),
        ("aft = 180, up = 25", "aft = 150, up = 25", "[sensor] position_mm"),
        ('longer_pulse = "nose left"', 'longer_pulse = "nose right"', "actuator tail longer_pulse"),
        ("azimuth_deg = 120", "azimuth_deg = 135", "actuator right rear azimuth_deg"),
        ('name = "tail"', 'name = "fin"', "actuator tail; actuator fin"),
        ("magnetometer_to_motor = 520", "magnetometer_to_motor = 500", "[clearances_mm] magnetometer_to_motor"),
    ],
)
def test_another_declaration_than_the_one_that_passed_is_due_and_named(old, new, told, book):
    book.bench()
    text = book.airframe.read_text()
    assert old in text
    book.airframe.write_text(text.replace(old, new, 1))
    expected = f"dunlin.toml declares otherwise than what passed: {told}"
    assert ("declared otherwise", expected) in book.reasons()
    assert codes(book) == ["declared otherwise"]


def test_a_comment_another_order_or_another_sign_word_is_no_change(book):
    book.bench()
    text = book.airframe.read_text().replace("aft = 180, up = 25", "up = 25, aft = 180.0")
    book.airframe.write_text(f"# nothing new\n{text}")
    assert book.reasons() == []


def test_a_bench_of_the_new_declaration_settles_it(book):
    book.bench()
    book.airframe.write_text(book.airframe.read_text().replace("azimuth_deg = 120", "azimuth_deg = 135"))
    assert codes(book) == ["declared otherwise"]
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - of the file as it is now
    from benchrig.declaration.content import declared_content  # noqa: PLC0415 - as above

    now = declared_content(read_airframe(book.airframe))
    book.bench(declared={("actuators", "right rear"): now["actuators"]["right rear"]})
    assert book.reasons() == []


def test_a_file_that_is_gone_unreadable_or_anothers_leaves_a_doubt_that_is_due(book):
    book.bench()
    text = book.airframe.read_text()
    book.airframe.write_text(text.replace('"Dunlin 450"', '"Dunlin 500"'))
    (reason,) = due(book.history(), book.folder)
    assert reason.text.startswith('dunlin.toml declares "Dunlin 500" now, so nobody can say what "Dunlin 450" is like')
    book.airframe.write_text(text.replace("[sensor]", "[sensors]"))
    (reason,) = due(book.history(), book.folder)
    assert reason.text.startswith("dunlin.toml cannot be used, so nobody can say whether it was changed")
    assert re.search(r"dunlin.toml:\d+", reason.more)
    book.airframe.unlink()
    assert book.reasons() == [
        (
            "declaration not known",
            "dunlin.toml is not found, so nobody can say whether it was changed since the last pass",
        )
    ]


def test_a_change_that_was_entered_is_due_until_the_next_pass(book):
    book.bench()
    book.changed("tail servo replaced")
    assert book.reasons() == [("changed", "changed since the last pass: tail servo replaced (2026-01-02)")]
    book.bench(verdict="fail")
    assert codes(book) == ["last bench", "changed"]
    book.bench()
    assert book.reasons() == []


def test_a_figure_that_leaves_its_limits_is_due_and_told_with_its_uncertainty(book):
    book.bench()
    book.bench(bias=3.0)
    assert book.reasons() == []
    book.bench(bias=5.6)
    ((code, text),) = book.reasons()
    assert code == "moved"
    assert text.startswith("moved since the first pass of this build (2026-01-01): gyro bias, x from ")
    assert re.search(r"from 0\.98 ± 0\.0\d °/s to 6\.58 ± 0\.0\d °/s, more than 5 °/s$", text)


def test_a_slow_drift_is_held_against_the_first_pass_and_not_against_the_bench_before(book):
    for step in range(7):
        book.bench(bias=1.0 * step)
    assert codes(book) == ["moved"]


def test_after_a_change_what_a_figure_may_do_is_counted_anew(book):
    book.bench()
    book.bench(bias=9.0)
    assert codes(book) == ["moved"]
    book.changed("gyro unit replaced by one of its kind")
    book.bench(bias=9.1)
    assert book.reasons() == []
    assert [f"{bench.when:%m-%d}" for bench in book.history().build] == ["01-04"]


def test_a_unit_declared_otherwise_begins_a_build_too(book):
    book.bench(declared={("sensor", "position_mm"): {"forward": -100.0, "right": 0.0, "down": -25.0}})
    book.bench(bias=9.0)
    assert len(book.history().build) == 1
    assert codes(book) == []


def test_a_capture_judged_again_counts_once_and_by_its_last_judgement(book):
    book.bench("2026-03-01", capture="one", verdict="fail")
    book.bench("2026-03-01", capture="one", judged="2026-05-01T10:00:00+00:00", bias=0.001)
    assert book.reasons() == []
    assert len(book.history().benches) == 2
    assert len(book.history().recordings) == 1


@pytest.mark.parametrize("clock", ["1999-01-01T00:00:00+00:00", "2026-03-01T10:00:00+00:00"])
def test_a_wrong_date_of_a_logger_hides_no_fail(clock, book):
    book.bench("2026-03-02", judged="2026-03-02T11:00:00+00:00")
    book.bench(clock, verdict="fail", capture="late", judged="2026-04-01T10:00:00+00:00")
    ((code, text),) = book.reasons()
    assert code == "last bench"
    assert text == "a bench judged after the last pass came to fail, though its capture is dated before"


def test_a_pass_dated_in_the_future_does_not_stay_the_last_bench(book):
    book.bench("2031-01-01", judged="2026-03-01T10:00:00+00:00")
    book.bench("2026-03-05", verdict="fail")
    assert codes(book) == ["last bench"]


def test_an_old_fail_that_is_only_judged_again_is_not_news(book):
    book.bench("2026-02-01", capture="old", verdict="fail")
    book.bench("2026-03-01")
    book.bench("2026-02-01", capture="old", verdict="fail", judged="2026-05-01T10:00:00+00:00", bias=0.001)
    assert book.reasons() == []


def test_a_change_before_any_bench_is_no_bench(book):
    enter_change(book.folder, "Knot", "built", datetime(2026, 1, 1, tzinfo=UTC))
    (history,) = histories(read_book(book.folder))
    assert [reason.code for reason in due(history, book.folder)] == ["never passed"]
    assert history.series() == ()


def test_a_pass_that_only_another_declaration_gave_is_due_until_a_new_recording_passes(book):
    declared = {("sensor", "position_tolerance_mm"): 7.0}
    later = "2026-01-03T10:00:00+00:00"
    book.bench("2026-01-02", capture="one", verdict="fail", declared=declared)
    book.bench("2026-01-02", capture="one", judged=later)
    (reason,) = due(book.history(), book.folder)
    assert reason.code == "passed by declaration"
    assert reason.text == "the last pass is of a recording that came to fail under another declaration"
    assert reason.more.startswith(
        "Declaring a fault does not make it right: look at the airframe, and run a new bench."
    )
    book.bench("2026-01-04")
    assert book.reasons() == []


def test_a_pass_that_another_version_gave_under_the_same_declaration_is_a_pass(book):
    book.bench("2026-01-02", capture="one", verdict="not shown")
    book.bench("2026-01-02", capture="one", judged="2026-01-03T10:00:00+00:00")
    assert book.reasons() == []


@pytest.mark.parametrize("order", [("fail", "pass"), ("pass", "fail")])
def test_of_two_benches_of_one_time_a_fail_is_not_hidden_by_a_pass(book, order):
    moment = "2026-03-01T10:00:00+00:00"
    for verdict in order:
        path = result(book.folder / f"{verdict}.json", moment, verdict=verdict, capture=verdict, file="dunlin.toml")
        add_files(book.folder, [path])
    ((code, text),) = book.reasons()
    assert code == "last bench"
    assert "came to fail" in text
    book.bench("2026-03-02")
    assert book.reasons() == []
