"""Troubles stand until they are over, and the latest stands before the others."""

import pytest

from benchrig.capture.device.samples import Trouble
from benchrig.errors import Problem
from benchrig.live.intake import Intake


@pytest.fixture
def intake():
    return Intake(None, lambda: 0.0)  # nothing is stored here


def told(code, finding="", *, is_over=False):
    return Trouble(code, Problem("port", finding or code), is_over=is_over)


def test_the_latest_trouble_stands_before_an_older_one_even_of_a_kind_that_stood_already(intake):
    for trouble in (told("doubt", "first"), told("damaged"), told("doubt", "second")):
        intake.trouble(trouble)
    assert intake.standing_trouble.finding == "second"
    assert intake.news() == 2
    intake.trouble(told("damaged"))  # said once more: no news
    assert intake.standing_trouble.finding == "second"


def test_what_is_over_ends_alone(intake):
    intake.trouble(told("doubt"))
    intake.trouble(told("began again"))
    assert intake.standing_trouble.finding == "began again"
    intake.trouble(told("began again", is_over=True))
    assert intake.standing_trouble.finding == "doubt"


def test_a_plug_that_is_in_again_ends_whatever_was_said_of_the_port(intake):
    intake.trouble(told("damaged"))
    intake.trouble(told("unplugged"))
    intake.trouble(told("unplugged", is_over=True))
    assert intake.standing_trouble is None
