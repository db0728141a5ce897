"""The sentences of a report."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest
import records

from benchrig.outcome import Outcome
from benchrig.report import wording
from benchrig.verdict.record import LeverArm, WiringFound


@pytest.mark.parametrize(
    ("moment", "text"),
    [
        (None, "time not recorded"),
        (datetime(2026, 11, 25, 10), "2026-11-25 10:00:00 (zone not recorded)"),  # noqa: DTZ001 - a zone may be missing
        (datetime(2026, 11, 25, 10, tzinfo=timezone(timedelta(hours=5, minutes=30))), "2026-11-25 10:00:00 UTC+05:30"),
        (datetime(2026, 11, 25, 10, tzinfo=timezone(timedelta(hours=-3))), "2026-11-25 10:00:00 UTC−03:00"),
    ],
)
def test_time_is_written_in_the_zone_it_was_recorded_in(moment, text):
    assert wording.time_as_recorded(moment) == text


def test_a_mirrored_wiring_is_said_to_be_left_handed():
    wiring = WiringFound(Outcome.FAIL, np.diag([1.0, 1.0, -1.0]), 0.999, ())
    said = wording.wiring_sentence("gyro", wiring, np.eye(3))
    assert said == (
        "The gyro is wired x forward, y right, z up (left-handed: an axis sign is wrong); "
        "declared is x forward, y right, z down."
    )


def test_a_wiring_that_cannot_be_told_is_not_guessed():
    said = wording.wiring_sentence("gyro", WiringFound(Outcome.NOT_SHOWN, None, None, ()), np.eye(3))
    assert said == "The gyro's axes cannot be told from these motions."


def test_other_possible_wirings_are_named():
    wiring = WiringFound(Outcome.NOT_SHOWN, np.eye(3), 0.7, (np.diag([-1.0, -1.0, 1.0]),))
    assert wording.wiring_sentence("gyro", wiring, np.eye(3)).endswith("it could also be x aft, y left, z down.")


def test_a_wiring_that_is_only_one_of_several_is_neither_named_nor_given_a_bound():
    ties = (np.diag([1.0, -1.0, 1.0]), np.diag([1.0, 1.0, -1.0]))
    failed = WiringFound(Outcome.FAIL, np.diag([-1.0, 1.0, 1.0]), 0.4, ties)
    assert wording.wiring_sentence("gyro", failed, np.eye(3)) == (
        "By these motions the gyro is not wired as declared (x forward, y right, z down); "
        "it could be x aft, y right, z down; or x forward, y left, z down; or x forward, y right, z up."
    )
    told = wording.certainty(replace(records.right_helicopter(), verdict=Outcome.FAIL, gyro=failed))
    assert told == ["How the gyro is wired is open, so no bound is given for it."]
    undecided = replace(failed, outcome=Outcome.NOT_SHOWN)
    assert wording.wiring_sentence("gyro", undecided, np.eye(3)).startswith(
        "How the gyro is wired is open: it could be"
    )


def test_of_many_possible_wirings_only_their_number_is_said():
    many = WiringFound(Outcome.NOT_SHOWN, np.eye(3), 1 / 48, (np.eye(3),) * 47)
    said = wording.wiring_sentence("gyro", many, np.eye(3))
    assert said == "How the gyro is wired is open: it could be wired in any of 48 ways."


def test_a_measured_lever_arm_is_told_beside_the_declared_one():
    arm = LeverArm(Outcome.PASS, np.array([-180.0, 0.0, -25.0]), (-178.2, None, None), (0.7, None, None), "")
    said = wording.lever_arm_sentence(replace(records.right_helicopter(), lever_arm=arm))
    assert said.replace("\N{NO-BREAK SPACE}", " ") == (
        "The unit's place, measured from the CG: 178.2 ± 0.7 mm aft (declared 180 mm aft): pass."
    )


def test_a_place_known_by_its_side_alone_is_not_called_a_pass():
    coarse = "its side is as declared; its size is not known finely enough for the tolerance; a spin shows no more"
    arm = LeverArm(Outcome.PASS, np.array([-180.0, 0.0, -25.0]), (-178.2, None, None), (6.0, None, None), coarse)
    said = wording.lever_arm_sentence(replace(records.right_helicopter(), lever_arm=arm))
    assert said.replace("\N{NO-BREAK SPACE}", " ").endswith(
        "(declared 180 mm aft): on the declared side; finer than the tolerance it is not known."
    )


def test_a_place_in_doubt_is_told_with_its_reason():
    nothing = (None, None, None)
    arm = LeverArm(Outcome.NOT_SHOWN, np.zeros(3), nothing, nothing, "the table turned the other way")
    said = wording.lever_arm_sentence(replace(records.right_helicopter(), lever_arm=arm))
    assert said == "The unit's place is not shown: the table turned the other way."


def test_a_free_mounting_is_written_as_its_matrix():
    assert wording.axes_in_words(np.array([[0.6, -0.8, 0], [0.8, 0.6, 0], [0, 0, 1]])) == (
        "turned freely, body from sensor [0.600 −0.800 0.000; 0.800 0.600 0.000; 0.000 0.000 1.000]"
    )


def test_a_sensor_at_the_cg_is_said_to_be_there():
    assert wording.place_in_words(np.zeros(3)) == "at the CG"
