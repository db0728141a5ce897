"""Arrow's messages of a store: its head, and batches one at a time."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np

from benchrig.capture.store.mark import (
    ABOUT_KEY,
    BATCH_KEY,
    HEAD_KEY,
    HEAD_MARK,
    HEAD_TEXT,
    STORE_KEY,
    VERSION,
    Mark,
    checked,
)
from benchrig.geometry.directions import Vector


def head_of(names: Sequence[str], about: Mapping[str, Any]) -> tuple[bytes, int]:
    """Give the bytes that a store begins with, the schema of an Arrow stream, and their check value."""
    said = {STORE_KEY: VERSION, HEAD_KEY: HEAD_TEXT, ABOUT_KEY: json.dumps(about, ensure_ascii=False)}
    return checked(bytes(_schema(names, said).serialize()), HEAD_MARK)


def _schema(names: Sequence[str], said: Mapping[str, str] | None = None) -> Any:  # noqa: ANN401 - Arrow's types are not annotated
    import pyarrow as pa  # noqa: PLC0415 - 0.1 s that other commands need not pay

    return pa.schema([pa.field(name, pa.float64()) for name in names], metadata=said)


class Messages:
    """Makes Arrow's messages of batches, one at a time."""

    closed: Final = False  # Arrow asks this of whatever it writes to

    def __init__(self, names: Sequence[str]) -> None:
        import pyarrow as pa  # noqa: PLC0415 - as above

        self._parts: list[bytes] = []
        self._schema = _schema(names)
        self._stream = pa.ipc.new_stream(pa.PythonFile(self, "w"), self._schema)
        self._begun = False

    def write(self, part: bytes) -> int:
        """Take a part of a message from Arrow."""
        self._parts.append(bytes(part))
        return len(part)

    def flush(self) -> None:
        """Do nothing; Arrow asks for it."""

    def of(self, rows: Vector, mark: Mark) -> bytes:
        """Give the message of a batch, its check value still zeros.

        Parameters
        ----------
        rows : ndarray, shape (n, C)
        mark : Mark
        """
        import pyarrow as pa  # noqa: PLC0415 - as above

        # from buffers, since every other way into Arrow loads pandas (0.2 s) in the middle of a recording
        buffers = [pa.py_buffer(column) for column in np.ascontiguousarray(rows.T)]
        arrays = [pa.Array.from_buffers(pa.float64(), len(rows), [None, buffer]) for buffer in buffers]
        batch = pa.RecordBatch.from_arrays(arrays, schema=self._schema)
        self._stream.write_batch(batch, custom_metadata={BATCH_KEY: mark.text})
        parts, self._parts = self._parts, []
        message = b"".join(parts)
        if not self._begun:  # Arrow writes its own head before the first batch
            message = message[len(self._schema.serialize()) :]
            self._begun = True
        return message
