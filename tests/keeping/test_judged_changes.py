"""What two checks judge differently."""

from __future__ import annotations

from dataclasses import replace

import pytest
import records
from stored_benches import check, record

from benchrig.keeping.judged_changes import Side, changed_software, judged_changes
from benchrig.outcome import Outcome


def changes(before, after):
    return judged_changes(check(before), check(after))


@pytest.mark.parametrize("name", records.ALL)
def test_a_check_is_judged_as_itself(name):
    assert changes(records.ALL[name](), records.ALL[name]()) == ()


def test_numbers_that_moved_change_no_judgement():
    made = record()
    cells = tuple(replace(cell, size=None, uncertainty=None, reason="another") for cell in made.matrix)
    assert changes(made, replace(made, matrix=cells)) == ()


def test_a_failed_check_tells_verdict_axes_cells_actuators_data_and_findings():
    found = changes(record("right"), record("failing"))
    assert list(dict.fromkeys(change.about for change in found)) == [
        "verdict", "wiring", "cell", "actuator", "data", "finding",
    ]  # fmt: skip
    told = {(change.about, change.subject, change.motion): (change.before, change.after) for change in found}
    assert told["verdict", "verdict", ""] == (Side(Outcome.PASS), Side(Outcome.FAIL))
    assert told["wiring", "gyro", ""][1] == Side(Outcome.FAIL, "x forward, y right, z down")
    assert told["cell", "gyro", "nose up"] == (Side(Outcome.PASS, "+q"), Side(Outcome.FAIL, "−q, not +q"))
    assert told["actuator", "front", ""] == (Side(Outcome.PASS, "ok"), Side(Outcome.FAIL, "reversed"))
    assert told["finding", "mounting-differs", ""] == (None, Side(None, "fail"))
    assert not next(change for change in found if change.subject == "small-angle").counted


def test_the_way_back_tells_the_same_the_other_way_round():
    there, back = changes(record("right"), record("failing")), changes(record("failing"), record("right"))
    assert {(c.about, c.subject, c.motion, c.before, c.after) for c in there} == {
        (c.about, c.subject, c.motion, c.after, c.before) for c in back
    }


def test_a_cell_that_is_not_there_any_more_is_told():
    made = record()
    gone = made.matrix[0]
    (change,) = changes(made, replace(made, matrix=made.matrix[1:]))
    assert (change.motion, change.subject, change.after) == (gone.motion, gone.check, None)


def test_of_a_motion_made_twice_each_time_is_held_against_its_own():
    made = record()
    cell = made.matrix[0]
    twice = replace(made, matrix=(cell, *made.matrix))
    by_eye = replace(cell, evidence="seen")
    (change,) = changes(twice, replace(twice, matrix=(cell, by_eye, *made.matrix[1:])))
    assert (change.before.told, change.after.told) == ("+q", "+q by eye")


def test_a_cell_that_is_judged_by_eye_or_no_longer_required_has_changed():
    made = record()
    first, *rest = made.matrix
    for other, told in (
        (replace(first, evidence="seen"), "+q by eye"),
        (replace(first, required=False), "+q, not required"),
    ):
        (change,) = changes(made, replace(made, matrix=(other, *rest)))
        assert change.after == Side(Outcome.PASS, told)


def test_findings_of_one_code_are_counted():
    made = record("failing")
    (change,) = changes(made, replace(made, findings=(*made.findings, made.findings[1])))
    assert (change.before.told, change.after.told) == ("fail", "fail, 2 times")


def test_versions_that_differ_are_told_and_the_arithmetic_is_none():
    before = {"benchrig": "0.1.0", "ahrs": "0.4.0", "replay_difference": "1e-16"}
    after = {"benchrig": "0.2.0", "ahrs": "0.4.0", "replay_difference": "2e-16", "numpy": "2"}
    assert changed_software(before, after) == {"benchrig": ("0.1.0", "0.2.0"), "numpy": (None, "2")}
