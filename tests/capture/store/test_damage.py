"""Whatever happens to a stored file: what is read is a beginning of the truth, and said to be; or it is refused."""

import os
import random

import numpy as np
import pyarrow as pa
import pytest

from benchrig.capture.reader import read_capture
from benchrig.capture.store.ending import ending_path, read_ending
from benchrig.capture.store.reading import open_store
from benchrig.capture.store.verification import examine
from benchrig.errors import CaptureError

OFTEN = int(os.environ.get("BENCHRIG_COUNT", "1000"))
COLUMNS = """
time = { names = ["bench_time_s"], unit = "s" }
gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "m/s2" }
"""


def cut(data, chance):
    return data[: chance.randrange(len(data))]


def zeroed(data, chance):
    harmed = data
    while harmed == data:  # zeros in place of zeros harm nothing
        at = chance.randrange(len(data))
        length = chance.choice([1, 8, 100, 512, 4096, len(data)])
        harmed = data[:at] + bytes(len(data[at : at + length])) + data[at + length :]
    return harmed


def flipped(data, chance):
    at, bit = chance.randrange(len(data)), chance.randrange(8)
    return data[:at] + bytes([data[at] ^ 1 << bit]) + data[at + 1 :]


def taken_out(data, chance):
    at = chance.randrange(len(data))
    return data[:at] + data[at + chance.randrange(1, 3000) :]


def said_twice(data, chance):
    at, length = chance.randrange(len(data)), chance.randrange(1, 3000)
    return data[: at + length] + data[at:]


def zeros_after_a_cut(data, chance):
    return cut(data, chance) + bytes(chance.randrange(1, 5000))


@pytest.fixture
def places(tmp_path, bench):
    """Give a stored file's path with its end file beside it, and one without."""
    with_end, without = tmp_path / "with" / "bench.arrow", tmp_path / "without" / "bench.arrow"
    for path in (with_end, without):
        path.parent.mkdir()
    ending_path(with_end).write_bytes(bench.end)
    return with_end, without


@pytest.mark.parametrize("harm", [cut, zeroed, flipped, taken_out, said_twice, zeros_after_a_cut])
def test_no_harm_to_a_stored_file_goes_unnoticed(harm, bench, places):
    chance = random.Random(3)  # noqa: S311 - harm by chance, the same in every run
    with_end, without = places
    outcomes = {"a beginning": 0, "refused": 0}
    for _ in range(OFTEN):
        data = harm(bench.data, chance)
        for path in (with_end, without):
            outcomes[outcome(path, data, bench)] += 1
    assert outcomes["refused"] >= OFTEN / 2


def outcome(path, data, bench):
    """Read a harmed file, and hold what came out against the truth."""
    try:
        store = open_store(path, data)
    except CaptureError:
        return "refused"
    count = store.values.shape[1]
    assert store.names[2:5] == ("gx", "gy", "gz")
    assert data != bench.data
    assert np.array_equal(store.values.T, bench.rows[:count], equal_nan=True)
    if store.problem is not None:
        return "refused"
    assert not ending_path(path).exists()
    assert store.notes[-1].startswith("the recording was interrupted: ")
    return "a beginning"


def test_a_byte_turned_in_the_last_batch_of_an_unended_file_costs_that_batch_alone(bench):
    found = examine("bench.arrow", bench.data, None)
    last = found.batches[-1]
    for at in range(last.at, last.next_at, 7):
        data = bench.data[:at] + bytes([bench.data[at] ^ 8]) + bench.data[at + 1 :]
        assert len(examine("bench.arrow", data, None).batches) == len(found.batches) - 1


@pytest.mark.parametrize(
    ("harm", "message"),
    [
        (
            lambda data: data[:-1000],
            r"bench.arrow after batch 2\d \(row \d+, 1.1\d\d s\): 1,000 bytes are missing; expec",
        ),
        (
            lambda data: data[:-1000] + bytes(1000),
            r"bench.arrow after batch 2\d .*: is not as it was closed; expected th",
        ),
        (
            lambda data: data + data[-1000:],
            r"after batch 22 \(row 240, 1.19\d s\): what follows is not as it was written",
        ),
        (lambda data: data[:-8], "8 bytes are missing"),
        (
            lambda data: data[:5000] + b"\0" * 30 + data[5030:],
            r"bench.arrow after batch 2 \(row 24, 0.115 s\): what f",
        ),
        (lambda data: data[:100] + b"?" + data[101:], "bench.arrow: its beginning, which names the columns, is"),
        (
            lambda data: b"?" + data[1:],
            "bench.arrow: its content is something else; expected Feather, as its name says",
        ),
        (
            lambda data: data[:200],
            "bench.arrow: its beginning, which names the columns, is not as it was written; likely",
        ),
    ],
    ids=["cut", "zeroed", "longer", "no end", "hole", "head", "mark", "no batch"],
)
def test_a_damaged_recording_is_refused_by_place_with_the_way_to_what_is_left(harm, message, bench, capture):
    manifest = capture(harm(bench.data), name="bench.arrow", columns=COLUMNS)
    ending_path(manifest.with_name("bench.arrow")).write_bytes(bench.end)
    with pytest.raises(CaptureError, match=message):
        read_capture(manifest)


def test_the_end_of_another_recording_is_recognised(bench, capture, new_store):
    other, _ = new_store("other.arrow", columns=("p", "q"))
    end = other.close().read_bytes()
    manifest = capture(bench.data, name="bench.arrow", columns=COLUMNS)
    ending_path(manifest.with_name("bench.arrow")).write_bytes(end)
    with pytest.raises(CaptureError, match=r"bench.arrow.end.json: is the end of another recording than bench.arrow"):
        read_capture(manifest)


def test_a_recording_is_read_as_any_capture_is_and_its_account_goes_into_the_history(bench, capture):
    manifest = capture(bench.data, name="bench.arrow", columns=COLUMNS)
    recording = read_capture(manifest)
    assert np.allclose(recording.time, bench.rows[:, 0] - bench.rows[0, 0])
    assert np.allclose(recording.acceleration, bench.rows[:, 5:8])
    assert recording.history[1] == (
        "the recording was ended properly, but bench.arrow.end.json, which would confirm that, is not beside it"
    )
    ending_path(manifest.with_name("bench.arrow")).write_bytes(bench.end)
    assert read_capture(manifest).history[0].endswith("; it ended so: the operator stopped it")


def test_an_interrupted_recording_is_read_to_its_last_whole_batch(bench, capture):
    recording = read_capture(capture(bench.data[:-700], name="bench.arrow", columns=COLUMNS))
    assert len(recording.time) == 234
    assert any("the recording was interrupted: it stops at 1.1" in note for note in recording.history)


def test_a_stream_that_another_program_wrote_anew_is_refused_and_a_foreign_one_is_read_as_ever(bench, capture):
    table = pa.ipc.open_stream(pa.BufferReader(bench.data)).read_all()

    def written_anew(table):
        sink = pa.BufferOutputStream()
        with pa.ipc.new_stream(sink, table.schema) as stream:
            stream.write_table(table)
        return sink.getvalue().to_pybytes()

    with pytest.raises(CaptureError, match=r"bench.arrow after its head: what follows is not as it was"):
        read_capture(capture(written_anew(table), name="bench.arrow", columns=COLUMNS))
    foreign = written_anew(table.replace_schema_metadata(None))
    assert len(read_capture(capture(foreign, name="bench.arrow", columns=COLUMNS)).time) == 240


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "does not say how the recording ended"),
        (b"{}", "does not say how the recording ended (schema: Field required)"),
        (b'{"schema": "bench-store-end/2"}', "does not say how the recording ended (schema: String should match"),
        (b"\xff\xfe", "does not say how the recording ended"),
    ],
)
def test_an_end_file_that_is_none_is_refused_with_the_way_round_it(content, message, bench):
    with pytest.raises(CaptureError) as caught:
        read_ending("bench.arrow.end.json", content)
    assert f"bench.arrow.end.json: {message}" in str(caught.value)
    assert "or move it away, and the recording is read as one whose end nothing confirms" in str(caught.value)
    assert read_ending("bench.arrow.end.json", bench.end).rows == 240


@pytest.mark.parametrize("harm", ["taken out", "said twice", "exchanged"])
def test_whole_batches_in_another_order_or_number_are_noticed(harm, bench, places):
    batches = examine("bench.arrow", bench.data, None).batches
    first, second = (bench.data[batch.at : batch.next_at] for batch in batches[4:6])
    before, after = bench.data[: batches[4].at], bench.data[batches[5].next_at :]
    middle = {"taken out": second, "said twice": first + first + second, "exchanged": second + first}[harm]
    for path in places:
        store = open_store(path, before + middle + after)
        assert store.problem is not None
        kept = batches[4].mark.total if harm == "said twice" else batches[3].mark.total
        assert np.array_equal(store.values.T, bench.rows[:kept], equal_nan=True)
