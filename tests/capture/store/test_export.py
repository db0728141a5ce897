"""An exported capture is judged as the one it was made of; a damaged one only gives what stands before the damage."""

import json
import tomllib
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest

from benchrig.capture.reader import read_capture
from benchrig.capture.store.ending import ending_path
from benchrig.capture.store.export import export_capture
from benchrig.capture.store.manifest_file import write_manifest
from benchrig.capture.store.writer import StoreWriter
from benchrig.capture.text import read_text
from benchrig.cli.main import exit_status
from benchrig.errors import CaptureError, StoreError, UsageError
from benchrig.job import judge
from benchrig.report.result import result_json

DEMOS = ("dunlin-ok", "teal-elevator-reversed")


def judged(manifest, airframe):
    """Give what a result says of the bench itself."""
    result = json.loads(result_json(judge(airframe, read_capture(manifest, airframe))))
    del result["capture"], result["airframe"], result["seal"]
    return result


@pytest.fixture
def recorded(tmp_path, captures):
    """Store a demo capture as a recording of it would have been, and give its manifest."""

    def record(name, *, close=True, lost=0):
        document = tomllib.loads((captures / f"{name}.toml").read_text())
        data = (captures / document["capture"]["stream"]).read_bytes()
        names = data.partition(b"\n")[0].decode().split(",")
        table = read_text(name, data, names)
        now = [0.0]
        folder = tmp_path / "recorded"
        folder.mkdir()
        writer = StoreWriter.create(folder / "bench.arrow", names, {"source": "a unit"}, clock=lambda: now[0])
        time = (table.columns["t_us"] - table.columns["t_us"][0]) * 1e-6
        values = table.group(names)
        for at in range(0, len(time), 10):
            some = slice(at, at + 10)
            now[0] = time[at]
            writer.append(time[some], time[some], values[some], lost=lost if at == 10 else 0)
        if close:
            writer.close()
        else:
            writer.sync()
            writer.abandon()
        document["capture"]["stream"] = "bench.arrow"
        document["columns"]["time"] = {"names": ["bench_time_s"], "unit": "s"}
        write_manifest(folder / "bench.toml", document)
        return folder / "bench.toml"

    return record


@pytest.mark.parametrize("ending", ["csv", "parquet"])
@pytest.mark.parametrize("name", DEMOS)
def test_an_exported_recording_is_judged_to_the_last_digit_as_the_recording(
    name, ending, recorded, tmp_path, demo_airframe
):
    airframe = demo_airframe(name.partition("-")[0])
    manifest = recorded(name, lost=2)
    done = export_capture(manifest, tmp_path / f"out.{ending}")
    assert [path.name for path in done.files] == [f"out.{ending}", "out.toml"]
    assert judged(done.files[-1], airframe) == judged(manifest, airframe)
    history = read_capture(done.files[-1]).history
    assert "noted at recording: from a unit; it ended so: the operator stopped it" in history
    assert "noted at recording: 2 rows that the unit counted never came" in history


def test_a_foreign_capture_is_exported_in_the_columns_that_its_manifest_names(captures, tmp_path, demo_airframe):
    done = export_capture(captures / "dunlin-ok.toml", tmp_path / "out.parquet")
    airframe = demo_airframe("dunlin")
    assert judged(done.files[-1], airframe) == judged(captures / "dunlin-ok.toml", airframe)
    old = (captures / "dunlin-ok.toml").read_text().partition("[columns]")[2]
    assert done.files[-1].read_text().partition("[columns]")[2] == old


def test_an_interrupted_recording_is_exported_with_that_said(recorded, tmp_path, demo_airframe):
    manifest = recorded("dunlin-ok", close=False)
    done = export_capture(manifest, tmp_path / "out.csv")
    history = read_capture(done.files[-1], demo_airframe("dunlin")).history
    assert any(note.startswith("noted at recording: the recording was interrupted: it stops at") for note in history)


def test_of_a_damaged_recording_only_what_stands_before_the_damage_is_exported_and_only_when_asked(
    recorded, tmp_path, demo_airframe
):
    manifest = recorded("dunlin-ok")
    store = manifest.with_name("bench.arrow")
    whole = read_capture(manifest, demo_airframe("dunlin"))
    data = bytearray(store.read_bytes())
    data[len(data) // 2] ^= 1
    store.write_bytes(data)
    with pytest.raises(CaptureError, match="--until-damage"):
        export_capture(manifest, tmp_path / "out.csv")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["recorded"]
    done = export_capture(manifest, tmp_path / "out.csv", until_damage=True)
    left = read_capture(done.files[-1], demo_airframe("dunlin"))
    count = len(left.time)
    assert 0.4 * len(whole.time) < count < 0.51 * len(whole.time)
    assert np.array_equal(left.angular_rate, whole.angular_rate[:count])
    kept = [prompt.name for prompt in left.prompts]
    assert kept == [prompt.name for prompt in whole.prompts][: len(kept)]
    assert 0 < len(kept) < len(whole.prompts)
    told = " ".join(left.history)
    assert "noted at recording: exported up to where it is damaged: bench.arrow after batch " in told
    assert f"motions after the last row, at {left.time[-1]:.1f} s, left out: " in told
    assert any(note.startswith("motions after the last row") for note in done.notes)


def test_a_recording_without_its_end_file_that_is_whole_needs_no_leave(recorded, tmp_path):
    manifest = recorded("dunlin-ok")
    ending_path(manifest.with_name("bench.arrow")).unlink()
    assert "confirm" in " ".join(export_capture(manifest, tmp_path / "out.csv").notes)


def test_columns_of_dangerous_names_are_renamed_in_stream_and_manifest_alike(tmp_path, recorded, demo_airframe):
    manifest = recorded("dunlin-ok")
    airframe = demo_airframe("dunlin")
    before = judged(manifest, airframe)
    document = tomllib.loads(manifest.read_text())
    document["columns"]["gyro"]["names"][0] = "=gx"
    table = _stored(manifest)
    names = ["=gx" if name == "gx" else name for name in table.schema.names[2:]]
    _store_again(manifest.with_name("other.arrow"), table, names)
    document["capture"]["stream"] = "other.arrow"
    write_manifest(manifest.with_name("other.toml"), document)
    done = export_capture(manifest.with_name("other.toml"), tmp_path / "out.csv")
    assert done.files[0].read_text().startswith("bench_time_s,bench_arrival_s,")
    assert ",=" not in done.files[0].read_text().partition("\n")[0]
    assert tomllib.loads(done.files[-1].read_text())["columns"]["gyro"]["names"][0] == "_=gx"
    assert judged(done.files[-1], airframe) == before


def _stored(manifest):
    return pa.ipc.open_stream(pa.BufferReader(manifest.with_name("bench.arrow").read_bytes())).read_all()


def _store_again(path, table, names):
    columns = [column.to_numpy() for column in table.columns]
    writer = StoreWriter.create(path, names, {})
    writer.append(columns[0], columns[1], np.column_stack(columns[2:]))
    writer.close()


def test_a_capture_of_two_streams_keeps_both(tmp_path, recorded, demo_airframe):
    airframe = demo_airframe("dunlin")
    manifest = recorded("dunlin-ok")
    document = tomllib.loads(manifest.read_text())
    pulses = [group["names"][0] for group in document["columns"]["actuators"].values()]
    table = _stored(manifest)
    for name, columns in (("main", [n for n in table.schema.names[2:] if n not in pulses]), ("servo", pulses)):
        own = table.select(["bench_time_s", "bench_arrival_s", *columns])
        _store_again(manifest.with_name(f"{name}.arrow"), own, columns)
    document["capture"]["stream"] = "main.arrow"
    document["pulses"] = {
        "stream": "servo.arrow",
        "time": {"names": ["bench_time_s"], "unit": "s"},
        "offset_s": 0.0,
        "offset_uncertainty_s": 0.001,
    }
    write_manifest(manifest.with_name("two.toml"), document)
    done = export_capture(manifest.with_name("two.toml"), tmp_path / "out.csv")
    assert [path.name for path in done.files] == ["out.csv", "out-pulses.csv", "out.toml"]
    assert judged(done.files[-1], airframe) == judged(manifest.with_name("two.toml"), airframe)


@pytest.mark.parametrize(
    ("out", "message"),
    [
        ("out.txt", r"out.txt: has another ending; expected a name that ends in .csv or .parquet"),
        ("recorded/bench.csv", r"bench.toml: is the capture itself; .*; write --out bench-exported.csv"),
        ("taken.csv", r"taken.csv: is already there"),
        ("beside.csv", r"beside.toml: is already there"),
    ],
)
def test_a_name_that_does_not_fit_or_is_taken_is_refused_before_anything_is_written(out, message, recorded, tmp_path):
    manifest = recorded("dunlin-ok")
    (tmp_path / "taken.csv").write_text("mine")
    (tmp_path / "beside.toml").write_text("mine")
    before = manifest.read_bytes()
    with pytest.raises(UsageError, match=message):
        export_capture(manifest, tmp_path / out)
    if "bench" in out:
        with pytest.raises(UsageError, match="is the capture itself"):
            export_capture(manifest, tmp_path / out, force=True)
    assert manifest.read_bytes() == before
    assert sorted(path.name for path in tmp_path.glob("*.*")) == ["beside.toml", "taken.csv"]
    assert not (tmp_path / "recorded" / "bench.csv").exists()


def test_the_command_prints_what_it_wrote_and_notes_beside_it(recorded, tmp_path, capsys):
    manifest = recorded("dunlin-ok")
    assert exit_status(["export", str(manifest), "--out", str(tmp_path / "out.csv")]) == 0
    printed = capsys.readouterr()
    assert printed.out.split() == [str(tmp_path / "out.csv"), str(tmp_path / "out.toml")]
    assert printed.err == "Noted: from a unit; it ended so: the operator stopped it\n"
    assert exit_status(["export", str(manifest), "--out", str(tmp_path / "out.csv")]) == 2
    assert exit_status(["export", str(manifest), "--out", str(tmp_path / "out.csv"), "--force"]) == 0
    store = manifest.with_name("bench.arrow")
    store.write_bytes(store.read_bytes()[:-5000])
    assert exit_status(["export", str(manifest), "--out", str(tmp_path / "cut.csv")]) == 5
    assert "5,000 bytes are missing" in capsys.readouterr().err
    assert exit_status(["export", str(manifest), "--out", str(tmp_path / "cut.csv"), "--until-damage"]) == 0
    assert "Noted: exported up to where it is damaged: bench.arrow after batch" in capsys.readouterr().err


def test_an_airframe_file_is_never_replaced_by_a_manifest(recorded, tmp_path, captures):
    airframe = tmp_path / "dunlin.toml"
    airframe.write_bytes((captures / "dunlin.toml").read_bytes())
    with pytest.raises(UsageError, match=r"dunlin\.toml: is already there, and is an airframe file; .*--force never"):
        export_capture(recorded("dunlin-ok"), tmp_path / "dunlin.csv", force=True)
    assert airframe.read_bytes() == (captures / "dunlin.toml").read_bytes()
    assert not (tmp_path / "dunlin.csv").exists()


def test_a_folder_that_may_not_be_looked_into_is_told(recorded, tmp_path, monkeypatch):
    manifest, out = recorded("dunlin-ok"), tmp_path / "closed" / "out.csv"
    stat = Path.stat

    def refuse(path, **options):
        if path.parent == out.parent:
            raise PermissionError(13, "Permission denied", str(path))  # a test may run as a user whom nothing is denied
        return stat(path, **options)

    monkeypatch.setattr(Path, "stat", refuse)
    with pytest.raises(StoreError, match=r"out\.csv: cannot be written: "):
        export_capture(manifest, out)
