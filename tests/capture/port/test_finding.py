"""`--port auto`: the port that sends the device's rows is taken, and never another."""

import os

import pytest

from benchrig.capture.port.finding import find_port
from benchrig.capture.port.listing import PortName
from benchrig.errors import PortError


@pytest.fixture(autouse=True)
def short_trials(monkeypatch):
    """Listen for as long as is needed at these rates, so that the tests take no longer."""
    monkeypatch.setattr("benchrig.capture.port.listening.LISTEN", 0.4)
    monkeypatch.setattr("benchrig.capture.port.listening.LISTEN_BRIEFLY", 0.15)


@pytest.fixture
def silent_port():
    """Give a port that nobody sends anything to, and what was written to it."""
    ends = os.openpty()
    os.set_blocking(ends[0], False)
    yield PortName(os.ttyname(ends[1]), described="a \x1b[2J printer"), ends[0]
    for end in ends:
        os.close(end)


def test_the_one_port_that_sends_the_device_s_rows_is_taken_and_it_is_said_why(device_of, plugged, silent_port):
    device = device_of()
    unit = plugged(device)
    found = find_port(device, [silent_port[0], PortName(unit.name)])
    assert (found.port.name, found.baud) == (unit.name, 921600)
    assert found.why == f"{unit.name} sends rows of bench unit, frames: the only one of 2 ports that does"


def test_a_unit_of_another_speed_is_found_at_its_own_and_that_is_said(device_of, plugged):
    unit = plugged(device_of())
    found = find_port(device_of("frames", ("baud = 921600", "baud = 115200")), [PortName(unit.name)])
    assert found.baud == 921600
    assert found.why.endswith("; they come at 921,600 bits a second, where the device file says 115,200")


def test_two_that_fit_are_named_and_neither_is_taken(device_of, plugged):
    device = device_of()
    ports = [PortName(plugged(device).name) for _ in range(2)]
    with pytest.raises(
        PortError, match=r"port0, .*port1 send rows of bench unit, frames; .* name the one that is fitted"
    ):
        find_port(device, ports)


def test_where_none_fits_it_is_said_what_each_sent(device_of, plugged, silent_port):
    unit = plugged(device_of("lines"))
    with pytest.raises(PortError) as refused:
        find_port(device_of(), [silent_port[0], PortName(unit.name), PortName("/dev/none-of-this-name")])
    text = str(refused.value)
    assert "no port sends rows of bench unit, frames: " in text
    assert f"{silent_port[0].name} (a \\u001b[2J printer) was silent; {unit.name} sent " in text
    assert "/dev/none-of-this-name is not there" in text
    assert "\x1b" not in text


def test_without_any_port_it_is_said_what_to_plug_in(device_of):
    with pytest.raises(PortError, match=r"^--port auto: this computer has no serial port; .*a cable that carries data"):
        find_port(device_of(), [])


STARTED = ('sends = "lines"', 'sends = "lines"\nstart = "stream on\\r\\n"')


def test_a_unit_that_must_be_started_is_started_where_its_port_is_the_only_one(device_of, plugged):
    device = device_of("lines", STARTED)
    unit = plugged(device, waits=True)
    assert find_port(device, [PortName(unit.name)]).why.endswith("the only port there is")


def test_nothing_is_written_to_ports_that_may_belong_to_something_else(device_of, plugged, silent_port):
    device = device_of("lines", STARTED)
    unit = plugged(device, waits=True)
    port, other_end = silent_port
    with pytest.raises(PortError, match=r"has a text that starts it, which is not written to ports that may belong"):
        find_port(device, [port, PortName(unit.name)])
    with pytest.raises(BlockingIOError):
        os.read(other_end, 100)
