"""An old bench judged again."""

from __future__ import annotations

import json
import re
import shutil

import pytest
from stored_benches import as_first_written

from benchrig.cli.main import exit_status
from benchrig.errors import AirframeFileError, CaptureError, ResultError
from benchrig.keeping.rejudgement import rejudge
from benchrig.keeping.rejudgement_result import rejudgement_result
from benchrig.keeping.rejudgement_text import DECLARED_OTHERWISE, NOTHING, rejudgement_text
from benchrig.outcome import Outcome
from benchrig.report.seal import sealed
from benchrig.report.stored_result import read_result

REVERSED = (
    'drives = "elevator"\nlonger_pulse = "trailing edge up"',
    'drives = "elevator"\nlonger_pulse = "trailing edge down"',
)


@pytest.fixture(scope="module")
def judged(captures, tmp_path_factory):
    """Give a folder with a demo capture, its airframe file and the result of its check."""

    def make(airframe, capture):
        folder = tmp_path_factory.mktemp("bench")
        for name in (f"{airframe}.toml", f"{capture}.toml", f"{capture}.csv"):
            shutil.copy(captures / name, folder)
        call = ["check", str(folder / f"{airframe}.toml"), str(folder / f"{capture}.toml")]
        exit_status([*call, "--json", str(folder / "bench.json")])
        return folder

    return make


@pytest.fixture(scope="module")
def right_folder(judged):
    return judged("dunlin", "dunlin-ok")


@pytest.fixture(scope="module")
def wrong_folder(judged):
    return judged("teal", "teal-elevator-reversed")


@pytest.fixture
def right(right_folder, tmp_path):
    """Give a copy of the folder that a test may spoil; the result names its files by their old, absolute paths."""
    return shutil.copytree(right_folder, tmp_path / "copy")


@pytest.fixture
def wrong(wrong_folder, tmp_path):
    return shutil.copytree(wrong_folder, tmp_path / "copy")


def text(again, width=80):
    return rejudgement_text(again, width=width, colour=False)


def words(again):
    return " ".join(text(again).split())


def changed(folder, file, *replacements):
    path = folder / file
    content = path.read_text(encoding="utf-8")
    for old, new in replacements:
        assert old in content
        content = content.replace(old, new, 1)
    path.write_text(content, encoding="utf-8")
    return path


def moved(folder, spoil=None):
    """Let the result name its files relative to its own folder, as after a move; a callable may spoil it first."""
    path = folder / "bench.json"
    data = json.loads(path.read_text(encoding="utf-8"))
    for table, key in (("airframe", "file"), ("capture", "file"), ("capture", "stream")):
        data[table][key] = f"elsewhere/{data[table][key].rpartition('/')[2]}"
    if spoil is not None:
        spoil(data)
    path.write_text(json.dumps(sealed(data)), encoding="utf-8")
    return path


@pytest.mark.parametrize("name", ["right_folder", "wrong_folder"])
def test_the_same_version_and_declaration_change_nothing_to_the_last_digit(request, name):
    again = rejudge(request.getfixturevalue(name) / "bench.json")
    assert again.nothing_changed
    assert again.values == {}
    assert (again.judged, again.declared, again.software, again.same_declaration) == ((), (), {}, True)
    assert again.after == again.before
    assert NOTHING in words(again)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d["matrix"][1].update(size=d["matrix"][1]["size"] * (1 + 2e-6)),
        lambda d: d.update(wrong_pass_bound=d["wrong_pass_bound"] * (1 + 1e-15)),
        lambda d: d["sensor"]["gyro_bias_deg_s"].update(z=0.0),
        lambda d: d["findings"].append({"code": "a", "severity": "advice", "text": "b", "fix": "c"}),
        lambda d: d["limits"].update(rest="another rule"),
    ],
)
def test_any_number_or_word_that_differs_is_a_change(right, spoil):
    again = rejudge(moved(right, spoil))
    assert not again.nothing_changed
    assert NOTHING not in words(again)


def test_the_arithmetic_of_another_machine_is_called_that(right):
    again = rejudge(moved(right, lambda d: d["matrix"][1].update(size=d["matrix"][1]["size"] * (1 + 2e-6))))
    assert again.only_last_digits
    assert "Every judgement is the same; 1 value differs in the last digits" in words(again)
    again = rejudge(moved(right, lambda d: d["matrix"][1].update(size=d["matrix"][1]["size"] * 1.01)))
    assert not again.only_last_digits


def test_a_corrected_declaration_shows_what_it_changes_and_what_the_pass_rests_on(wrong):
    corrected = changed(wrong, "teal.toml", REVERSED)
    again = rejudge(wrong / "bench.json", airframe=corrected)
    assert (again.before.verdict, again.after.verdict) == (Outcome.FAIL, Outcome.PASS)
    assert again.passes_by_declaration
    told = words(again)
    assert "actuators.elevator.longer_pulse: trailing edge up → trailing edge down" in told
    assert "verdict ≠ fail → = pass" in told
    assert "elevator ≠ fail → = pass nose up (trailing edge up, not trailing edge down → trailing edge down)" in told
    assert "finding actuator-reversed: fail → none" in told
    assert re.search(r"a wrong pass no bound → less likely than 1 in \d+ million", told)
    assert "The verdict was FAIL and is PASS" in told
    assert DECLARED_OTHERWISE in told
    assert "Gone" not in told


def test_a_spoilt_declaration_turns_a_pass_into_a_fail(right):
    spoilt = changed(right, "dunlin.toml", ('x = "aft", y = "left"', 'x = "forward", y = "right"'))
    again = rejudge(right / "bench.json", airframe=spoilt)
    assert again.after.verdict is Outcome.FAIL
    assert not again.passes_by_declaration
    told = words(again)
    assert "sensor.axes.x: aft → forward" in told
    assert "The verdict was PASS and is FAIL" in told
    assert DECLARED_OTHERWISE not in told


def test_a_comment_in_the_airframe_file_changes_no_judgement(right):
    again = rejudge(right / "bench.json", airframe=changed(right, "dunlin.toml", ("[airframe]", "# new\n[airframe]")))
    assert again.nothing_changed
    assert not again.same_declaration
    assert again.declared == ()
    assert "dunlin.toml, which declares the same" in words(again)


def test_the_files_are_found_beside_a_result_that_was_moved_with_them(right):
    again = rejudge(moved(right))
    assert again.record.recording.manifest == right / "dunlin-ok.toml"
    assert again.record.airframe.source.file == right / "dunlin.toml"


def test_the_files_are_found_from_the_folder_of_the_result_and_from_where_one_works(right, tmp_path, monkeypatch):
    result = moved(right)
    (right / "elsewhere").mkdir()
    for name in ("dunlin-ok.toml", "dunlin-ok.csv", "dunlin.toml"):
        (right / name).rename(right / "elsewhere" / name)
    assert rejudge(result).nothing_changed
    (right / "elsewhere").rename(tmp_path / "elsewhere")
    with pytest.raises(
        ResultError,
        match=r"the airframe file dunlin.toml that it names is not there; looked for in .*; name it with --airframe",
    ):
        rejudge(result)
    monkeypatch.chdir(tmp_path)
    assert rejudge(result).nothing_changed


def test_of_two_airframe_files_the_one_that_was_judged_is_taken(right):
    result = moved(right)
    (right / "elsewhere").mkdir()
    shutil.copy(right / "dunlin.toml", right / "elsewhere")
    changed(right, "elsewhere/dunlin.toml", ('x = "aft", y = "left"', 'x = "forward", y = "right"'))
    assert rejudge(result).same_declaration


def test_a_stranger_of_the_same_name_is_passed_over(right):
    result = moved(right)
    (right / "elsewhere").mkdir()
    for name in ("dunlin.toml", "dunlin-ok.toml", "dunlin-ok.csv"):
        (right / "elsewhere" / name).write_text("[strange]\n", encoding="utf-8")
    assert rejudge(result).nothing_changed


def test_a_capture_that_was_moved_can_be_named(right, tmp_path):
    result = moved(right)
    other = tmp_path / "other"
    other.mkdir()
    for name in ("dunlin-ok.toml", "dunlin-ok.csv"):
        (right / name).rename(other / name)
    with pytest.raises(
        ResultError, match=r"the manifest dunlin-ok.toml that it names is not there.*name it with --capture"
    ):
        rejudge(result)
    assert rejudge(result, capture=other / "dunlin-ok.toml").nothing_changed


def test_a_stream_that_was_changed_is_refused_by_name(right):
    path = right / "dunlin-ok.csv"
    path.write_bytes(path.read_bytes().rpartition(b"\n")[0].rpartition(b"\n")[0] + b"\n")
    with pytest.raises(
        ResultError, match=r"its stream dunlin-ok.csv was changed \(1 samples? fewer\); expected"
    ) as caught:
        rejudge(moved(right))
    assert caught.value.exit_status == 5
    assert "dunlin-ok.toml: is not the capture that bench.json was made from" in str(caught.value)
    assert "manifest" not in str(caught.value).partition("; expected")[0].partition("made from")[2]


def test_a_manifest_that_was_changed_is_refused_by_name(right):
    changed(right, "dunlin-ok.toml", ('operator = "R. Vane"', 'operator = "Another"'))
    with pytest.raises(ResultError, match=r"made from: its manifest dunlin-ok.toml was changed; expected"):
        rejudge(moved(right))


def test_both_files_that_were_changed_are_refused_by_name(right):
    changed(right, "dunlin-ok.toml", ('operator = "R. Vane"', 'operator = "Another"'))
    path = right / "dunlin-ok.csv"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    with pytest.raises(ResultError, match=r"its stream dunlin-ok.csv was changed, and its manifest"):
        rejudge(moved(right))


def test_an_old_result_tells_as_much_as_it_can(right):
    again = rejudge(moved(right, as_first_written))
    assert again.nothing_changed
    path = right / "dunlin-ok.csv"
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"\n", b"\r\n"))
    with pytest.raises(ResultError, match=r"its stream dunlin-ok.csv or its manifest dunlin-ok.toml was changed"):
        rejudge(right / "bench.json")
    path.write_bytes(b"\n".join(whole.split(b"\n")[:-3]) + b"\n")
    with pytest.raises(ResultError, match=r"its stream dunlin-ok.csv has \d+ samples, and \d+ were judged"):
        rejudge(right / "bench.json")


def test_an_old_result_under_another_declaration_says_that_it_cannot_tell_which(wrong):
    corrected = changed(wrong, "teal.toml", REVERSED)
    again = rejudge(moved(wrong, as_first_written), airframe=corrected)
    assert again.declared is None
    assert again.passes_by_declaration
    assert "the result is too old to say what was declared then" in words(again)
    assert DECLARED_OTHERWISE in words(again)


def test_what_was_done_to_the_data_on_reading_is_told(simulated_recording, demo_airframe, tmp_path):
    manifest = simulated_recording("knot", "gaps", seed=3).manifest
    rig, result = str(demo_airframe("knot").source.file), tmp_path / "gaps.json"
    exit_status(["check", rig, str(manifest), "--json", str(result)])
    again = rejudge(result)
    assert again.nothing_changed
    assert again.record.recording.history
    for note in again.record.recording.history:
        assert f"on reading {note}" in words(again)


def test_another_version_that_judges_otherwise_is_named(right):
    def older(data):
        data["software"]["benchrig"] = "0.0.9"
        data["verdict"] = data["parts"]["sensing"] = "not shown"
        data["wrong_pass_bound"] = None

    told = words(rejudge(moved(right, older)))
    assert "software benchrig 0.0.9 → " in told
    assert "The declaration is the same: the versions above judge otherwise." in told


def test_a_measurement_is_no_bench(tmp_path, captures):
    target = tmp_path / "cg.json"
    exit_status(
        ["measure", "cg", str(captures / "dunlin.toml"), str(captures / "dunlin-cg.toml"), "--json", str(target)]
    )
    with pytest.raises(ResultError, match=r"cg.json: is a measurement \(cg\); expected the result of a check"):
        rejudge(target)


def test_faults_of_the_files_are_told_as_everywhere(right):
    broken = changed(right, "dunlin.toml", ("[sensor]", "[sensr]"))
    with pytest.raises(AirframeFileError, match="sensr"):
        rejudge(right / "bench.json", airframe=broken)
    (right / "dunlin-ok.csv").write_text("nothing\n", encoding="utf-8")
    with pytest.raises(CaptureError, match=r"dunlin-ok\.csv"):
        rejudge(right / "bench.json", capture=right / "dunlin-ok.toml")


def test_the_new_result_is_read_like_any_other_and_says_what_changed(wrong, tmp_path):
    again = rejudge(wrong / "bench.json", airframe=changed(wrong, "teal.toml", REVERSED))
    data = rejudgement_result(again)
    path = tmp_path / "again.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    assert read_result(path).outcome is Outcome.PASS
    assert list(data)[-2:] == ["rejudgement", "seal"]
    told = data["rejudgement"]
    assert told["of"]["seal"] == again.stored.seal
    assert told["declared"] == [
        {"key": ["actuators", "elevator", "longer_pulse"], "before": "trailing edge up", "after": "trailing edge down"}
    ]
    assert told["judged"][0] == {
        "about": "verdict", "subject": "verdict", "motion": None,
        "before": {"outcome": "fail", "told": ""}, "after": {"outcome": "pass", "told": ""},
    }  # fmt: skip
    assert told["values"]["verdict"] == {"before": "fail", "after": "pass"}


@pytest.mark.parametrize("width", [40, 60, 80, 100])
def test_no_line_is_wider_than_the_terminal(wrong_folder, tmp_path, width):
    folder = shutil.copytree(wrong_folder, tmp_path / "copy")
    again = rejudge(folder / "bench.json", airframe=changed(folder, "teal.toml", REVERSED))
    assert max(map(len, text(again, width).splitlines())) <= width


@pytest.mark.parametrize("name", ["a" * 5000, "x\0y.toml"])
@pytest.mark.parametrize("table", ["airframe", "capture"])
def test_a_result_that_names_what_no_file_is_called_says_what_to_name(right, table, name):
    data = json.loads((right / "bench.json").read_text())
    del data["seal"]
    data[table]["file"] = name
    (right / "bench.json").write_text(json.dumps(sealed(data)))
    with pytest.raises(ResultError, match=r"that it names is not there.*; name it with --"):
        rejudge(right / "bench.json")


def test_a_second_stream_that_was_changed_is_named_beside_the_first(captures, tmp_path):
    rows = [line.split(",") for line in (captures / "dunlin-ok.csv").read_text().splitlines()]
    beside = [at for at, name in enumerate(rows[0]) if name.startswith("us_")]
    first = [[field for at, field in enumerate(row) if at not in beside] for row in rows]
    second = [[row[0].replace("t_us", "taken_us"), *(row[at] for at in beside)] for row in rows]
    for name, lines in (("bench.csv", first), ("pulses.csv", second)):
        (tmp_path / name).write_text("".join(f"{','.join(line)}\n" for line in lines))
    table = '[pulses]\nstream = "pulses.csv"\ntime = {names = ["taken_us"], unit = "us"}\noffset_s = 0.0\n'
    table += "offset_uncertainty_s = 0.005\n\n[[motion]]"
    text = (captures / "dunlin-ok.toml").read_text().replace('"dunlin-ok.csv"', '"bench.csv"')
    (tmp_path / "bench.toml").write_text(text.replace("[[motion]]", table, 1))
    shutil.copy(captures / "dunlin.toml", tmp_path)
    call = ["check", str(tmp_path / "dunlin.toml"), str(tmp_path / "bench.toml")]
    assert exit_status([*call, "--json", str(tmp_path / "bench.json")]) == 0
    (tmp_path / "pulses.csv").write_text((tmp_path / "pulses.csv").read_text().replace("1512", "1513", 1))
    with pytest.raises(ResultError, match=r"its stream bench\.csv, or pulses\.csv of its pulses, was changed;"):
        rejudge(tmp_path / "bench.json")
