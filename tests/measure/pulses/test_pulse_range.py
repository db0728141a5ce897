"""Wide and narrow pulses are told apart by the declaration, and by what comes."""

import pytest
from pulse_trains import plane, read

from benchrig.measure.pulses.pulse_range import kind_of, lies_within


@pytest.mark.parametrize(
    ("keys", "kind"),
    [
        ({"centre_us": 1520}, "wide"),
        ({"centre_us": 760}, "narrow"),
        ({"lowest_us": 1100, "highest_us": 1940}, "wide"),
        ({"lowest_us": 500, "highest_us": 1000}, "narrow"),
        ({"centre_us": 1050}, None),
        ({"lowest_us": 1100}, None),
        ({}, None),
    ],
)
def test_the_declared_kind_follows_from_centre_or_ends(tmp_path, keys, kind):
    assert kind_of(read(tmp_path, plane(**keys)).actuators[0]) == kind


def test_a_travel_beyond_its_window_is_seen_on_either_side():
    assert lies_within("wide", 800e-6, 2200e-6)
    assert not lies_within("wide", 790e-6, 2100e-6)
    assert not lies_within("wide", 900e-6, 2210e-6)
