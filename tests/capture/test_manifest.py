"""The manifest's form and words: every fault is named by line, with what is allowed."""

from __future__ import annotations

import pytest

from benchrig.capture.manifest import read_manifest
from benchrig.capture.reader import read_capture
from benchrig.errors import CaptureError

GYRO = 'gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }'


def refuse(manifest, *messages: str) -> None:
    with pytest.raises(CaptureError) as caught:
        read_capture(manifest)
    for message in messages:
        assert message in str(caught.value)


def changed(manifest, old: str, new: str):
    text = manifest.read_text(encoding="utf-8")
    assert text.count(old) == 1
    manifest.write_text(text.replace(old, new), encoding="utf-8")
    return manifest


@pytest.mark.parametrize(
    ("new", "message"),
    [
        ("", "run.toml:4: columns has no gyro; add gyro = …"),
        (GYRO + "\nspeed = 3", "run.toml:7: columns.speed is not a key known here; expected"),
        (
            GYRO.replace("unit", "units"),
            'run.toml:6: columns.gyro.units is not a key known here; expected "names" or "unit"',
        ),
        (GYRO.replace('"deg/s"', "3"), "run.toml:6: columns.gyro.unit = 3 is a whole number; expected text"),
        (
            GYRO.replace('"deg/s"', '"dps"'),
            'run.toml:6: columns.gyro.unit = "dps" is not a word known here; expected "deg/s" or "rad/s"; write',
        ),
        (
            GYRO.replace('"deg/s"', '"g"'),
            'run.toml:6: columns.gyro.unit = "g" is not a word known here; expected "deg/s" or "rad/s"',
        ),
        (GYRO.replace(', "gz"', ""), 'run.toml:6: columns.gyro.names = ["gx", "gy"] has 2 entries; expected 3 entries'),
        (
            GYRO.replace('"gz"', '"gz", "q"'),
            "has 4 entries; expected 3 entries; likely cause: an axis was left out or named",
        ),
        (GYRO.replace('"gz"', '""'), "columns.gyro.names.3 is empty; expected a name"),
        (GYRO.replace('"gz"', "3"), "columns.gyro.names.3 = 3 is a whole number; expected text"),
        (GYRO.replace('"gz"', '"gy"'), 'run.toml:6: columns.gyro names the column "gy" twice'),
        (GYRO.replace('"gz"', '"az"'), 'columns.accelerometer names the column "az", and so does columns.gyro'),
        (GYRO.replace('"deg/s"', '{ lsb_per = "deg/s" }'), "columns.gyro.unit has no count; add count = …"),
        (
            GYRO.replace('"deg/s"', '{ lsb_per = "dps", count = 16 }'),
            'columns.gyro.unit = "dps" is not a word known here',
        ),
        (
            GYRO.replace('"deg/s"', '{ lsb_per = "deg/s", count = 0 }'),
            "columns.gyro.unit.count = 0; expected more than 0",
        ),
        (GYRO.replace('"deg/s"', '{ lsb_per = "deg/s", count = inf }'), "count = inf; expected a finite number"),
        (GYRO.replace('"deg/s"', '{ lsb_per = "deg/s", count = nan }'), "count = nan; expected a finite number"),
        (
            GYRO.replace('"deg/s"', '{ lsb_per = "deg/s", count = true }'),
            "count = true is a boolean; expected a number",
        ),
        (GYRO.replace('"deg/s"', '{ lsb_per = "deg/s", count = 2, x = 1 }'), 'expected "lsb_per" or "count"'),
        ('gyro = ["gx", "gy", "gz"]', 'columns.gyro = ["gx", "gy", "gz"] is a list; expected a table'),
    ],
)
def test_a_faulty_group_of_columns_is_refused(new, message, capture):
    refuse(changed(capture(), GYRO, new), message)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (
            "recorded = 2026-11-25T10:00:00",
            "capture.recorded = 2026-11-25T10:00:00 is a date and time; expected a date and time with its offset",
        ),
        ("recorded = 2026-11-25", "capture.recorded = 2026-11-25 is a date; expected a date and time with its offset"),
        ('recorded = "yesterday"', 'capture.recorded = "yesterday" is a text; expected a date and time'),
        ("operator = 7", "run.toml:3: capture.operator = 7 is a whole number; expected text"),
        ("temperature_c = 294.6", "run.toml:3: capture.temperature_c = 294.6; expected at most 90"),
        ("temprature_c = 20", 'capture.temprature_c is not a key known here; expected "stream", "recorded"'),
        ("temprature_c = 20", "likely cause: a misspelt temperature_c"),
        ("routine = []", "run.toml:3: capture.routine = [] has 0 entries; expected at least one"),
        ('stream = "b.csv"', "run.toml:3:"),
    ],
)
def test_a_faulty_entry_under_capture_is_refused(line, message, capture):
    refuse(capture(capture=line), message)


@pytest.mark.parametrize(
    ("rest", "message"),
    [
        ("[turntable]\nrpm = 0", "turntable.rpm = 0; expected more than 0"),
        ("[turntable]\nrpm = -33.3", "turntable.rpm = -33.3; expected more than 0"),
        (
            "[turntable]\npivot_mm = { forwards = 3 }",
            'turntable.pivot_mm.forwards is not a key known here; expected "forward", "aft"',
        ),
        ("[turntable]\npivot_mm = { forward = -3 }", "turntable.pivot_mm.forward = -3; expected at least 0"),
        ("[turntable]\npivot_mm = { forward = 3, aft = 2 }", "forward and aft are both given"),
        (
            "[columns.temperature]\nnames = ['t2']\nunit = 'F'",
            'columns.temperature.unit = "F" is not a word known here; expected "C"',
        ),
        (
            "[columns.actuators]\nfront = { names = ['ch1'], unit = { lsb_per = 'us', count = 2 } }",
            "columns.actuators.front.unit is in raw counts; expected",
        ),
        (
            "[columns.actuators]\nfront = { names = ['gx'], unit = 'us' }",
            'columns.actuators.front names the column "gx", and so does columns.gyro',
        ),
        (
            "[notes]\na = 1",
            'run.toml:8: notes is not a key known here; expected "capture", "columns", "motion", "seen"',
        ),
        ("[columns.gyro]\nunit = 1", "run.toml:8"),
        (
            "[motion]\nname = 'free'",
            'run.toml:8: motion = { name = "free" } is a table; expected a list; likely cause: single',
        ),
        ("[motion]\nname = 'free'", "write [[motion]] above each entry"),
    ],
)
def test_a_faulty_table_is_refused(rest, message, capture):
    refuse(capture(rest=rest + "\n"), message)


def test_all_faults_of_the_form_are_told_at_once_by_line(capture):
    manifest = capture(capture="operator = 7\ntemperature_c = 500", rest="[turntable]\nrpm = 0\n")
    with pytest.raises(CaptureError) as caught:
        read_manifest(manifest)
    assert [problem.place for problem in caught.value.problems] == ["run.toml:3", "run.toml:4", "run.toml:10"]


def test_the_other_spelling_of_a_unit_is_told(capture):
    manifest = changed(capture(), 'unit = "g"', 'unit = "m/s²"')
    refuse(manifest, 'accelerometer.unit = "m/s²" is not a word known here; expected "g" or "m/s2"; write "m/s2"')


def test_a_manifest_that_is_not_toml_or_not_there_is_refused(tmp_path):
    refuse(tmp_path / "none.toml", "none.toml: there is no such manifest")
    refuse(tmp_path, "is a folder")
    (tmp_path / "bad.toml").write_text("[capture\n")
    refuse(tmp_path / "bad.toml", "bad.toml:1")


def test_an_empty_manifest_is_refused(tmp_path):
    (tmp_path / "run.toml").write_text("")
    refuse(tmp_path / "run.toml", "run.toml: the manifest is empty")


def test_an_actuator_may_have_any_name_that_toml_can_write(capture):
    rest = '[columns.actuators]\n"left front" = { names = ["ch1"], unit = "us" }\n'
    assert list(read_manifest(capture(rest=rest)).actuators) == ["left front"]


def test_two_actuators_on_one_lead_share_a_column(capture, samples):
    samples["ch1"] = samples["t"] * 0 + 1500
    both = 'left = { names = ["ch1"], unit = "us" }\nright = { names = ["ch1"], unit = "us" }\n'
    recording = read_capture(capture(samples, rest="[columns.actuators]\n" + both))
    assert recording.pulses["left"].width.tolist() == recording.pulses["right"].width.tolist()


def test_an_airframe_file_in_place_of_the_manifest_is_recognised(tmp_path):
    (tmp_path / "dunlin.toml").write_text('[airframe]\nname = "Dunlin 450"\n')
    with pytest.raises(CaptureError, match=r"dunlin\.toml: is an airframe file, and not a manifest") as caught:
        read_manifest(tmp_path / "dunlin.toml")
    assert len(caught.value.problems) == 1


def test_a_stream_named_in_place_of_its_manifest_is_answered_with_the_manifests_name(tmp_path):
    (tmp_path / "run.csv").write_text("t,gx\n")
    with pytest.raises(CaptureError, match=r"run\.csv: is a stream.*write a manifest beside it"):
        read_manifest(tmp_path / "run.csv")
    (tmp_path / "run.toml").write_text("[capture]\n")
    with pytest.raises(CaptureError, match=r"run\.csv: is a stream.*name run\.toml"):
        read_manifest(tmp_path / "run.csv")


@pytest.mark.parametrize("table", ["turntable", "swing"])
def test_a_negative_distance_says_which_word_to_write_instead(tmp_path, table):
    text = (
        '[capture]\nstream = "a.csv"\n[columns]\ntime = { names = ["t"], unit = "s" }\n'
        'gyro = { names = ["x", "y", "z"], unit = "rad/s" }\naccelerometer = { names = ["u", "v", "w"], unit = "g" }\n'
    )
    (tmp_path / "a.toml").write_text(f"{text}[{table}]\npivot_mm = {{ aft = -20.0 }}\n")
    with pytest.raises(CaptureError) as caught:
        read_manifest(tmp_path / "a.toml")
    assert str(caught.value).endswith(
        f"{table}.pivot_mm.aft = -20.0; expected at least 0; likely cause: a sign where a word says the direction; "
        "write forward = 20"
    )


def test_what_was_noted_at_recording_is_told_in_the_history_with_its_escapes(capture):
    recording = read_capture(capture(capture='notes = ["the blades were off", " ", "tail\\u001b[2J"]'))
    told = [note for note in recording.history if note.startswith("noted at recording")]
    assert told == ["noted at recording: the blades were off", "noted at recording: tail\\u001b[2J"]


def test_a_note_without_brackets_or_of_endless_length_is_refused(capture):
    refuse(
        capture(capture='notes = "the blades were off"'), 'run.toml:3: capture.notes = "the blades were off" is a text'
    )
    refuse(capture(capture=f'notes = ["{"a" * 401}"]'), "run.toml:3: capture.notes.1", "at most 400 characters")
