"""Pulses from a second stream come by the capture's clock, or a sentence says why they cannot."""

import io

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import parquet

from benchrig.capture.reader import read_capture
from benchrig.errors import CaptureError

COLUMNS = """
time = { names = ["t"], unit = "us" }
gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "g" }
[columns.actuators]
front = { names = ["ch1"], unit = "us" }
tail = { names = ["ch2"], unit = "us" }
[columns.commands]
stick = { names = ["in1"], unit = "us" }
"""
PULSES = """
[pulses]
stream = "run-pulses.csv"
time = { names = ["ms"], unit = "ms" }
offset_s = 0.25
offset_uncertainty_s = 0.004
"""
NEXT = "offset_uncertainty_s = 0.004\n"


def rows(count=100, step_ms=10, **columns):
    """Give a second stream: its own time in ms, then what is asked for or two channels and a command."""
    count_up = np.arange(count)
    channels = columns or {"ch1": 1000 + count_up, "ch2": 1500 + count_up, "in1": 1200 + count_up}
    return {"ms": 7000 + count_up * step_ms, **channels}


@pytest.fixture
def second(tmp_path, as_text):
    """Write the second stream, in the form that its name says."""

    def write(samples, name="run-pulses.csv"):
        table = pa.table({key: np.asarray(values, dtype=float) for key, values in samples.items()})
        sink = io.BytesIO()
        if name.endswith(".csv"):
            sink.write(as_text(samples).encode())
        elif name.endswith(".parquet"):
            parquet.write_table(table, sink)
        elif name.endswith(".feather"):
            with pa.ipc.new_file(sink, table.schema) as writer:
                writer.write_table(table)
        else:
            with pa.ipc.new_stream(sink, table.schema) as writer:
                writer.write_table(table)
        (tmp_path / name).write_bytes(sink.getvalue())
        return name

    return write


@pytest.mark.parametrize("name", ["run-pulses.csv", "run-pulses.parquet", "run-pulses.feather", "run-pulses.arrow"])
def test_a_second_stream_gives_the_pulses_by_the_captures_clock(name, capture, second):
    second(rows(60), name)
    recording = read_capture(capture(columns=COLUMNS, rest=PULSES.replace("run-pulses.csv", name)))
    front = recording.pulses["front"]
    np.testing.assert_allclose(front.time, 0.25 + np.arange(60) * 0.010)
    np.testing.assert_allclose(front.width, (1000 + np.arange(60)) * 1e-6)
    np.testing.assert_allclose(recording.commands["stick"].width, (1200 + np.arange(60)) * 1e-6)
    assert list(recording.pulses) == ["front", "tail"]
    assert front.delay_uncertainty == recording.pulse_delay_uncertainty == 0.004
    assert "pulses from " + name + ": its first row 0.250 s after the first sample, ± 4 ms" in recording.history


def test_a_second_clock_that_runs_fast_is_slowed_and_one_that_began_earlier_is_cut(capture, second):
    second(rows())
    rest = PULSES.replace("0.25", "-0.1").replace(NEXT, NEXT + "fast_ppm = 10000\n")
    recording = read_capture(capture(columns=COLUMNS, rest=rest))
    whole = -0.1 + np.arange(100) * 0.010 / 1.01
    kept = (whole >= 0) & (whole <= recording.time[-1])
    assert 0 < kept.sum() < 100
    np.testing.assert_allclose(recording.pulses["front"].time, whole[kept], atol=1e-12)
    np.testing.assert_allclose(recording.pulses["front"].width, (1000 + np.arange(100))[kept] * 1e-6)
    assert any("0.100 s before the first sample, ± 4 ms, its clock 10000 ppm fast" in h for h in recording.history)
    assert any("rows from before or after the capture left out" in note for note in recording.history)


def test_a_column_of_the_captures_own_stream_stays_there(capture, second, samples):
    second(rows(60, ch2=np.full(60, 1600), in1=np.full(60, 1100)))
    samples["ch1"] = np.full(len(samples["t"]), 1520)
    recording = read_capture(capture(samples, columns=COLUMNS, rest=PULSES))
    assert len(recording.pulses["front"].time) == len(recording.time)
    assert recording.pulses["front"].delay_uncertainty == 0.0
    assert recording.pulses["tail"].delay_uncertainty == recording.pulse_delay_uncertainty == 0.004
    assert len(recording.pulses["tail"].time) == 60


def test_the_digest_covers_both_streams(capture, second, tmp_path):
    second(rows())
    manifest = capture(columns=COLUMNS, rest=PULSES)
    before = read_capture(manifest)
    path = tmp_path / "run-pulses.csv"
    path.write_text(path.read_text().replace("1003", "1004"))
    after = read_capture(manifest)
    assert before.sha256 != after.sha256
    assert before.stream_sha256 != after.stream_sha256
    assert before.manifest_sha256 == after.manifest_sha256


def test_a_second_stream_of_a_few_rows_says_nothing(capture, second):
    second(rows(49))
    recording = read_capture(capture(columns=COLUMNS, rest=PULSES))
    assert recording.pulses == {}
    assert recording.blank_pulses == {"front", "tail"}
    assert recording.pulse_delay_uncertainty == 0.0
    assert "run-pulses.csv: 49 rows, so nothing is said from it" in recording.history


@pytest.mark.parametrize(
    ("offset", "cause"),
    [("-30", "another capture, or an offset in another unit"), ("-1.5", "its sign is turned round")],
)
def test_an_offset_that_leads_out_of_the_capture_is_refused(offset, cause, capture, second, samples):
    second(rows(60))
    long = {name: np.tile(values, 6) for name, values in samples.items()}
    long["t"] = np.arange(len(long["gx"])) * 2500
    with pytest.raises(CaptureError, match=rf"run.toml:\d+: offset_s = {offset} puts every row.*{cause}"):
        read_capture(capture(long, columns=COLUMNS, rest=PULSES.replace("0.25", offset)))


@pytest.mark.parametrize(
    ("samples_of_second", "message"),
    [
        (rows(gx=np.zeros(100), ch1=np.ones(100)), 'run-pulses.csv:1: there is no column "ch2", which the manifest'),
        (rows(ch1=-np.ones(100), ch2=np.ones(100), in1=np.ones(100)), "run-pulses.csv:2 column ch1: a pulse of -1 us"),
        ({"ms": -np.arange(100), "ch1": np.ones(100), "ch2": np.ones(100), "in1": np.ones(100)}, "time goes back by"),
    ],
)
def test_a_fault_of_the_second_stream_is_told_with_its_name(samples_of_second, message, capture, second):
    second(samples_of_second)
    with pytest.raises(CaptureError) as raised:
        read_capture(capture(columns=COLUMNS, rest=PULSES))
    assert message in str(raised.value)
    assert "run-pulses.csv" in str(raised.value)


def test_a_column_that_stands_in_both_streams_is_refused(capture, second, samples):
    second(rows())
    samples["ch1"] = np.full(len(samples["t"]), 1520)
    with pytest.raises(CaptureError, match=r'run-pulses.csv: its column "ch1" stands in run.csv too'):
        read_capture(capture(samples, columns=COLUMNS, rest=PULSES))


def test_a_second_stream_of_which_nothing_is_needed_is_refused(capture, second, samples):
    second({"ms": np.arange(100) * 10, "other": np.ones(100)})
    for name in ("ch1", "ch2", "in1"):
        samples[name] = np.full(len(samples["t"]), 1520)
    with pytest.raises(CaptureError, match=r"every pulse column stands in the capture's own stream; take \[pulses\]"):
        read_capture(capture(samples, columns=COLUMNS, rest=PULSES))


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("offset_s = 0.25\n", "", "pulses has no offset_s"),
        (NEXT, "", "pulses has no offset_uncertainty_s"),
        ("0.004", "-0.004", "pulses.offset_uncertainty_s = -0.004; expected at least 0"),
        ("0.004", "0.9", "pulses.offset_uncertainty_s = 0.9; expected at most 0.5"),
        ('"ms" }', '"min" }', 'pulses.time.unit = "min" is not a word known here'),
        (NEXT, NEXT + "drift = 1\n", "pulses.drift is not a key known here"),
        ("run-pulses.csv", "gone.csv", 'stream = "gone.csv", which is not there'),
        ("run-pulses.csv", "../run-pulses.csv", 'stream = "../run-pulses.csv"'),
    ],
)
def test_a_faulty_table_of_pulses_is_refused(old, new, message, capture, second):
    second(rows())
    assert old in PULSES
    with pytest.raises(CaptureError) as raised:
        read_capture(capture(columns=COLUMNS, rest=PULSES.replace(old, new)))
    assert message in str(raised.value)


def test_a_second_stream_without_any_named_pulse_is_refused(capture, second):
    second(rows())
    columns = COLUMNS.partition("[columns.actuators]")[0]
    with pytest.raises(CaptureError, match=r"\[pulses\] names a second stream, and no column is a pulse"):
        read_capture(capture(columns=columns, rest=PULSES))
