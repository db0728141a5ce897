"""Pulse trains made step by step in time, as a receiver and a logger would make them: no formula of the program's."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from benchrig.capture.recording import Prompt, Pulses, Recording
from benchrig.declaration.airframe_file import read_airframe


@dataclass
class Output:
    """A channel of a receiver: it renews its pulse once a frame, and may go no faster than its limit.

    Parameters
    ----------
    program : list of (time s, target µs)
        Steps, in order.
    frame : float, s
    limit : float, µs/s
    latency : float, s
        From a step of the program to when the channel knows of it.
    jitter : float, µs
        Standard deviation of a pulse as it is measured.
    silent : list of (start s, end s)
        When no pulse comes.
    """

    program: list
    frame: float = 0.02
    phase: float = 0.0
    limit: float = math.inf
    latency: float = 0.0
    jitter: float = 0.0
    silent: list = field(default_factory=list)

    def frames(self, until, rng):
        """Give the instants of the pulses and their lengths, µs: rounded to whole ones, as counters do."""
        when, widths = [], []
        level, k = self.program[0][1], 0
        instant = self.phase
        while instant < until:
            while k + 1 < len(self.program) and self.program[k + 1][0] + self.latency <= instant:
                k += 1
            step = self.limit * self.frame
            level += max(-step, min(step, self.program[k][1] - level))
            if not any(a <= instant < b for a, b in self.silent):
                when.append(instant)
                widths.append(round(level + rng.normal(0.0, self.jitter)) if self.jitter else round(level))
            instant += self.frame
        return np.array(when), np.array(widths, dtype=float)

    def logged(self, rows, rng):
        """Give what a logger writes: in every row the last pulse, if one has come since two frames at most."""
        when, widths = self.frames(rows[-1], rng)
        last = np.searchsorted(when, rows, side="right") - 1
        known = (last >= 0) & (rows - when[np.maximum(last, 0)] < 2.5 * self.frame)
        return Pulses(rows[known], widths[last[known]] * 1e-6)


def sweep(start, centre, lowest, highest, hold=0.8):
    """Program a sweep: from the centre to the longest pulse, to the shortest, and back."""
    return [(start, highest), (start + hold, lowest), (start + 2 * hold, centre)]


def rows_of(duration, rate, jitter=0.0, rng=None):
    """Give the times of a logger's rows, s."""
    times = np.arange(0.0, duration, 1 / rate)
    if jitter:
        times = times + rng.uniform(-jitter, jitter, len(times)) / rate
        times -= times[0]
    return times


def recording(outputs, prompts, *, duration, rate=200.0, commands=None, seed=0, row_jitter=0.0):
    """Log outputs beside an airframe that lies still.

    Parameters
    ----------
    outputs, commands : mapping of name to Output
    prompts : list of (name, label, start s, end s)
    """
    rng = np.random.default_rng(seed)
    rows = rows_of(duration, rate, row_jitter, rng)
    still = np.zeros((len(rows), 3))
    return Recording(
        time=rows,
        angular_rate=still,
        acceleration=np.tile([0.0, 0.0, -9.80665], (len(rows), 1)),
        magnetic_field=None,
        unit_attitude=None,
        temperature=None,
        pulses={name: output.logged(rows, rng) for name, output in outputs.items()},
        commands={name: output.logged(rows, rng) for name, output in (commands or {}).items()},
        prompts=tuple(Prompt(name, start, end, f"at {start}", label) for name, label, start, end in prompts),
        seen=(),
        turntable=None,
        swing_pivot=None,
        gyro_full_scale=None,
        accelerometer_full_scale=None,
        recorded=None,
        operator=None,
        temperature_at_bench=None,
        stream=Path("bench.csv"),
        manifest=Path("bench.toml"),
        sha256="0" * 64,
        history=(),
    )


PLATE = """
[[actuator]]
name = "{name}"
drives = "swashplate"
azimuth_deg = {azimuth}
longer_pulse = "plate {longer}"
"""


def helicopter(azimuths, *, longer=None, extra="", each=""):
    """Write the airframe file of a helicopter whose plate servos are called s0, s1, and so on."""
    ways = longer or ["up"] * len(azimuths)
    servos = [
        PLATE.format(name=f"s{k}", azimuth=azimuth % 360, longer=way) + each
        for k, (azimuth, way) in enumerate(zip(azimuths, ways, strict=True))
    ]
    head = '[airframe]\nname = "Heron"\nkind = "helicopter"\n[sensor]\naxes = { x = "forward", y = "right" }\n'
    return head + '[rotor]\nturns = "clockwise"\n' + "".join(servos) + extra


TAIL = """
[[actuator]]
name = "tail"
drives = "tail rotor"
longer_pulse = "nose left"
"""


def plane(text="", **keys):
    """Write the airframe file of an aeroplane with one servo, the elevator."""
    lines = "".join(f"{key} = {value}\n" for key, value in keys.items())
    head = '[airframe]\nname = "Tern"\nkind = "aeroplane"\n[sensor]\naxes = { x = "forward", y = "right" }\n'
    servo = '[[actuator]]\nname = "elevator"\ndrives = "elevator"\nlonger_pulse = "trailing edge up"\n'
    return head + servo + lines + text


def read(folder, text):
    """Write an airframe file, and read it as the program does."""
    path = folder / "rig.toml"
    path.write_text(text, encoding="utf-8")
    return read_airframe(path)


def swept(centres, *, reach=400, start=2.0, order=None, limit=3000.0, latency=0.02, jitter=0.0, **options):
    """Program one sweep for each channel, one after the other.

    Returns
    -------
    outputs : dict of name to Output
    prompts : list
    end : float, s
    """
    outputs, prompts = {}, []
    for k, name in enumerate(order or centres):
        centre = centres[name]
        side = reach if centre > 1200 else reach / 2  # narrow pulses travel half as far
        program = [(0.0, centre), *sweep(start + 4.0 * k, centre, centre - side, centre + side)]
        outputs[name] = Output(program, phase=0.0037 * k, limit=limit, latency=latency, jitter=jitter, **options)
        prompts.append(("sweep", name, start + 4.0 * k - 0.3, start + 4.0 * k + 2.7))
    return outputs, prompts, start + 4.0 * len(centres)


def with_collective(outputs, prompts, start, changes, hold=2.0):
    """Add the stick that lifts: each channel goes by its change (µs), holds, and comes back."""
    for name, change in changes.items():
        level = outputs[name].program[-1][1]
        outputs[name].program += [(start, level + change), (start + hold, level)]
    return outputs, [*prompts, ("collective up", "", start - 0.2, start + hold - 0.1)], start + hold + 2.0


def value(measurement, name):
    """Give one quantity by its name."""
    (found,) = [q for q in measurement.quantities if q.name == name]
    return found


def codes(measurement):
    """Give the codes of the findings, the gravest first."""
    return [f.code for f in measurement.findings]
