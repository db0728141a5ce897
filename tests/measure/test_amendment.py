"""Measured lines go into the airframe file: nothing else in it changes, and nothing is ever lost."""

from __future__ import annotations

import codecs
import hashlib
import tomllib

import pytest

from benchrig.declaration.airframe_file import read_airframe
from benchrig.errors import UsageError
from benchrig.measure.amendment import amend, amended
from benchrig.measure.measurement import Entry

PLACE = Entry(("sensor",), "position_mm", {"aft": 182.4, "up": 24.0}, "benchrig measure lever: ± 0.8 mm")


@pytest.fixture
def dunlin(tmp_path, captures):
    path = tmp_path / "dunlin.toml"
    text = (captures / "dunlin.toml").read_text(encoding="utf-8")
    path.write_text(text.replace('kind = "helicopter"', 'kind = "helicopter"   # a comment to keep'), encoding="utf-8")
    return path


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_a_line_is_replaced_and_every_other_line_stays_as_it_is(dunlin):
    before = dunlin.read_text(encoding="utf-8").splitlines()
    amend(dunlin, [PLACE], digest(dunlin))
    after = dunlin.read_text(encoding="utf-8").splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert len(changed) == 1
    assert changed[0][0].startswith("position_mm = { aft = 180")
    assert changed[0][1] == "position_mm = {aft = 182.4, up = 24.0} # benchrig measure lever: ± 0.8 mm"
    assert read_airframe(dunlin).sensor.lever_arm.tolist() == pytest.approx([-0.1824, 0.0, -0.024])


def test_the_old_file_is_kept_beside_it_byte_for_byte_every_time(dunlin):
    first = dunlin.read_bytes()
    kept = amend(dunlin, [PLACE], digest(dunlin))
    second = dunlin.read_bytes()
    kept_too = amend(dunlin, [Entry(("sensor",), "position_mm", {"aft": 181})], digest(dunlin))
    assert (kept.name, kept_too.name) == ("dunlin.before-1.toml", "dunlin.before-2.toml")
    assert kept.read_bytes() == first
    assert kept_too.read_bytes() == second
    assert sorted(p.name for p in dunlin.parent.iterdir()) == [
        "dunlin.before-1.toml",
        "dunlin.before-2.toml",
        "dunlin.toml",
    ]


def test_an_actuator_is_found_by_its_name(dunlin):
    amend(dunlin, [Entry(("actuator", "left rear"), "centre_us", 1512)], digest(dunlin))
    assert [a.centre for a in read_airframe(dunlin).actuators] == pytest.approx([1.52e-3, 1.52e-3, 1.512e-3, 0.76e-3])


def test_a_table_that_is_not_there_is_made(dunlin):
    entries = [
        Entry(("calibration",), "accelerometer_bias_mg", {"x": 12.0, "y": 0.0, "z": -31.0}),
        Entry(("link_loss",), "after_s", 1.5),
        Entry(("link_loss", "goes_to_us"), "front", 1520),
        Entry(("link_loss", "goes_to_us"), "tail", "stays"),
    ]
    amend(dunlin, entries, digest(dunlin))
    airframe = read_airframe(dunlin)
    assert dict(airframe.link_loss.goes_to) == {"front": 1.52e-3, "tail": None}
    assert airframe.calibration.accelerometer_bias[2] == pytest.approx(-0.304006)


def test_the_comment_beside_a_line_stays_where_the_measurement_has_none():
    text = "[sensor]\nposition_mm = { aft = 9 }  # by ruler\n"
    assert amended(text, [Entry(("sensor",), "position_mm", {"aft": 12.4})]).endswith("{aft = 12.4}  # by ruler\n")


def test_windows_line_ends_and_a_byte_order_mark_stay(dunlin):
    dunlin.write_bytes(codecs.BOM_UTF8 + dunlin.read_bytes().replace(b"\n", b"\r\n"))
    amend(dunlin, [Entry(("link_loss",), "after_s", 1.5), PLACE], digest(dunlin))
    new = dunlin.read_bytes()
    assert new.startswith(codecs.BOM_UTF8)
    assert new.count(b"\n") == new.count(b"\r\n")
    assert tomllib.loads(new.decode("utf-8-sig"))["link_loss"] == {"after_s": 1.5}


def test_a_link_stays_a_link_to_the_file_that_is_amended(dunlin):
    link = dunlin.with_name("link.toml")
    link.symlink_to(dunlin.name)
    assert amend(link, [PLACE], digest(dunlin)) == dunlin.with_name("dunlin.before-1.toml")
    assert link.is_symlink()
    assert read_airframe(dunlin).sensor.lever_arm[0] == pytest.approx(-0.1824)


def test_lines_that_are_there_already_change_nothing(dunlin):
    amend(dunlin, [PLACE], digest(dunlin))
    assert amend(dunlin, [PLACE], digest(dunlin)) is None


def test_a_file_changed_since_is_left_alone(dunlin):
    before = dunlin.read_bytes()
    with pytest.raises(UsageError, match=r"dunlin\.toml: changed since it was measured against; run the measurement"):
        amend(dunlin, [PLACE], "0" * 64)
    assert dunlin.read_bytes() == before


def test_lines_that_would_make_the_file_invalid_are_refused_and_nothing_is_left_behind(dunlin):
    before = dunlin.read_bytes()
    with pytest.raises(UsageError, match=r"would not be valid with these lines: dunlin\.toml:\d+: .*centre_us = 9000"):
        amend(dunlin, [Entry(("actuator", "front"), "centre_us", 9000)], digest(dunlin))
    assert [p.name for p in dunlin.parent.iterdir()] == ["dunlin.toml"]
    assert dunlin.read_bytes() == before


def test_an_actuator_that_is_not_declared_is_told(dunlin):
    with pytest.raises(UsageError, match=r"no \[\[actuator\]\] is named front left; declare the actuator first"):
        amend(dunlin, [Entry(("actuator", "front left"), "centre_us", 1500)], digest(dunlin))
