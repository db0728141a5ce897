"""Checks at the end of a frame: cyclic redundancy checks by their public names.

References
----------
The parameters are those of the public catalogue of CRC algorithms (reveng.sourceforge.io/crc-catalogue), which lists
``crc-16/ccitt-false`` as an alias of CRC-16/IBM-3740 and ``crc-32`` as CRC-32/ISO-HDLC (ITU-T V.42, IEEE 802.3).
"""

from __future__ import annotations

import binascii
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

_POLYNOMIAL_8005_REFLECTED: Final = 0xA001


@dataclass(frozen=True, slots=True)
class Check:
    """A check over the bytes of a frame.

    Attributes
    ----------
    name : str
    width : int
        Bytes that it takes.
    of : callable
        Gives the check of some bytes.
    """

    name: str
    width: int
    of: Callable[[bytes], int]


def _reflected_table() -> tuple[int, ...]:
    table = []
    for byte in range(256):
        value = byte
        for _ in range(8):
            value = (value >> 1) ^ _POLYNOMIAL_8005_REFLECTED if value & 1 else value >> 1
        table.append(value)
    return tuple(table)


_TABLE: Final = _reflected_table()


def crc16_ccitt_false(data: bytes) -> int:
    """Give the CRC-16 with polynomial 0x1021, begun with 0xFFFF."""
    return binascii.crc_hqx(data, 0xFFFF)


def crc16_xmodem(data: bytes) -> int:
    """Give the CRC-16 with polynomial 0x1021, begun with zero."""
    return binascii.crc_hqx(data, 0)


def crc16_modbus(data: bytes) -> int:
    """Give the CRC-16 with polynomial 0x8005 and reflected bits, begun with 0xFFFF."""
    table, value = _TABLE, 0xFFFF
    for byte in data:
        value = (value >> 8) ^ table[(value ^ byte) & 0xFF]
    return value


def xor_of(data: bytes) -> int:
    """Give the exclusive or of all bytes, as at the end of a sentence of NMEA 0183 (from memory).

    Examples
    --------
    >>> xor_of(b"AB")
    3
    """
    value = 0
    for byte in data:
        value ^= byte
    return value


NO_CHECK: Final = Check("none", 0, lambda _: 0)

CHECKS: Final[Mapping[str, Check]] = {
    check.name: check
    for check in (
        Check("crc-16/ccitt-false", 2, crc16_ccitt_false),
        Check("crc-16/xmodem", 2, crc16_xmodem),
        Check("crc-16/modbus", 2, crc16_modbus),
        Check("crc-32", 4, zlib.crc32),
        NO_CHECK,
    )
}
"""The checks of frames that a device file may name."""
