"""One contract for every form of stream: the same samples give the same recording."""

from __future__ import annotations

import hashlib
import io
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import feather, parquet

from benchrig.capture.reader import read_capture

COLUMNS = """
time = { names = ["t"], unit = "us" }
gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "g" }
magnetometer = { names = ["mx", "my", "mz"], unit = "uT" }
unit_attitude = { names = ["roll", "pitch", "yaw"], unit = "deg" }
temperature = { names = ["temp"], unit = "C" }
[columns.actuators]
front = { names = ["ch1"], unit = "us" }
"""


def full(samples):
    """Add a compass at a tenth of the rate, an attitude, a temperature that starts late, and pulses at a fifth."""
    random = np.random.default_rng(8)
    count = len(samples["t"])
    rows = np.arange(count)
    more = dict(samples)
    for name in ("mx", "my", "mz"):
        more[name] = np.where(rows % 10 == 0, random.integers(-500, 500, count) / 10, np.nan)
    for name in ("roll", "pitch", "yaw"):
        more[name] = random.integers(-1800, 1800, count) / 10
    more["temp"] = np.where(rows < 30, np.nan, 21.5)
    more["ch1"] = np.where(rows % 5 == 0, 1500.0 + rows, np.nan)
    return more


def arrow_table(samples) -> pa.Table:
    nothing = {name: np.isnan(np.asarray(values, dtype=float)) for name, values in samples.items()}
    return pa.table({name: pa.array(values, mask=nothing[name]) for name, values in samples.items()})


def as_parquet(samples) -> bytes:
    sink = io.BytesIO()
    parquet.write_table(arrow_table(samples), sink, row_group_size=97)
    return sink.getvalue()


def as_feather(samples) -> bytes:
    sink = io.BytesIO()
    feather.write_feather(arrow_table(samples), sink, compression="lz4", chunksize=97)
    return sink.getvalue()


def as_arrow_stream(samples) -> bytes:
    sink = io.BytesIO()
    table = arrow_table(samples)
    with pa.ipc.new_stream(sink, table.schema) as writer:
        writer.write_table(table, max_chunksize=50)
    return sink.getvalue()


def with_comments(samples, as_text) -> str:
    head, *rows = as_text(samples).splitlines()
    return "\n".join(["# made on the bench", "", head, *rows[:10], "  # bumped the table", *rows[10:], "", ""])


def quoted(samples, as_text) -> str:
    head, *rows = as_text(samples).splitlines()
    return "\n".join([", ".join(f'"{name}"' for name in head.split(",")), *rows])


def quoted_numbers(samples, as_text) -> str:
    head, *rows = as_text(samples).splitlines()
    return "\n".join([head, *(",".join(f'"{field}"' for field in row.split(",")) for row in rows)])


def padded(samples, as_text) -> str:
    return as_text(samples, separator=" ,  ")


def with_trailing_separator(samples, as_text) -> str:
    head, *rows = as_text(samples).splitlines()
    return "\n".join([head, *(f"{row}," for row in rows)])


FORMS = {
    "commas": ("run.csv", lambda s, t: t(s)),
    "semicolons and decimal commas": ("run.csv", lambda s, t: t(s, separator=";", decimal=",")),
    "semicolons and decimal points": ("run.csv", lambda s, t: t(s, separator=";")),
    "tabs": ("run.tsv", lambda s, t: t(s, separator="\t")),
    "Windows line ends and a byte order mark": ("run.csv", lambda s, t: "\ufeff" + t(s, end="\r\n")),
    "line ends of carriage returns alone": ("run.csv", lambda s, t: t(s, end="\r")),
    "UTF-16": ("run.csv", lambda s, t: t(s).encode("utf-16")),
    "comments and empty lines": ("run.csv", with_comments),
    "quoted names": ("run.csv", quoted),
    "quoted numbers": ("run.csv", quoted_numbers),
    "padded fields": ("run.csv", padded),
    "a separator at the end of each row": ("run.csv", with_trailing_separator),
    "no line end after the last row": ("run.csv", lambda s, t: t(s).rstrip("\n")),
    "capital ending": ("run.CSV", lambda s, t: t(s)),
    "Parquet": ("run.parquet", lambda s, _: as_parquet(s)),
    "Feather": ("run.feather", lambda s, _: as_feather(s)),
    "Arrow stream": ("run.feather", lambda s, _: as_arrow_stream(s)),
}


@pytest.mark.parametrize("form", FORMS)
def test_every_form_of_stream_gives_the_same_recording(form, samples, as_text, capture):
    samples = full(samples)
    name, write = FORMS[form]
    recording = read_capture(capture(write(samples, as_text), name=name, columns=COLUMNS))
    degree = np.pi / 180
    np.testing.assert_allclose(recording.time, samples["t"] / 1e6, rtol=1e-15)
    np.testing.assert_array_equal(
        recording.angular_rate, np.column_stack([samples[n] for n in ("gx", "gy", "gz")]) * degree
    )
    np.testing.assert_array_equal(
        recording.acceleration, np.column_stack([samples[n] for n in ("ax", "ay", "az")]) * 9.80665
    )
    np.testing.assert_array_equal(
        recording.magnetic_field, np.column_stack([samples[n] for n in ("mx", "my", "mz")]) * 1e-6
    )
    np.testing.assert_array_equal(
        recording.unit_attitude, np.column_stack([samples[n] for n in ("roll", "pitch", "yaw")]) * degree
    )
    np.testing.assert_array_equal(recording.temperature, samples["temp"])
    pulses = recording.pulses["front"]
    np.testing.assert_array_equal(pulses.time, recording.time[::5])
    np.testing.assert_array_equal(pulses.width, samples["ch1"][::5] * 1e-6)
    counts = [note for note in recording.history if "no new value" in note]
    assert counts == [
        "magnetometer: no new value in 360 of 400 rows",
        "temperature: no new value in 30 of 400 rows",
        "pulses of front: no new value in 320 of 400 rows",
    ]


def test_runs_of_blanks_and_tabs_separate_where_no_field_is_blank(samples, as_text, capture):
    lines = as_text(samples, separator="  \t ").splitlines()
    recording = read_capture(capture("\n".join(f"   {line}  " for line in lines) + "\n"))
    np.testing.assert_allclose(recording.angular_rate[:, 1], np.radians(samples["gy"]), rtol=1e-15)
    assert recording.history == ()


def test_the_arrays_of_a_recording_cannot_be_written_to(capture):
    recording = read_capture(capture())
    for array in (recording.time, recording.angular_rate, recording.acceleration):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0


def test_the_digest_is_of_the_stream_followed_by_the_manifest(capture):
    manifest = capture()
    stream = manifest.with_name("run.csv")
    expected = hashlib.sha256(stream.read_bytes() + manifest.read_bytes()).hexdigest()
    recording = read_capture(manifest)
    assert (recording.sha256, recording.stream, recording.manifest) == (expected, stream, manifest)


def test_what_is_said_about_the_bench_is_kept(capture):
    recording = read_capture(
        capture(
            capture='recorded = 2026-11-25T10:00:00+01:00\noperator = "R. Vane"\ntemperature_c = 21.5',
            rest="[turntable]\nrpm = 33.333\npivot_mm = { aft = 20 }\n",
        )
    )
    assert recording.recorded.isoformat() == "2026-11-25T10:00:00+01:00"
    assert (recording.operator, recording.temperature_at_bench) == ("R. Vane", 21.5)
    assert recording.turntable.rate == pytest.approx(3.490624, abs=1e-6)
    np.testing.assert_allclose(recording.turntable.pivot, [-0.02, 0.0, 0.0])


def test_what_is_not_said_about_the_bench_is_none(capture):
    recording = read_capture(capture())
    assert recording.recorded is recording.operator is recording.temperature_at_bench is recording.turntable is None
    assert recording.magnetic_field is recording.unit_attitude is recording.temperature is None
    assert (recording.prompts, recording.seen, dict(recording.pulses)) == ((), (), {})


LOADED = """
import sys
from pathlib import Path
from benchrig.capture.reader import read_capture
read_capture(Path(sys.argv[1]))
print(*[name for name in ("pandas", "scipy", "numba") if name in sys.modules])
"""


@pytest.mark.parametrize("form", ["commas", "Parquet", "Feather"])
def test_reading_a_clean_capture_loads_no_heavy_library(form, samples, as_text, capture: Callable[..., Path]):
    name, write = FORMS[form]
    manifest = capture(write(full(samples), as_text), name=name, columns=COLUMNS)
    done = subprocess.run([sys.executable, "-c", LOADED, str(manifest)], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
