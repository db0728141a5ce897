"""The manifest of a session, read again as `check` reads it."""

from datetime import UTC, datetime

import pytest
import tomlkit
from people import STILL_COLUMNS

from benchrig.capture.manifest import read_manifest
from benchrig.live.evidence import Entry, Evidence, Look
from benchrig.live.leading import script_of
from benchrig.live.manifest_document import manifest_document
from benchrig.live.occasion import Occasion, occasion_again, occasion_of


@pytest.fixture
def written(tmp_path):
    """Write a document beside an empty stream, and read it."""

    def write(document, airframe=None):
        (tmp_path / "x.arrow").write_bytes(b"")
        (tmp_path / "x.toml").write_text(tomlkit.dumps(document), encoding="utf-8")
        return read_manifest(tmp_path / "x.toml", airframe)

    return write


EVIDENCE = Evidence(
    (
        Entry("level", 0.0, 3.0, "good"),
        Entry("nose up", 4.125, 5.5, "other", (Look("front", "plate down"), Look("tail", "still")), shown="roll left"),
        Entry("nose up", 8.0, 9.0, "good"),
    ),
    (Entry("roll right", 6.0, 7.0, "good", (Look("front", "plate up"),)),),
)


def test_every_motion_and_look_is_read_again_and_what_was_taken_back_is_told_apart(written, demo_airframe):
    read = written(manifest_document(Occasion(STILL_COLUMNS), EVIDENCE, "x.arrow"), demo_airframe("dunlin"))
    assert [(p.name, p.start, p.end) for p in read.prompts] == [
        ("level", 0.0, 3.0),
        ("nose up", 4.125, 5.5),
        ("nose up", 8.0, 9.0),
    ]
    assert [(s.motion, s.actuator, s.moved) for s in read.seen] == [
        ("nose up", "front", "plate down"),
        ("nose up", "tail", "still"),
    ]
    assert read.notes == ("the operator took back roll right, 6.0 s to 7.0 s",)


def test_the_columns_are_the_devices_own_and_the_time_is_the_stores(written):
    columns = {
        "time": {"names": ["t_us"], "unit": "us"},
        "gyro": {"names": ["gx", "gy", "gz"], "unit": {"lsb_per": "deg/s", "count": 16.4}},
        "accelerometer": STILL_COLUMNS["accelerometer"],
        "actuators": {"front": {"names": ["ch 1"], "unit": "us"}},
        "commands": {"elevator stick": {"names": ["ch 2"], "unit": "us"}},
    }
    read = written(manifest_document(Occasion(columns), Evidence(), "x.arrow"))
    assert read.groups["time"].names == ("bench_time_s",)
    assert read.groups["time"].unit.word == "s"
    assert read.groups["gyro"].unit.factor == pytest.approx(3.14159265 / 180 / 16.4)
    assert read.actuators["front"].names == ("ch 1",)
    assert read.commands["elevator stick"].names == ("ch 2",)


def test_a_session_is_begun_with_who_recorded_when_and_how_warm_it_was(written):
    when = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    occasion = Occasion(STILL_COLUMNS, "a port", when, "R. Vane", 21.5, ("the bench stood outside",))
    read = written(manifest_document(occasion, Evidence(), "x.arrow"))
    assert (read.recorded, read.operator, read.temperature) == (when, "R. Vane", 21.5)
    assert read.notes == ("noted at recording: the bench stood outside",)


def test_a_name_with_odd_characters_is_written_so_that_it_reads_the_same(written):
    columns = {**STILL_COLUMNS, "gyro": {"names": ['g"x', "g\\y", "= g]z"], "unit": "deg/s"}}
    read = written(manifest_document(Occasion(columns, operator='R. "V"\n'), Evidence(), "x.arrow"))
    assert read.groups["gyro"].names == ('g"x', "g\\y", "= g]z")
    assert read.operator == 'R. "V"\n'


def test_a_second_stream_brings_its_columns_and_its_table(written, tmp_path):
    (tmp_path / "x-pulses.arrow").write_bytes(b"")
    second = {"actuators": {"front": {"names": ["p1"], "unit": "us"}}}
    pulses = {
        "stream": "x-pulses.arrow",
        "time": {"names": ["bench_time_s"], "unit": "s"},
        "offset_s": 0.25,
        "offset_uncertainty_s": 0.002,
    }
    read = written(manifest_document(Occasion(STILL_COLUMNS), EVIDENCE, "x.arrow", second=second, pulses=pulses))
    assert read.actuators["front"].names == ("p1",)
    assert read.pulse_stream.offset.value == 0.25


@pytest.mark.parametrize("name", ["dunlin-ok", "teal-elevator-reversed"])
def test_a_capture_that_is_played_again_says_the_same_and_where_it_came_from(name, written, captures):
    original = read_manifest(captures / f"{name}.toml")
    occasion, script = occasion_again(original, ("2 rows left out",)), script_of(original)
    read = written(manifest_document(occasion, Evidence(script.entries), "x.arrow", routine=script.routine))
    assert [(p.name, p.start, p.end) for p in read.prompts] == [(p.name, p.start, p.end) for p in original.prompts]
    assert (read.recorded, read.operator) == (original.recorded, original.operator)
    assert {kind: g for kind, g in read.groups.items() if kind != "time"}.keys() == (original.groups.keys() - {"time"})
    assert read.notes[:2] == (
        f"noted at recording: played again from {name}.toml",
        "noted at recording: 2 rows left out",
    )


def test_the_occasion_of_a_port_is_what_its_device_file_says(captures):
    meaning = read_manifest(captures / "dunlin-ok.toml").meaning
    occasion = occasion_of(meaning, "a port", "R. Vane", 20.0)
    assert occasion.columns == meaning.document
    assert (occasion.operator, occasion.temperature_c, occasion.recorded) == ("R. Vane", 20.0, None)
    assert occasion.when.utcoffset() is not None
