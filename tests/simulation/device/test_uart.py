"""A wire read at another speed gives other bytes; at the same speed, and nearly the same, it gives its own."""

import pytest

from benchrig.simulation.device.uart import received

TEXT = bytes(range(256)) + b"0.916,-1.099,-2.258\r\n"


@pytest.mark.parametrize("off", [0.97, 1.0, 1.03])
def test_a_receiver_up_to_three_in_a_hundred_off_reads_everything(off):
    # a bit is sampled in its middle, so ten of them may drift by half a bit: 5 %
    assert received(TEXT, 115200, 115200 * off) == TEXT


@pytest.mark.parametrize("read_at", [9600, 57600, 230400, 921600])
def test_a_receiver_of_another_speed_reads_something_else(read_at):
    heard = received(TEXT, 115200, read_at)
    assert b"0.916" not in heard


def test_a_receiver_of_half_the_speed_reads_at_most_half_as_many_bytes():
    assert 0 < len(received(TEXT, 115200, 57600)) <= len(TEXT) / 2


def test_one_byte_is_read_as_its_bits_lie_on_the_wire():
    # U is 0x55: low, then high and low in turn; at half the speed the first samples are the second bit of each pair
    assert received(b"U", 2, 1) == b""
    assert received(b"\x00", 1, 1) == b"\x00"


def test_nothing_gives_nothing():
    assert received(b"", 115200, 9600) == b""
