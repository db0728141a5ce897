"""A port read by a thread: every byte in order with its time, and what happens to the port as events."""

import os
import threading
import time

import pytest

from benchrig.capture.port.listing import PortName
from benchrig.capture.port.serial_port import Chunk, Lost, SerialPort
from benchrig.errors import PortError

PATIENCE = 10.0  # s


@pytest.fixture
def ends():
    pair = os.openpty()
    yield pair
    for end in pair:
        os.close(end)


@pytest.fixture
def port(ends):
    link = SerialPort(PortName(os.ttyname(ends[1])), 115200, b"go\r")
    link.open()
    yield link
    link.close()


def taken_until(port, condition):
    events = []
    stop = time.monotonic() + PATIENCE
    while not condition(events):
        assert time.monotonic() < stop, events
        events += port.take(0.05)
    return events


def bytes_of(events):
    return b"".join(event.data for event in events if isinstance(event, Chunk))


def test_every_byte_comes_in_order_as_it_is_with_times_that_only_grow(ends, port):
    data = bytes(range(256)) * 8
    for at in range(0, len(data), 100):
        os.write(ends[0], data[at : at + 100])
    before = time.monotonic()
    events = taken_until(port, lambda events: len(bytes_of(events)) >= len(data))
    assert bytes_of(events) == data
    stamps = [event.at for event in events]
    assert stamps == sorted(stamps)
    assert stamps[-1] - before < PATIENCE


def test_the_text_that_starts_the_unit_is_written_when_it_is_opened_and_whenever_it_is_asked(ends, port):
    assert os.read(ends[0], 100) == b"go\r"
    port.write(b"again\r")
    assert os.read(ends[0], 100) == b"again\r"


def test_a_unit_that_takes_no_text_is_read_all_the_same(ends):
    # nobody reads what is written: it fills the way there, and the write gives up
    link = SerialPort(PortName(os.ttyname(ends[1])), 115200, b"go\r" * 20_000)
    link.open()
    os.write(ends[0], b"1,2,3\n")
    assert bytes_of(taken_until(link, bytes_of)) == b"1,2,3\n"
    link.close()


def test_a_take_of_nothing_waits_no_longer_than_it_may(port):
    before = time.monotonic()
    assert port.take(0.05) == []
    assert port.take(0.0) == []
    assert time.monotonic() - before < PATIENCE / 2


def test_closing_it_twice_lets_it_go_once(ends, port):
    port.close()
    port.close()
    again = SerialPort(PortName(os.ttyname(ends[1])), 115200)
    again.open()
    again.close()


def test_closing_it_while_its_plug_is_out_ends_the_search_for_it(tmp_path):
    pair = os.openpty()
    name = tmp_path / "unit"
    name.symlink_to(os.ttyname(pair[1]))
    link = SerialPort(PortName(str(name)), 115200)
    link.open()
    for end in pair:
        os.close(end)
    name.unlink()
    (lost,) = taken_until(link, lambda events: events)
    assert (type(lost), lost.is_there) == (Lost, False)
    link.close()
    assert not any(thread.name == f"port {name}" for thread in threading.enumerate())


def test_a_second_program_that_reads_the_same_port_is_noticed(ends, port):
    other = os.open(os.ttyname(ends[1]), os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    stop = threading.Event()

    def steal():
        while not stop.is_set():
            try:
                os.read(other, 64)
            except BlockingIOError:
                continue

    def send():
        while not stop.is_set():
            os.write(ends[0], b"0.916,-1.099\r\n")

    os.set_blocking(ends[0], True)
    threads = [threading.Thread(target=work, daemon=True) for work in (steal, send)]
    for thread in threads:
        thread.start()
    try:
        events = taken_until(port, lambda events: any(isinstance(event, Lost) for event in events))
    finally:
        stop.set()
        for thread in threads:
            thread.join(PATIENCE)
        os.close(other)
    lost = next(event for event in events if isinstance(event, Lost))
    assert lost.is_there


def test_a_port_that_cannot_be_opened_leaves_no_thread_behind(tmp_path):
    link = SerialPort(PortName(str(tmp_path / "none")), 115200)
    with pytest.raises(PortError, match=r"none: is not there"):
        link.open()
    link.close()
