"""A unit at a port, over a real pseudo-terminal: its rows come whole, and what happens to the port is told."""

import re
import time

import numpy as np
import pytest

from benchrig.capture.port.source import PortSource
from benchrig.errors import PortError, UsageError
from benchrig.simulation.device.pty_device import PtyDevice


def rows_of(count):
    return lambda drained: len(drained.time) >= count


def said(*codes):
    return lambda drained: [code for code in drained.codes() if code in codes] == list(codes)


@pytest.fixture(autouse=True)
def short_trials(monkeypatch):
    """Listen for as long as is needed at these rates, so that the tests take no longer."""
    monkeypatch.setattr("benchrig.capture.port.source.FIRST_ROWS", 0.6)
    monkeypatch.setattr("benchrig.capture.port.listening.LISTEN", 0.3)
    monkeypatch.setattr("benchrig.capture.port.listening.LISTEN_BRIEFLY", 0.15)


@pytest.fixture
def opened():
    """Open sources that are closed at the end."""
    sources = []

    def open_source(device, unit, **more):
        source = PortSource(device, unit.name, **more)
        sources.append(source)
        source.open()
        return source

    yield open_source
    for source in sources:
        source.close()


@pytest.mark.parametrize("form", ["frames", "lines"])
def test_every_row_comes_once_and_in_order_with_the_unit_s_own_time(form, device_of, plugged, opened, drain):
    device = device_of(form)
    source = opened(device, plugged(device))
    drained = drain(source, rows_of(300))
    count = drained.column(source, "seq")
    np.testing.assert_array_equal(np.diff(count), 1)
    stamps = drained.column(source, "t_us") * 1e-6
    np.testing.assert_allclose(drained.time, stamps - stamps[0], atol=1e-9)
    arrival = np.concatenate([each.arrival for each in drained.samples])
    assert np.all(np.diff(arrival) >= 0)
    np.testing.assert_allclose(arrival - arrival[0], drained.time, atol=0.2)
    assert (drained.lost, drained.codes()) == (0, [])
    assert source.clock.startswith("the unit's own clock (t_us)")
    assert source.notes == ()


def test_the_rows_that_were_kept_back_are_given_after_it_is_closed(device_of, plugged, opened, drain):
    device = device_of()
    source = opened(device, plugged(device))
    drained = drain(source, rows_of(150))
    source.close()
    assert not source.ended
    left = source.take(0.0)
    assert source.ended
    assert source.take(0.0) == ()
    drained.samples += left
    np.testing.assert_array_equal(np.diff(drained.column(source, "seq")), 1)


def test_a_plug_that_is_pulled_is_told_and_recording_goes_on_when_it_is_back(device_of, plugged, opened, drain):
    device = device_of()
    unit = plugged(device)
    source = opened(device, unit)
    drained = drain(source, rows_of(200))
    before = len(drained.time)
    unit.unplug()
    drain(source, said("unplugged"), drained)
    (gone,) = drained.troubles
    assert gone.problem.place == unit.name
    assert gone.problem.finding == "is gone"
    assert not gone.is_final
    unit.plug_in()
    drain(source, said("unplugged", "unplugged."), drained)
    drain(source, rows_of(before + 200), drained)
    missing = np.diff(drained.column(source, "seq"))
    assert max(missing) > 40  # rows of the time without a plug
    assert np.all(np.sort(missing)[:-1] == 1)
    # the gap is as long as the plug was out, by the unit's own clock
    stamps = drained.column(source, "t_us") * 1e-6
    np.testing.assert_allclose(np.diff(drained.time), np.diff(stamps), atol=1e-6)
    assert drained.lost == max(missing) - 1


def test_a_unit_that_starts_again_is_told_and_goes_on_in_time(device_of, plugged, opened, drain, monkeypatch):
    device = device_of()
    unit = plugged(device)
    source = opened(device, unit)
    drained = drain(source, rows_of(200))
    unit.restart(0.3)
    drain(source, rows_of(400), drained)
    assert np.any(np.diff(drained.column(source, "seq")) < 0)
    assert np.all(np.diff(drained.time) > 0)
    assert np.diff(drained.time).max() == pytest.approx(0.3, abs=0.15)
    assert any("began again" in note for note in source.notes)
    (told,) = drained.troubles
    assert told.code == "began again"
    assert re.search(r"its clock broke off: the unit began again at \d\.\d\d s; the time between", str(told.problem))
    monkeypatch.setattr("benchrig.capture.port.source.SHOWN", 0.0)
    drain(source, said("began again", "began again."), drained)


def test_noise_on_the_wire_damages_what_it_hits_and_nothing_else(device_of, plugged, opened, drain):
    device = device_of()
    unit = plugged(device)
    source = opened(device, unit)
    drained = drain(source, rows_of(100))
    unit.garbage(300)
    drain(source, rows_of(300), drained)
    missing = np.diff(drained.column(source, "seq")) - 1
    assert missing.sum() <= 2
    assert drained.lost == missing.sum()
    assert sum(each.refused for each in drained.samples) >= 1


def test_silence_is_told_and_is_over_with_the_next_row(device_of, plugged, opened, drain):
    device = device_of()
    unit = plugged(device)
    source = opened(device, unit)
    drained = drain(source, rows_of(100))
    unit.stall(2.6)
    drain(source, said("silent", "silent."), drained)
    (silent, _) = drained.troubles
    assert silent.problem.finding == "is open, and nothing has come for 2 s"
    assert silent.problem.expectation == "rows of bench unit, frames"


def test_a_unit_that_must_be_started_is_started(device_of, plugged, opened, drain):
    device = device_of("lines", ('sends = "lines"', 'sends = "lines"\nstart = "stream on\\r\\n"'))
    source = opened(device, plugged(device, waits=True))
    assert len(drain(source, rows_of(50)).time) >= 50


def test_a_unit_that_gets_its_power_late_is_not_refused_and_is_started_then(device_of, plugged, opened, drain):
    device = device_of("lines", ('sends = "lines"', 'sends = "lines"\nstart = "stream on\\r\\n"'))
    unit = plugged(device, waits=True)
    unit.ignore_start(0.5)
    source = opened(device, unit)
    drained = drain(source, rows_of(50))
    assert drained.codes()[:1] == ["silent"]


def test_another_speed_than_the_unit_s_is_refused_and_the_right_one_is_named(device_of, plugged, opened):
    unit = plugged(device_of())
    wrong = device_of("frames", ("baud = 921600", "baud = 460800"))
    said = []
    with pytest.raises(PortError) as refused:
        opened(wrong, unit, say=said.append)
    assert said == ["Nothing readable yet at 460,800 bits a second; trying other speeds ..."]
    (problem,) = refused.value.problems
    assert problem.finding == "at 460,800 bits a second what comes is no row of bench unit, frames; at 921,600 it is"
    assert problem.act == f"write baud = 921600 in {wrong.file.path.name}"
    assert refused.value.exit_status == 6
    # the port was let go
    assert opened(device_of(), unit).name


def test_what_is_no_row_at_any_speed_is_refused_as_another_unit_s(device_of, plugged, opened):
    unit = plugged(device_of("lines"))
    with pytest.raises(
        PortError, match=r"none of them are rows of bench unit, frames; .* this unit's file; .* 115,200"
    ):
        opened(device_of("frames"), unit)


def test_lines_with_other_columns_are_refused_with_both_counts(device_of, plugged, opened):
    unit = plugged(device_of("lines"))
    fewer = device_of("lines", ('"us_tail",\n', '"us_tail", "spare", "more",\n'))
    with pytest.raises(PortError, match=r"its lines have 19 fields; expected 21 fields, as unit-lines-\d+\.toml says"):
        opened(fewer, unit)


def test_lines_whose_names_were_sent_before_are_refused_with_the_way_out(device_of, plugged, opened, monkeypatch):
    monkeypatch.setattr("benchrig.simulation.device.encoder.HEADER_EVERY", 10**9)
    start, end = "order = [", "]\n\n[counter]"
    text = device_of("lines").file.path.read_text(encoding="utf-8")
    order = text[text.index(start) : text.index(end) + 2]
    device = device_of("lines", (order, ""))
    unit = plugged(device)
    while not unit.sent:  # what was sent before the port was opened is gone
        time.sleep(0.01)
    with pytest.raises(
        PortError, match=r"came without the names of their columns; .* or write `order` under \[lines\]"
    ):
        opened(device, unit)


def test_a_port_that_is_read_already_is_refused(device_of, plugged, opened):
    device = device_of()
    unit = plugged(device)
    opened(device, unit)
    with pytest.raises(PortError, match=r"is in use; expected a port that no other program has open; .* close that"):
        PortSource(device, unit.name).open()


def test_a_port_that_is_not_there_is_refused_with_those_that_are(device_of, tmp_path):
    with pytest.raises(PortError, match=r"nothing-here: is not there; expected one of the ports of this computer: "):
        PortSource(device_of(), str(tmp_path / "nothing-here")).open()


def test_a_simulated_unit_whose_port_can_have_no_name_is_refused(bench, device_of, tmp_path):
    unit = PtyDevice(bench, device_of(), link=tmp_path / "none\x1b[2J" / "port")
    with pytest.raises(UsageError, match=r"none\\u001b\[2J/port cannot be made: No such file or directory; give ano"):
        unit.start()
    unit.stop()


def test_a_file_is_no_port(device_of, tmp_path):
    file = tmp_path / "notes.txt"
    file.write_text("kept")
    with pytest.raises(PortError, match=r"notes\.txt: is no serial port; .* the name of a file stands where"):
        PortSource(device_of(), str(file)).open()
    assert file.read_text() == "kept"
