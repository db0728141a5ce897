"""What two airframe files declare differently."""

from __future__ import annotations

import pytest

from benchrig.declaration.airframe_file import read_airframe
from benchrig.declaration.content import declared_content
from benchrig.keeping.declared_changes import declared_changes


@pytest.fixture
def changes(captures, tmp_path):
    """Change a demo airframe file by replacing text; give what then is declared otherwise."""

    def change(name, *replacements):
        text = (captures / f"{name}.toml").read_text(encoding="utf-8")
        for old, new in replacements:
            assert old in text
            text = text.replace(old, new, 1)
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
        one, two = (read_airframe(folder / f"{name}.toml") for folder in (captures, tmp_path))
        assert one.source.sha256 != two.source.sha256
        return [
            (".".join(found.key), found.before, found.after)
            for found in declared_changes(declared_content(one), declared_content(two))
        ]

    return change


def test_a_comment_and_another_way_to_write_a_place_declare_the_same(changes):
    assert (
        changes("dunlin", ("[airframe]", "# bench of May\n[airframe]"), ("aft = 180", "right = 0, aft = 180.0")) == []
    )


def test_a_turned_unit_is_told_axis_by_axis(changes):
    found = changes("dunlin", ('x = "aft", y = "left"', 'x = "forward", y = "right"'))
    assert found == [("sensor.axes.x", "aft", "forward"), ("sensor.axes.y", "left", "right")]


def test_a_place_is_told_along_forward_right_and_down(changes):
    assert changes("dunlin", ("aft = 180", "aft = 170")) == [("sensor.position_mm.forward", -180.0, -170.0)]


def test_an_actuator_that_is_declared_the_other_way_is_one_change(changes):
    found = changes(
        "teal",
        (
            'drives = "elevator"\nlonger_pulse = "trailing edge up"',
            'drives = "elevator"\nlonger_pulse = "trailing edge down"',
        ),
    )
    assert found == [("actuators.elevator.longer_pulse", "trailing edge up", "trailing edge down")]


def test_a_renamed_actuator_is_one_gone_and_one_new(changes):
    found = changes("dunlin", ('name = "tail"', 'name = "rear"'))
    assert [(key, before is None, after is None) for key, before, after in found] == [
        ("actuators.tail", False, True), ("actuators.rear", True, False),
    ]  # fmt: skip


def test_a_table_that_only_one_declares_is_one_change(changes):
    (found,) = changes("dunlin", ("[rotor]", "[link_loss]\nafter_s = 0.5\n\n[rotor]"))
    assert found[:2] == ("link_loss", None)
    assert found[2]["after_s"] == 0.5


def test_the_sense_of_the_main_rotor_explains_what_follows_from_it(changes):
    text = ('turns = "clockwise"', 'turns = "counter-clockwise"')
    assert changes("dunlin", text) == [("rotor.turns", "clockwise", "counter-clockwise")]


def test_the_effect_of_an_unusual_actuator_is_told_since_nothing_else_declares_it():
    def content(yaw):
        effect = {"roll right": 0.0, "nose up": 0.0, "nose right": yaw}
        return {"rotor": None, "actuators": {"vane": {"drives": "other", "effect": effect}}}

    (found,) = declared_changes(content(1.0), content(-1.0))
    assert found.key == ("actuators", "vane", "effect", "nose right")
