"""What people do wrong with a compass: each gets a clear word, none a wrong number or a line for the file."""

from __future__ import annotations

import functools
import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from benchrig.attitude.earth_field import EarthField, Place, earth_field
from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe import Calibration
from benchrig.errors import AirframeFileError, CaptureError
from benchrig.measure.compass.findings import findings_of
from benchrig.measure.compass.hard_iron import hard_iron
from benchrig.measure.compass.measure import measure_magnetometer
from benchrig.measure.compass.quantities import quantities_of
from benchrig.measure.compass.study import study_compass
from benchrig.outcome import Outcome
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

TWO_TURNS = ("level", "level turn", "tilted turn", "level")
LEVEL_TURN = ("level", "level turn", "level")
DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def bench(demo_airframe, tmp_path_factory):
    """Simulate a helicopter's turns with faults; give the airframe, the bench and what was read back."""

    @functools.cache
    def make(*faults, motions=TWO_TURNS, seed=3, **options):
        airframe = demo_airframe("dunlin")
        chosen = parse_faults(faults, airframe)
        made = simulate(airframe, seed=seed, faults=chosen, options=Options(motions=motions, **options))
        path = write_capture(made, tmp_path_factory.mktemp("mistake") / "mistake").manifest
        return airframe, made, read_capture(path, airframe)

    return make


@pytest.fixture(scope="module")
def right(bench):
    return bench()


def of(latitude):
    """Give the field at a place of this latitude, deg north."""
    return earth_field(Place(np.radians(latitude), np.radians(10.0)), DAY)


def codes(found):
    return {f.code for f in found.findings if f.severity != "advice"}


def codes_of(study):
    return {f.code for f in findings_of(study)}


def says_no_iron(found):
    """Whether neither a number of hard iron nor a line for the file is given."""
    told = [q for q in found.quantities if q.name.startswith("hard iron") and q.value is not None]
    return not told and not found.entries


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_a_wrong_sign_of_one_axis_is_named(bench, axis):
    airframe, _, recording = bench(f"magnetometer-sign={axis}")
    found = measure_magnetometer(airframe, [recording])
    assert (found.outcome, codes(found)) == (Outcome.FAIL, {"compass-axes-differ"})
    said = {"x": ("aft", "forward"), "y": ("left", "right"), "z": ("up", "down")}[axis]
    assert f"its {axis} axis along {said[0]}, the file says {said[1]}." in found.findings[0].text
    assert "No mounting can mend this" in found.findings[0].fix
    assert says_no_iron(found)


def test_two_swapped_axes_are_named(bench):
    airframe, made, recording = bench()
    swapped = replace(recording, magnetic_field=recording.magnetic_field[:, [1, 0, 2]])
    found = measure_magnetometer(airframe, [swapped])
    assert codes(found) == {"compass-axes-differ"}
    assert "its x axis along right, the file says forward; its y axis along forward" in found.findings[0].text
    assert next(q for q in found.quantities if q.name == "heading against the gyro").outcome is Outcome.FAIL
    assert says_no_iron(found)
    assert made.compass_model is not None


@pytest.mark.parametrize("words", ["left,forward,down", "aft,left,down", "forward,down,left"])
def test_another_mounting_is_named_in_words(bench, words):
    airframe, _, recording = bench(f"magnetometer-mounting={words}")
    found = measure_magnetometer(airframe, [recording])
    assert codes(found) == {"compass-axes-differ"}
    declared = {"x": "forward", "y": "right", "z": "down"}
    for axis, word in zip("xyz", words.split(","), strict=True):
        if word != declared[axis]:
            assert f"its {axis} axis along {word}, the file says {declared[axis]}" in found.findings[0].text
    assert says_no_iron(found)


def test_all_three_signs_turned_are_seen_by_the_dip_alone(bench):
    airframe, _, recording = bench("magnetometer-sign=xyz")
    found = measure_magnetometer(airframe, [recording])
    assert codes(found) == {"compass-dip-reversed"}
    assert "points up by 66°, and here it must point down" in found.findings[0].text
    assert found.entries == ()
    silent = replace(airframe, magnetometer=replace(airframe.magnetometer, hemisphere=None))
    unsigned = measure_magnetometer(silent, [recording])
    # a pass without its sign would let a compass through that shows the opposite heading
    assert unsigned.outcome is Outcome.NOT_SHOWN
    assert codes(unsigned) == {"compass-sign-open", "compass-iron-left-in"}
    axes = next(q for q in unsigned.quantities if q.name.startswith("axis maps"))
    assert axes.outcome is Outcome.NOT_SHOWN
    assert "neither hemisphere nor place says which" in axes.reason
    told = next(q for q in found.quantities if q.name.startswith("axis maps"))
    assert told.outcome is Outcome.FAIL
    assert any("common sign of all three axes is not told" in sentence for sentence in unsigned.unknown)


@pytest.mark.parametrize("axis", ["x", "y"])
def test_a_level_turn_alone_shows_a_heading_that_turns_backwards(bench, axis):
    airframe, _, recording = bench(f"magnetometer-sign={axis}", motions=LEVEL_TURN)
    found = measure_magnetometer(airframe, [recording])
    assert (found.outcome, codes(found)) == (Outcome.FAIL, {"compass-axes-differ"})
    sense = next(q for q in found.quantities if q.name == "heading against the gyro")
    assert sense.value == pytest.approx(-1.0, abs=0.05)
    assert says_no_iron(found)


def test_the_wrong_letter_of_the_latitude_is_named(right):
    airframe, _, recording = right
    found = measure_magnetometer(airframe, [recording], of(-52.0))
    assert codes(found) == {"compass-dip-reversed", "hemisphere-differs"}
    assert any("Correct --latitude, or hemisphere" in f.fix for f in found.findings)
    assert found.entries == ()


def test_a_hemisphere_declared_wrongly_is_named(right):
    airframe, _, recording = right
    wrong = replace(airframe, magnetometer=replace(airframe.magnetometer, hemisphere="south"))
    found = measure_magnetometer(wrong, [recording])
    assert codes(found) == {"compass-dip-reversed"}
    with_place = measure_magnetometer(wrong, [recording], of(52.0))
    assert codes(with_place) == {"hemisphere-differs"}
    assert found.entries == with_place.entries == ()


def test_a_place_far_from_the_bench_is_seen_by_the_field(right):
    airframe, _, recording = right
    found = measure_magnetometer(airframe, [recording], of(15.0))
    assert codes(found) == {"compass-field-differs"}
    assert found.entries == ()


@pytest.mark.parametrize("span", [(8.0, 12.0), (14.0, 1e3)], ids=["a motor ran for 4 s", "a part was put on"])
def test_iron_or_current_that_changed_midway_gives_no_number(right, span):
    airframe, _, recording = right
    on = (recording.time > span[0]) & (recording.time < span[1])
    disturbed = recording.magnetic_field + on[:, None] * np.array([4.0, 2.0, -5.0]) * 1e-6
    found = measure_magnetometer(airframe, [replace(recording, magnetic_field=disturbed)])
    assert (found.outcome, codes(found)) == (Outcome.NOT_SHOWN, {"compass-iron-changed"})
    assert says_no_iron(found)
    if span[1] > recording.time[-1]:
        assert re.search(r"the field changed by \d\.\d µT at 1[34]\.\d s, as by", found.findings[0].text)
    else:
        assert re.search(r"from [78]\.\d s to 1[12]\.\d s, a field of", found.findings[0].text)
    # the row is not shown, and no title claims what it does not
    assert next(q for q in found.quantities if q.name == "heading against the gyro").outcome is Outcome.NOT_SHOWN
    assert not any("turns the way the gyro says" in figure.title for figure in found.figures)


def test_a_current_that_hums_is_not_taken_for_iron(right):
    airframe, made, recording = right
    hum = 6e-6 * np.sin(2 * np.pi * 13.0 * recording.time)[:, None] * np.array([1.0, 0.5, -0.3])
    study = study_compass(airframe, [replace(recording, magnetic_field=recording.magnetic_field + hum)], None)
    value, spread, reasons = hard_iron(study)
    assert (np.abs(value - made.compass_model.bias) < 4 * spread).all() or all(reasons)


def steel(made, recording, airframe, moment, source):
    """Give the compass's readings beside a magnetised lump at `source` (m, world axes), of a moment in A m²."""
    pose = made.truth.attitude
    arm = made.plan.path.pivot(made.time) + pose.apply(np.array(airframe.magnetometer.position)) - source
    far = np.linalg.norm(arm, axis=1, keepdims=True)
    along = arm / far
    # the field of a dipole: any textbook of physics
    field = 1e-7 * (3 * along * (along @ moment)[:, None] - moment) / far**3
    sensed = pose.inv().apply(field) @ made.compass_model.body_from_sensor @ made.compass_model.gain.T
    return replace(recording, magnetic_field=recording.magnetic_field + sensed)


@pytest.mark.parametrize("moment", [6.0, 20.0])
@pytest.mark.parametrize("seed", [3, 4])
def test_turning_beside_steel_gives_no_number(bench, moment, seed):
    airframe, made, recording = bench(seed=seed)
    beside = steel(made, recording, airframe, np.array([0.0, 0.0, moment]), np.array([0.5, 0.0, 0.5]))
    found = measure_magnetometer(airframe, [beside])
    assert codes(found) == {"compass-iron-changed"}
    assert says_no_iron(found)


@pytest.mark.parametrize("seed", [3, 4])
def test_an_uneven_room_widens_the_uncertainty_and_asks_for_another_place(bench, seed):
    airframe, made, recording = bench(seed=seed)
    above = steel(made, recording, airframe, np.array([0.0, 0.0, 6.0]), np.array([0.0, 0.0, 0.4]))
    study = study_compass(airframe, [above], None)
    value, spread, _ = hard_iron(study)
    _, before, _ = hard_iron(study_compass(airframe, [recording], None))
    assert (spread > 1.2 * before).all()
    assert (np.abs(value - made.compass_model.bias) < 4 * spread).all()
    found = measure_magnetometer(airframe, [above])
    assert "compass-room-uneven" in {f.code for f in found.findings}
    assert found.entries == ()


def test_an_airframe_that_never_turned_tells_nothing(bench):
    airframe, _, recording = bench(motions=("level", "level"))
    found = measure_magnetometer(airframe, [recording])
    assert (found.outcome, codes(found)) == (Outcome.NOT_SHOWN, {"compass-coverage"})
    assert says_no_iron(found)


def test_a_compass_that_stands_still_is_named(right):
    airframe, _, recording = right
    still = np.tile(recording.magnetic_field[0], (len(recording.time), 1))
    found = measure_magnetometer(airframe, [replace(recording, magnetic_field=still)])
    assert codes(found) == {"compass-not-shown"}
    assert "never changes" in found.findings[0].text
    assert found.outcome is Outcome.NOT_SHOWN


@pytest.mark.parametrize("channel", [0, 1, 2])
def test_one_dead_channel_gives_no_number(right, channel):
    airframe, _, recording = right
    dead = recording.magnetic_field.copy()
    dead[:, channel] = dead[0, channel]
    found = measure_magnetometer(airframe, [replace(recording, magnetic_field=dead)])
    assert found.outcome is not Outcome.PASS
    assert codes(found)
    assert f"its {'xyz'[channel]} reading never changes" in found.findings[0].text
    assert not any("nose raised by 30° leaves one" in sentence for sentence in found.unknown)
    assert says_no_iron(found)


@pytest.mark.parametrize("factor", [1e-9, 1e-3, 0.1, 10.0])
def test_a_wrong_unit_of_the_field_is_a_fail_without_a_line(right, factor):
    airframe, _, recording = right
    found = measure_magnetometer(airframe, [replace(recording, magnetic_field=factor * recording.magnetic_field)])
    assert codes(found) == {"compass-field-differs"}
    assert found.entries == ()


@pytest.mark.parametrize("place", [None, 52.0])
def test_a_wrong_unit_is_told_first_and_no_turn_is_asked_for_that_was_made(right, place):
    airframe, _, recording = right
    field = None if place is None else of(place)
    found = measure_magnetometer(airframe, [replace(recording, magnetic_field=100.0 * recording.magnetic_field)], field)
    assert [f.code for f in found.findings] == ["compass-field-differs"]
    assert "its unit or range is wrong" in found.findings[0].text
    iron = [q for q in found.quantities if q.name.startswith("hard iron")]
    assert all("unit or range has to be mended first" in q.reason for q in iron)
    assert "nose raised" not in " ".join(found.unknown)


def test_a_field_far_off_the_model_is_told_as_a_number_of_times_with_typographic_signs(right):
    airframe, _, recording = right
    study = study_compass(airframe, [recording], of(52.0))
    weak = EarthField(np.array([0.19, 0.06, 0.70]) * 1e-6)
    (finding,) = [f for f in findings_of(replace(study, place_field=weak)) if f.code == "compass-field-differs"]
    assert re.search(r"about \d\d times the World Magnetic Model's in size, and −\d+° off it in dip", finding.text)
    near = EarthField(study.fit.earth / 1.5)
    (finding,) = [f for f in findings_of(replace(study, place_field=near)) if f.code == "compass-field-differs"]
    assert "+50 % off the World Magnetic Model's in size" in finding.text


def test_iron_that_spoils_the_heading_is_no_pass_while_it_is_left_in(bench):
    airframe, made, recording = bench("iron=200", motions=(*TWO_TURNS, "inverted", "level"))
    found = measure_magnetometer(airframe, [recording])
    assert found.outcome is Outcome.NOT_SHOWN
    assert "compass-iron-left-in" in codes(found)
    known = Calibration(None, None, None, made.compass_model.bias, None)
    assert "compass-iron-left-in" not in codes(measure_magnetometer(replace(airframe, calibration=known), [recording]))


@pytest.mark.parametrize("triad", ["angular_rate", "acceleration"])
def test_a_dead_gyro_or_accelerometer_gives_no_number_of_the_compass(right, triad):
    airframe, _, recording = right
    found = measure_magnetometer(airframe, [replace(recording, **{triad: np.zeros_like(getattr(recording, triad))})])
    assert found.outcome is not Outcome.PASS
    assert codes(found)
    assert says_no_iron(found)


@pytest.mark.parametrize("fault", ["gyro-scale=2", "gyro-sign=z"])
def test_a_unit_that_is_wrong_itself_gives_no_number_of_the_compass(bench, fault):
    airframe, _, recording = bench(fault)
    found = measure_magnetometer(airframe, [recording])
    assert found.outcome is not Outcome.PASS
    assert codes(found)
    assert says_no_iron(found)
    # the nose was raised: asking for it again would mislead
    assert not any("nose raised by 30°" in sentence for sentence in (*found.unknown, *(f.fix for f in found.findings)))


def test_an_airframe_without_a_compass_is_refused(right, demo_airframe):
    _, _, recording = right
    with pytest.raises(AirframeFileError, match=r"knot\.toml: declares no \[magnetometer\]; add it with axes"):
        measure_magnetometer(demo_airframe("knot"), [recording])


def test_a_capture_without_a_compass_is_refused(right):
    airframe, _, recording = right
    with pytest.raises(CaptureError, match=r"mistake\.toml: names no magnetometer columns; name them under"):
        measure_magnetometer(airframe, [replace(recording, magnetic_field=None)])


def test_columns_that_are_named_and_blank_are_not_called_missing(bench, tmp_path):
    airframe, _, recording = bench()
    rows = recording.stream.read_text(encoding="utf-8").splitlines()
    head = rows[0].split(",")
    of_compass = {k for k, name in enumerate(head) if name in {"mx", "my", "mz"}}
    assert len(of_compass) == 3
    blank = [",".join("" if k in of_compass else c for k, c in enumerate(row.split(","))) for row in rows[1:]]
    (tmp_path / recording.stream.name).write_text("\n".join([rows[0], *blank]) + "\n", encoding="utf-8")
    (tmp_path / "blank.toml").write_text(recording.manifest.read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(CaptureError, match="names magnetometer columns that are blank in every row; expected readings"):
        measure_magnetometer(airframe, [read_capture(tmp_path / "blank.toml", airframe)])


def test_a_matrix_that_no_longer_holds_is_replaced_even_by_one_that_mends_hardly_anything(bench):
    airframe, _, recording = bench(motions=(*TWO_TURNS, "inverted", "level"))
    fresh = {e.key: e.value for e in measure_magnetometer(airframe, [recording]).entries}
    mended = np.array(fresh["magnetometer_matrix"]) if "magnetometer_matrix" in fresh else np.eye(3)
    stale = Calibration(None, None, None, None, mended + 0.2 * np.diag([1.0, -1.0, 0.0]))
    right = Calibration(None, None, None, None, 1.7 * mended)
    lines = {
        name: {e.key: e.value for e in measure_magnetometer(replace(airframe, calibration=one), [recording]).entries}
        for name, one in (("stale", stale), ("right", right))
    }
    assert np.array(lines["stale"]["magnetometer_matrix"]) == pytest.approx(mended, abs=0.02)
    # the common gain is of no account
    assert "magnetometer_matrix" not in lines["right"]


def test_the_field_is_a_finding_exactly_where_its_number_fails(right):
    airframe, _, recording = right
    study = study_compass(airframe, [recording], of(52.0))
    measured = float(np.linalg.norm(study.fit.earth))
    along = study.fit.earth / measured
    told = []
    # models up to 40 % below what was measured, in steps finer than the model's own error
    for off in np.linspace(1.1, 1.4, 151):
        one = replace(study, place_field=EarthField(along * measured / off))
        failing = any(q.outcome is Outcome.FAIL for q in quantities_of(one) if "field" in q.name)
        told.append(failing)
        assert ("compass-field-differs" in codes_of(one)) == failing, off
    assert set(told) == {True, False}
