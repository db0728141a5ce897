"""Published values of frame checks and of the encoding that keeps zero bytes out of frames.

Checks: the public catalogue of parametrised CRC algorithms (reveng.sourceforge.io/crc-catalogue) gives for each the
check of the nine characters "123456789"; its names there are CRC-16/IBM-3740 (alias CRC-16/CCITT-FALSE), CRC-16/XMODEM,
CRC-16/MODBUS and CRC-32/ISO-HDLC (values from memory).

Encoding: S. Cheshire, M. Baker, Consistent Overhead Byte Stuffing, IEEE/ACM Transactions on Networking 7(2), 1999
(rules and the example of an IP packet's first bytes from memory); the library `cobs` gives the same.
"""

from __future__ import annotations

import pytest
from cobs import cobs
from sending_units import SENSORS, device_of

from benchrig.capture.device.checksums import CHECKS, xor_of
from benchrig.capture.device.frames import FrameReader
from benchrig.capture.device.layout import Field, FrameLayout
from benchrig.capture.device.tally import Tally

DIGITS = b"123456789"


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("crc-16/ccitt-false", 0x29B1),
        ("crc-16/xmodem", 0x31C3),
        ("crc-16/modbus", 0x4B37),
        ("crc-32", 0xCBF43926),
    ],
)
def test_a_check_gives_the_catalogues_value_for_the_nine_digits(name, value):
    assert CHECKS[name].of(DIGITS) == value
    assert value < 256 ** CHECKS[name].width


def test_every_check_but_none_has_a_published_value_here():
    assert set(CHECKS) == {"crc-16/ccitt-false", "crc-16/xmodem", "crc-16/modbus", "crc-32", "none"}


def test_the_check_of_a_line_is_the_exclusive_or_of_its_bytes():
    # a sentence of NMEA 0183 as it is often shown (from memory)
    assert xor_of(b"GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,") == 0x47


@pytest.mark.parametrize(
    ("plain", "encoded"),
    [
        ("00", "01 01"),
        ("00 00", "01 01 01"),
        ("11 22 00 33", "03 11 22 02 33"),
        ("11 22 33 44", "05 11 22 33 44"),
        ("11 00 00 00", "02 11 01 01 01"),
        ("45 00 00 2C 4C 79 00 00 40 06 4F 37", "02 45 01 04 2C 4C 79 01 05 40 06 4F 37"),
        (bytes(range(1, 255)).hex(), "FF" + bytes(range(1, 255)).hex()),
        (bytes(range(1, 256)).hex(), "FF" + bytes(range(1, 255)).hex() + "02 FF"),
    ],
)
def test_a_worked_example_of_the_encoding_is_read_back(plain, encoded, tmp_path):
    content, on_the_wire = bytes.fromhex(plain), bytes.fromhex(encoded)
    assert cobs.encode(content) == on_the_wire
    fields = tuple(Field(f"b{i}", "u8", 1) for i in range(len(content)))
    layout = FrameLayout(b"", is_big=False, check=CHECKS["none"], covers_sync=False, fields=fields)
    named = ", ".join(f'{{ name = "{name}", type = "u8" }}' for name in ("gx", "gy", "gz", "ax", "ay", "az"))
    text = (
        '[device]\nname = "any"\nsends = "frames"\n[frames]\nmarked_by = "cobs"\nbyte_order = "little"\n'
        f'check = "none"\nfields = [{named}]\n'
    )
    device = device_of(tmp_path, text, SENSORS)
    reader = FrameReader(device, layout, Tally())
    reader._required = []  # noqa: SLF001 - these bytes are no sensor's
    rows = reader.feed(on_the_wire + b"\0")
    assert bytes(rows.values[0].astype(int).tolist()) == content
