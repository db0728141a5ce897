"""The iron of a real compass that was turned by hand, and a magnet that really came near it.

The recording carries no truth about iron. What it can show: one field of the earth's size explains it, two parts of it
agree, every wrong wiring is seen, and the disturbance from 101 to 118 s, while the board lay still, is found.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe import Magnetometer
from benchrig.declaration.airframe_file import read_airframe
from benchrig.geometry.directions import body_from_sensor
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.compass.axes import axis_maps
from benchrig.measure.compass.hard_iron import hard_iron
from benchrig.measure.compass.iron import fit_iron, gyro_attitudes
from benchrig.measure.compass.measure import measure_magnetometer
from benchrig.measure.compass.stretch import stretches_of
from benchrig.measure.compass.study import size_of, study_compass

# taken as the board's own axes, and as recorded north of the magnetic equator
COMPASS = Magnetometer(body_from_sensor({"x": "forward", "y": "left", "z": "up"}), np.zeros(3), "north")


@pytest.fixture(scope="module")
def airframe(outside_data):
    return replace(read_airframe(outside_data("hand-tilt/hand-tilt.airframe.toml")), magnetometer=COMPASS)


@pytest.fixture(scope="module")
def recording(outside_data, airframe):
    return read_capture(outside_data("hand-tilt/hand-tilt.toml"), airframe)


def until(recording, end):
    """Cut a recording off at a time, s."""
    last = int(np.searchsorted(recording.time, end))
    kept = ("time", "angular_rate", "acceleration", "magnetic_field")
    return replace(recording, **{name: getattr(recording, name)[:last] for name in kept})


@pytest.fixture(scope="module")
def turns(airframe, recording):
    """Give what the nine turns show, before the fast spin."""
    return study_compass(airframe, [until(recording, 64.0)], None)


def test_one_field_of_the_earths_size_and_one_iron_explain_the_turns(turns):
    assert turns.doubt == ""
    size, _ = size_of(turns.fit)
    assert 22e-6 < size < 67e-6
    assert turns.fit.misfit < 0.02 * size
    assert np.abs(turns.fit.gain - np.eye(3)).max() < 0.1


def test_two_thirds_of_the_turns_give_the_iron_of_all_of_them(turns, airframe, recording):
    part = study_compass(airframe, [until(recording, 43.0)], None)
    (early, spread, _), (whole, wide, reasons) = hard_iron(part), hard_iron(turns)
    assert reasons == ("", "", "")
    assert (np.abs(early - whole) < 2 * np.hypot(spread, wide)).all()
    assert np.abs(early - whole).max() < 1.5e-6


def test_an_iron_put_onto_the_real_readings_is_found_again(turns, airframe, recording):
    added = np.array([20.0, -15.0, 30.0]) * 1e-6
    clean = until(recording, 64.0)
    disturbed = study_compass(airframe, [replace(clean, magnetic_field=clean.magnetic_field + added)], None)
    assert hard_iron(disturbed)[0] - hard_iron(turns)[0] == pytest.approx(added, abs=0.02e-6)


def test_the_magnet_that_came_near_the_still_board_is_found_and_no_iron_is_told(airframe, recording):
    found = measure_magnetometer(airframe, [recording])
    (finding,) = (f for f in found.findings if f.severity != "advice")
    assert finding.code == "compass-iron-changed"
    study = study_compass(airframe, [recording], None)
    assert study.change.start == pytest.approx(101.5, abs=3.0)
    assert study.change.end == pytest.approx(118.0, abs=3.0)
    assert study.change.strength == pytest.approx(24e-6, rel=0.3)
    assert all(q.value is None for q in found.quantities if q.name.startswith("hard iron"))
    assert found.entries == ()


def test_every_other_wiring_of_the_real_compass_is_seen(airframe, recording):
    part = until(recording, 43.0)
    for k, wiring in enumerate(SIGNED_PERMUTATIONS):
        wired = replace(part, magnetic_field=part.magnetic_field @ wiring)
        stretches = stretches_of(airframe, COMPASS, wired, 0)
        maps = axis_maps(COMPASS.body_from_sensor, gyro_attitudes(stretches), stretches)
        expected = COMPASS.body_from_sensor @ wiring
        assert np.array_equal(np.sign(maps.down) * maps.found, expected), k


def test_the_compass_of_the_board_is_late_and_that_is_found(turns):
    # a part of the turns gives the same delay: it is the board's, not noise
    assert 0.02 < turns.fit.delay < 0.06
    (stretch,) = turns.stretches
    early = stretch.time[stretch.chosen] < 43.0
    half = fit_iron([replace(stretch, chosen=stretch.chosen[early], reading=stretch.reading[early])])
    assert half.delay == pytest.approx(turns.fit.delay, abs=0.01)
