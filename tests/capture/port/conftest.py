"""A simulated unit at a port of its own, and what a source gives while it is drained."""

import time
from dataclasses import dataclass, field

import numpy as np
import pytest

from benchrig.capture.device.device_file import read_device
from benchrig.capture.device.samples import Trouble
from benchrig.simulation.device.device_text import device_text
from benchrig.simulation.device.pty_device import PtyDevice
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.options import Options

PATIENCE = 10.0  # s after which a test has failed


@dataclass
class Drained:
    """All that came out of a source."""

    samples: list = field(default_factory=list)
    troubles: list = field(default_factory=list)

    def column(self, source, name):
        """Give one column of all rows."""
        at = source.columns.index(name)
        return np.concatenate([each.values[:, at] for each in self.samples] or [np.zeros(0)])

    @property
    def time(self):
        """Give the times of all rows."""
        return np.concatenate([each.time for each in self.samples] or [np.zeros(0)])

    @property
    def lost(self):
        """Count the rows that never came."""
        return sum(each.lost for each in self.samples)

    def codes(self):
        """Give the troubles by their codes, those that ended with a full stop behind."""
        return [trouble.code + ("." if trouble.is_over else "") for trouble in self.troubles]


@pytest.fixture
def drain():
    """Drain a source until something has come true, into what was drained before."""

    def until(source, condition, drained=None):
        drained = drained or Drained()
        stop = time.monotonic() + PATIENCE
        while not condition(drained):
            assert time.monotonic() < stop, f"waited in vain: {drained.codes()}, {len(drained.time)} rows"
            for item in source.take(0.05):
                (drained.troubles if isinstance(item, Trouble) else drained.samples).append(item)
        return drained

    return until


@pytest.fixture
def bench(demo_airframe):
    """Make a bench of the demo helicopter at 200 Hz."""
    return LiveBench(demo_airframe("dunlin"), seed=31, options=Options(rate_hz=200))


@pytest.fixture
def device_of(bench, tmp_path):
    """Write the device file of the bench's unit, with words in it changed, and read it."""

    def make(form="frames", *changes):
        text = device_text(bench, form)
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        path = tmp_path / f"unit-{form}-{len(list(tmp_path.iterdir()))}.toml"
        path.write_text(text, encoding="utf-8")
        return read_device(path)

    return make


@pytest.fixture
def plugged(bench, tmp_path):
    """Plug a unit in that sends as a device file says; it is pulled at the end."""
    units = []

    def plug(device, **more):
        unit = PtyDevice(bench, device, link=tmp_path / f"port{len(units)}", **more)
        units.append(unit)
        unit.start()
        return unit

    yield plug
    for unit in units:
        unit.stop()
