"""Wirings weighed from exact streams: named turns, out and back, between rests."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.recording import Prompt
from benchrig.job import judge
from benchrig.signals.motions import Motion
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import find_rests
from benchrig.verdict.bench import measure_bench
from benchrig.verdict.wirings import weigh_wirings

REST = ((0.0, 0.0, 0.0), 1.5)


@pytest.fixture(scope="session")
def exact_moves(exact_stream):
    """Make the motions and moves of turns (a name or None, and the turn in body axes, deg), each out and back."""

    def make(turns, *, back=True, **wiring):
        legs = [REST]
        for _, turn in turns:
            legs += [(turn, 1.0), REST]
            if back:
                legs += [(tuple(-angle for angle in turn), 1.0), REST]
        even = exact_stream(legs, **wiring)
        stillness = find_rests(even)
        moves = find_moves(even, stillness.rests, stillness.bias)
        assert len(moves) == len(turns) * (2 if back else 1)
        outward = moves[:: 2 if back else 1]
        motions = tuple(
            Motion(Prompt(name, 0.0, 1.0, ""), move, "")
            for (name, _), move in zip(turns, outward, strict=True)
            if name is not None
        )
        return motions, moves, even.acceleration[:100].mean(axis=0)

    return make


@pytest.fixture(scope="session")
def weigh(exact_moves):
    """Weigh the wirings of turns; `level=False` leaves gravity at the level rest out of it."""

    def make(turns, *, level=True, declared=None, **wiring):
        motions, moves, force = exact_moves(turns, **wiring)
        return weigh_wirings(motions, moves, force if level else None, np.eye(3) if declared is None else declared)

    return make


@pytest.fixture(scope="session")
def measured(simulated_recording, demo_airframe):
    """Measure the bench of a simulated recording of a demo airframe."""

    @functools.cache
    def make(airframe, *faults, **options):
        return measure_bench(demo_airframe(airframe), simulated_recording(airframe, *faults, **options))

    return make


@pytest.fixture(scope="session")
def judged(simulated_recording, demo_airframe):
    """Judge a simulated recording of a demo airframe."""

    @functools.cache
    def make(airframe, *faults, **options):
        return judge(demo_airframe(airframe), simulated_recording(airframe, *faults, **options))

    return make


@pytest.fixture(scope="session")
def with_stick():
    """Lengthen a recording by a rest in which the stick that lifts is moved, `changes` giving each channel's µs."""

    def make(recording, changes, looks=1):
        step = float(np.median(np.diff(recording.time)))
        rows = round(1.0 / step)
        last = slice(len(recording.time) - rows, None)
        copies = 6 * looks + 2
        more = recording.time[-1] + step * (1 + np.arange(rows * copies))
        begin = [float(more[0]) + 1.0 + 6.0 * k for k in range(looks)]
        up = np.zeros(len(more), dtype=bool)
        for start in begin:
            up |= (more >= start + 0.3) & (more < start + 2.4)
        pulses = {}
        for name, one in recording.pulses.items():
            held = np.full(len(more), one.width[-1]) + up * changes.get(name, 0.0) * 1e-6
            pulses[name] = replace(one, time=np.append(one.time, more), width=np.append(one.width, held))
        grown = {
            name: None
            if (values := getattr(recording, name)) is None
            else np.concatenate([values, *[values[last]] * copies])
            for name in ("angular_rate", "acceleration", "magnetic_field", "unit_attitude", "temperature")
        }
        asked = tuple(Prompt("collective up", start, start + 2.0, "") for start in begin)
        return replace(
            recording,
            time=np.append(recording.time, more),
            pulses=pulses,
            prompts=(*recording.prompts, *asked),
            **grown,
        )

    return make
