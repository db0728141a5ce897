"""What a receiver makes of bytes that were sent at another speed: bit by bit, as the wire carries them."""

from __future__ import annotations

from typing import Final

import numpy as np

_FRAME_BITS: Final = 10
"""A start bit, eight bits with the lowest first, a stop bit (common practice for such ports)."""


def received(data: bytes, sent_at: float, read_at: float) -> bytes:
    """Sample the wire as a receiver of another speed does; frames without a stop bit are dropped.

    Parameters
    ----------
    sent_at, read_at : float
        Bits a second of sender and receiver.

    Examples
    --------
    >>> received(b"same", 115200, 115200)
    b'same'
    >>> received(b"UU", 115200, 57600) == b"UU"
    False
    """
    if not data:
        return b""
    wire = _wire(data)
    step = sent_at / read_at  # sender's bits in one of the receiver's
    result = bytearray()
    position, end = 0.0, float(len(wire))
    while position < end:
        falls = np.flatnonzero(~wire[int(position) :])
        if not len(falls):
            break
        start = int(position) + float(falls[0])
        middles = start + step * (np.arange(_FRAME_BITS) + 0.5)
        if middles[-1] >= end:
            break
        bits = wire[middles.astype(int)]
        if not bits[0] and bits[-1]:
            result.append(int(np.packbits(bits[1:9], bitorder="little")[0]))
        position = float(middles[-1])
    return bytes(result)


def _wire(data: bytes) -> np.ndarray:
    """Give the level of the wire in each of the sender's bits; it rests high."""
    bits = np.unpackbits(np.frombuffer(data, np.uint8)[:, None], axis=1, bitorder="little").astype(bool)
    low, high = np.zeros((len(data), 1), bool), np.ones((len(data), 1), bool)
    return np.concatenate([np.concatenate([low, bits, high], axis=1).ravel(), np.ones(2 * _FRAME_BITS, bool)])
