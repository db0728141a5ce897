"""What storing costs while it is recorded, and reading afterwards, beside the hashing of the same bytes.

Only ratios are held; the share of a core is printed (``-s``), with what would be wanted on a quiet machine.
"""

from __future__ import annotations

import hashlib
from time import process_time

import numpy as np

from benchrig.capture.store.reading import open_store
from benchrig.capture.store.writer import StoreWriter

RATE_HZ, DURATION_S, EACH_S = 4000, 60, 0.01
SOURCE = tuple(f"column {number}" for number in range(12))


def test_storing_4_khz_of_12_columns_leaves_a_core_to_others(tmp_path, capsys):
    rows = np.random.default_rng(1).normal(0, 1, (RATE_HZ * DURATION_S, len(SOURCE)))
    time = np.arange(len(rows)) / RATE_HZ
    each = round(RATE_HZ * EACH_S)
    now = 0.0
    writer = StoreWriter.create(tmp_path / "bench.arrow", SOURCE, {}, clock=lambda: now)
    began = process_time()
    for at in range(0, len(rows), each):
        now = float(time[at])
        some = slice(at, at + each)
        writer.append(time[some], time[some], rows[some])
    writer.close()
    storing = process_time() - began
    data = writer.path.read_bytes()
    began = process_time()
    store = open_store(writer.path, data)
    reading = process_time() - began
    began = process_time()
    hashlib.sha256(data).hexdigest()
    hashing = process_time() - began
    with capsys.disabled():
        print(  # noqa: T201 - a benchmark is read by people
            f"\nstoring {DURATION_S} s of {RATE_HZ} Hz × {len(SOURCE)} columns in {writer.batches} batches: "
            f"{storing / DURATION_S:.2%} of a core (wanted under 3 % on a quiet machine), "
            f"× {storing / hashing:.1f} of hashing the same {len(data) / 1e6:.0f} MB; reading × {reading / hashing:.1f}"
        )
    assert store.values.shape == (len(SOURCE) + 2, len(rows))
    assert writer.batches > 16 * DURATION_S  # steps of 10 ms meet 50 ms now and then a step late
    # a row at a time in pure Python would cost more than this
    assert storing < 40 * hashing
    assert reading < 20 * hashing
