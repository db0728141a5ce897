"""A replay gives what was recorded: row for row, in time, and to the same verdict."""

import math
import tomllib

import numpy as np
import pytest

from benchrig.capture.port.replay import BATCH_S, OWN_COLUMNS, ReplaySource
from benchrig.capture.reader import read_capture
from benchrig.errors import CaptureError, UsageError
from benchrig.job import judge
from benchrig.report.result import result_json


class Hands:
    """A clock that only moves when it is slept on."""

    def __init__(self):
        self.now = 100.0

    def clock(self):
        """Tell the time, s."""
        return self.now

    def sleep(self, seconds):
        """Let the time pass."""
        self.now += seconds


def drained(source):
    source.open()
    batches = []
    for _ in range(100_000):
        if source.ended:
            break
        batches += source.take(0.1)
    assert source.ended
    return batches


@pytest.fixture
def hands():
    return Hands()


def replay(captures, name, hands, speed=math.inf, airframe=None):
    return ReplaySource(captures / f"{name}.toml", airframe, speed, clock=hands.clock, sleep=hands.sleep)


def test_every_row_comes_once_and_in_order_with_the_time_that_the_judge_would_read(captures, hands):
    recording = read_capture(captures / "dunlin-ok.toml")
    source = replay(captures, "dunlin-ok", hands)
    batches = drained(source)
    time = np.concatenate([batch.time for batch in batches])
    np.testing.assert_array_equal(time, recording.time)
    gyro = [source.columns.index(name) for name in ("gx", "gy", "gz")]
    values = np.concatenate([batch.values for batch in batches])
    np.testing.assert_array_equal(np.radians(values[:, gyro]), recording.angular_rate)


def test_as_fast_as_it_can_never_sleeps_and_comes_in_batches_of_a_port(captures, hands):
    batches = drained(replay(captures, "teal-elevator-reversed", hands))
    assert hands.now == 100.0
    assert all(batch.time[-1] - batch.time[0] <= BATCH_S for batch in batches)


@pytest.mark.parametrize("speed", [1.0, 4.0])
def test_at_a_pace_no_row_comes_before_its_time_nor_much_after(captures, hands, speed):
    source = replay(captures, "knot-gyro-roll-sign", hands, speed)
    source.open()
    while not source.ended:
        for batch in source.take(0.1):
            assert batch.time[-1] / speed <= hands.now - 100.0
            assert batch.time[0] / speed >= hands.now - 100.0 - 0.1
            np.testing.assert_array_equal(batch.arrival, batch.time / speed)
    assert hands.now - 100.0 == pytest.approx(source.duration / speed, abs=0.1)


def test_a_take_before_anything_is_due_waits_no_longer_than_it_may(captures, hands):
    source = replay(captures, "dunlin-ok", hands, 0.001)
    source.open()
    assert len(source.take(0.5)[0].time) == 1
    before = hands.now
    assert source.take(0.5) == ()
    assert hands.now - before <= 0.5


@pytest.mark.parametrize("name", ["dunlin-unit-turned", "teal-elevator-reversed"])
def test_a_recording_of_a_replay_judges_to_the_last_digit_as_the_original(
    captures, demo_airframe, tmp_path, name, hands
):
    airframe = demo_airframe(name.partition("-")[0])
    source = replay(captures, name, hands, airframe=airframe)
    batches = drained(source)
    rows = [
        [repr(float(number)) if math.isfinite(number) else "" for number in (time, *values)]
        for batch in batches
        for time, values in zip(batch.time, batch.values, strict=True)
    ]
    header = ["bench_time_s", *source.columns]
    text = "\n".join(",".join(row) for row in [header, *rows]) + "\n"
    (tmp_path / "again.csv").write_text(text)
    manifest = (captures / f"{name}.toml").read_text()
    stream = tomllib.loads(manifest)["capture"]["stream"]
    manifest = manifest.replace(f'"{stream}"', '"again.csv"')
    manifest = manifest.replace(
        'time = {names = ["t_us"], unit = "us"}', 'time = {names = ["bench_time_s"], unit = "s"}'
    )
    (tmp_path / "again.toml").write_text(manifest)
    first = judge(airframe, read_capture(captures / f"{name}.toml", airframe))
    second = judge(airframe, read_capture(tmp_path / "again.toml", airframe))
    for record in (first, second):
        assert record.matrix
    assert without_files(result_json(first)) == without_files(result_json(second))


def without_files(text):
    return [
        line
        for line in text.splitlines()
        if not any(
            f'"{key}"' in line
            for key in ("file", "stream", "sha256", "stream_sha256", "manifest_sha256", "history", "seal")
        )
    ]


def test_what_a_store_adds_is_left_out_of_a_replay_of_that_store(captures, tmp_path, hands):
    lines = (captures / "dunlin-ok.csv").read_text().splitlines()
    renamed = [lines[0].replace("t_us", OWN_COLUMNS[0]), *lines[1:]]
    (tmp_path / "dunlin-ok.csv").write_text("\n".join(renamed) + "\n")
    manifest = (captures / "dunlin-ok.toml").read_text().replace('"t_us"', f'"{OWN_COLUMNS[0]}"')
    (tmp_path / "dunlin-ok.toml").write_text(manifest)
    source = replay(tmp_path, "dunlin-ok", hands)
    assert OWN_COLUMNS[0] not in source.columns
    assert drained(source)[0].values.shape[1] == len(source.columns)


def test_nothing_comes_after_the_end_nor_after_it_was_closed(captures, hands):
    source = replay(captures, "dunlin-ok", hands)
    source.open()
    source.take(0.1)
    source.close()
    source.close()
    assert source.ended
    assert source.take(0.1) == ()


def test_a_capture_that_cannot_be_used_is_refused_before_anything_is_opened(tmp_path):
    with pytest.raises(CaptureError, match=r"none\.toml"):
        ReplaySource(tmp_path / "none.toml")


@pytest.mark.parametrize("speed", [0.0, -1.0, math.nan])
def test_a_speed_that_is_none_is_refused(captures, speed):
    with pytest.raises(UsageError, match=r"--speed: .* times as fast; expected a number above zero, or inf"):
        ReplaySource(captures / "dunlin-ok.toml", speed=speed)
