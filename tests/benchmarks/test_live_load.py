"""What a session costs while a unit sends a thousand rows a second, and how soon it says what it saw.

Held are the rows, and a ratio to the reference filter's own loop over the same rows; shares and delays are printed
(``-s``), with what is wanted on a quiet machine. ``BENCHRIG_LIVE_SECONDS`` makes the recording longer: 600 for the ten
minutes of the claim that no row is lost.
"""

from __future__ import annotations

import os
from time import perf_counter, process_time, thread_time

import numpy as np
import pytest
from people import Listed

from benchrig.attitude.library import library_mahony
from benchrig.capture.device.samples import Samples
from benchrig.live.asking import Fixed
from benchrig.live.judging import SHARE, Judging
from benchrig.live.occasion import Occasion
from benchrig.live.session import Session
from benchrig.live.view import Cue
from benchrig.simulation.bench import simulate
from benchrig.simulation.options import DEFAULT_MOTIONS, Options
from benchrig.simulation.stream import columns

RATE_HZ, BATCH_S = 1000.0, 0.05
SECONDS = float(os.environ.get("BENCHRIG_LIVE_SECONDS", "45"))


@pytest.fixture(scope="module")
def bench(demo_airframe):
    """Give rows of a bench at 1 kHz, and what its columns are."""
    made = simulate(demo_airframe("dunlin"), seed=5, options=Options(rate_hz=RATE_HZ))
    groups = columns(made)
    rows = np.concatenate([group.values for group in groups], axis=1)
    names = tuple(name for group in groups for name in group.names)
    table, actuators = {}, {}
    for group in groups[1:]:
        role, _, name = group.role.partition(":")
        (actuators if name else table)[name or role] = {"names": list(group.names), "unit": group.unit}
    return rows, names, {**table, "actuators": actuators}


def batches(rows):
    """Repeat the bench until the time is over, in batches as a port's thread gives them."""
    each, at, count = round(RATE_HZ * BATCH_S), 0, round(SECONDS * RATE_HZ)
    while at < count:
        take = np.arange(at, min(at + each, count))
        time = take / RATE_HZ
        yield Samples(time, time, rows[take % len(rows)])
        at += each


def test_a_session_at_1_khz_leaves_most_of_a_core_and_loses_no_row(bench, demo_airframe, tmp_path, capsys):
    rows, names, table = bench
    airframe = demo_airframe("dunlin")
    now = 0.0
    judging = Judging(airframe)
    session = Session(
        airframe,
        Listed(names, batches(rows)),
        Occasion(table, "a benchmark"),
        tmp_path / "load",
        asking=Fixed(DEFAULT_MOTIONS * 20),
        judging=judging,
        clock=lambda: now,
    )
    steps, told, by_step = [], [], 0.0
    began, paced = process_time(), perf_counter()
    while not session.finished:
        start, mine = perf_counter(), thread_time()
        step = session.step()
        steps.append(perf_counter() - start)
        by_step += thread_time() - mine
        now += BATCH_S
        if Cue.DONE in step.cues or Cue.AGAIN in step.cues:
            told.append(steps[-1])
    spent, lasted = process_time() - began, perf_counter() - paced
    finished = session.finish()
    began = process_time()
    library_mahony(rows[:5000, 1:4], rows[:5000, 4:7] * 9.81, 1 / RATE_HZ, (1.0, 0.3), np.array([1.0, 0.0, 0.0, 0.0]))
    loop = (process_time() - began) / 5000
    latest, usual = 1e3 * (BATCH_S + max(told)), 1e3 * np.percentile(steps, 99)
    ratio = by_step / (SECONDS * RATE_HZ) / loop
    with capsys.disabled():
        print(  # noqa: T201 - a benchmark is read by people
            f"\n{SECONDS:g} s at {RATE_HZ:g} Hz × {len(names)} columns, in {lasted:.1f} s: steps take "
            f"{by_step / SECONDS:.1%} of a core, and the judge {SHARE:.0%} at most beside them (wanted under 33 % "
            f"in all; {spent / lasted:.0%} at this pace). The latest of {len(told)} sentences came {latest:.0f} ms "
            f"after the hold (wanted under 150 ms), 99 % of steps took under {usual:.0f} ms. A step costs "
            f"× {ratio:.2f} of the filter's own loop over its rows."
        )
    assert finished.problems == ()
    assert len(finished.record.recording.time) == round(SECONDS * RATE_HZ)
    np.testing.assert_array_equal(np.diff(np.round(finished.record.recording.time * RATE_HZ)), 1)
    assert told
    assert ratio < 2
