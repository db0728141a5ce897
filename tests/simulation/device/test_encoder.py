"""What the simulated unit sends is what its device file says: a decoder of that file gives the bench's rows again."""

import numpy as np
import pytest

from benchrig.capture.device.decoder import Decoder
from benchrig.capture.device.device_file import read_device
from benchrig.capture.units import UNITS
from benchrig.errors import UsageError
from benchrig.simulation.device.device_text import device_text
from benchrig.simulation.device.encoder import Encoder
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.options import Options


@pytest.fixture
def bench(demo_airframe):
    return LiveBench(demo_airframe("dunlin"), seed=41, options=Options(commands=True))


def device(text, tmp_path, *changes):
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (tmp_path / "unit.toml").write_text(text, encoding="utf-8")
    return read_device(tmp_path / "unit.toml")


def decoded(read, pieces):
    """Decode pieces that come a tenth of a second apart; the first is given up, as what joins in the middle is."""
    decoder = Decoder(read)
    samples = []
    for at in range(0, len(pieces), 10):
        samples += decoder.feed(b"".join(pieces[at : at + 10]), 0.01 * at)
    samples += decoder.finish()
    assert decoder.tally.refused == 0
    return np.concatenate([each.values for each in samples]), np.concatenate([each.time for each in samples])


SYNC = ('marked_by = "cobs"', 'marked_by = "sync"\nsync = "AA 55"')


@pytest.mark.parametrize(
    ("form", "changes"),
    [
        ("lines", ()),
        ("lines", (('separator = ","', 'separator = ";"\ndecimal = ","'),)),
        ("lines", (('separator = ","', 'separator = "tab"\ncheck = "xor"'),)),
        ("frames", ()),
        ("frames", (('"little"', '"big"'), ("crc-16/ccitt-false", "crc-16/modbus"))),
        ("frames", (SYNC, ("crc-16/ccitt-false", "crc-32"))),
        ("frames", (SYNC, ("crc-16/ccitt-false", 'crc-16/xmodem"\ncheck_covers_sync = true #'))),
    ],
)
def test_a_decoder_of_the_same_file_gives_the_rows_again(form, changes, bench, tmp_path):
    read = device(device_text(bench, form), tmp_path, *changes)
    encoder = Encoder(read, bench)
    bench.ask("nose up")
    rows = bench.rows(5.0)
    values, time = decoded(read, encoder.encoded(rows))
    first = len(rows) - len(values)
    assert first <= 1
    np.testing.assert_array_equal(values[:, 0], np.arange(first, len(rows)))
    np.testing.assert_allclose(time, (rows[first:, 0] - rows[first, 0]) * 1e-6, atol=1e-9)
    for group in bench.groups[1:]:
        role, _, name = group.role.partition(":")
        meaning = read.meaning
        declared = {"actuator": meaning.actuators, "command": meaning.commands}.get(role, meaning.groups)[name or role]
        sent = values[:, [read.columns.index(each) for each in declared.names]] * declared.unit.factor
        known = rows[first:, [bench.columns.index(each) for each in group.names]]
        known = known * UNITS["actuators" if name else role][group.unit]
        # half a count, and what a line or a field of four bytes rounds
        step = declared.unit.factor if declared.unit.count else 0.0
        np.testing.assert_allclose(sent, known, atol=0.51 * step + 1e-9, rtol=1e-6)


def test_a_clock_of_16_bits_runs_over_and_comes_out_whole(bench, tmp_path):
    text = device_text(bench).replace('{ name = "t_us", type = "u32" }', '{ name = "t_us", type = "u16" }')
    read = device(text, tmp_path)
    rows = bench.rows(3.0)
    values, time = decoded(read, Encoder(read, bench).encoded(rows))
    assert np.sum(np.diff(values[:, 1]) < 0) == pytest.approx(3e6 / 2**16, abs=1)
    np.testing.assert_allclose(time[-1], (rows[-1, 0] - rows[len(rows) - len(values), 0]) * 1e-6, atol=2e-3)


def test_a_unit_that_starts_again_counts_and_stamps_from_zero(bench, tmp_path):
    read = device(device_text(bench, "lines"), tmp_path)
    encoder = Encoder(read, bench)
    encoder.encoded(bench.rows(1.0))
    encoder.restart(bench.now)
    count, stamp = encoder.encoded(bench.rows(0.1))[0].split(b",")[:2]
    assert (int(count), int(stamp) < 20_000) == (0, True)
    encoder.jump(3.0)
    assert int(encoder.encoded(bench.rows(0.1))[0].split(b",")[1]) > 3_000_000


def test_a_line_of_names_is_sent_first_and_again_where_the_file_gives_no_order(bench, tmp_path):
    text = device_text(bench, "lines")
    read = device(text, tmp_path, (text[text.index("order = [") : text.index("[counter]")], "\n"))
    pieces = Encoder(read, bench).encoded(bench.rows(6.0))
    named = [at for at, piece in enumerate(pieces) if b"seq" in piece]
    assert named == [0, 500]
    assert len(decoded(read, [b"greeting\r\n", *pieces])[0]) == len(pieces)


def test_a_value_beyond_its_field_ends_at_the_field_s_end(bench, tmp_path):
    read = device(device_text(bench), tmp_path)
    rows = bench.rows(1.0)
    rows[:, bench.columns.index("gx")] = 9000.0
    values, _ = decoded(read, Encoder(read, bench).encoded(rows))
    assert set(values[:, read.columns.index("gx")]) == {32767.0}


def test_a_device_that_sends_what_the_bench_has_not_is_refused(bench, demo_airframe, tmp_path):
    read = device(device_text(bench), tmp_path)
    with pytest.raises(
        UsageError, match=r'unit\.toml sends "magnetometer", "actuator:front", .*; expected what the sim'
    ):
        Encoder(read, LiveBench(demo_airframe("knot"), 1))


@pytest.mark.parametrize(("name", "form"), [("bench-unit", "frames"), ("bench-unit-lines", "lines")])
def test_the_device_files_that_come_along_are_those_of_the_demo_helicopter_s_unit(name, form, captures, demo_airframe):
    shipped = (captures / f"{name}.toml").read_text(encoding="utf-8")
    assert shipped == device_text(LiveBench(demo_airframe("dunlin"), 1), form)
    read_device(captures / f"{name}.toml")


@pytest.mark.parametrize("airframe", ["dunlin", "teal", "knot"])
@pytest.mark.parametrize("form", ["frames", "lines"])
def test_every_demo_airframe_has_a_device_file_that_can_be_read(airframe, form, demo_airframe, tmp_path):
    bench = LiveBench(demo_airframe(airframe), 1)
    read = device(device_text(bench, form), tmp_path)
    assert tuple(read.meaning.actuators) == tuple(each.name for each in demo_airframe(airframe).actuators)
