"""A simulated person who does what the session shows, on a simulated bench, in simulated time."""

from dataclasses import dataclass, field

import numpy as np

from benchrig.capture.device.samples import Samples, Trouble
from benchrig.errors import Problem
from benchrig.geometry.turns import TURNS, turn_word
from benchrig.live.closing import Finished
from benchrig.live.judging import JudgingAtOnce
from benchrig.live.occasion import Occasion
from benchrig.live.session import Session
from benchrig.live.view import NEXT, Cue
from benchrig.live.words import NOT_SEEN
from benchrig.simulation.device.bench_source import BenchSource, manifest_columns
from benchrig.simulation.faults import Fault
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.options import Options

STEP_S = 0.05


def opposite(motion):
    """Name the turn the other way round."""
    axis, sign = TURNS[motion]
    return turn_word(axis, -sign)


class LateJudging(JudgingAtOnce):
    """Judges only where the session waits for it: most sessions need no more, and a judgement takes its time."""

    def request(self, snapshot):
        """Note what would be judged."""
        self._request += 1
        self._snapshot = snapshot

    def hurry(self):
        """Judge it now."""
        if self._heard != self._request:
            self._judge(self._request, self._snapshot)


class Unplugged:
    """A source whose rows do not come between two times, as when a plug is out."""

    def __init__(self, source, start, stop):
        self._source, self._start, self._stop = source, start, stop
        self._out = False

    def __getattr__(self, name):
        return getattr(self._source, name)

    def pull(self, seconds):
        """Pull the plug now, for so long."""
        self._start, self._stop = self._source.now, self._source.now + seconds

    def take(self, timeout):
        """Let the time pass, and give its rows unless the plug is out."""
        given = []
        items = self._source.take(timeout)
        out = self._start <= self._source.now < self._stop
        if out != self._out:
            self._out = out
            word = "unplugged" if out else "back"
            given.append(Trouble(word, Problem("the port", word, act="plug it in again"), is_over=not out))
        return (*given, *(item for item in items if not out))


class Listed:
    """A source over rows in memory: `batches` of samples, then nothing."""

    def __init__(self, columns, batches, clock="of a list"):
        self.columns, self.clock, self.opened, self.notes = columns, clock, 0.0, ()
        self._batches = iter(batches)
        self._next = next(self._batches, None)

    @property
    def ended(self):
        """Whether all was given."""
        return self._next is None

    def open(self):
        """Nothing is to be opened."""

    def close(self):
        """Give nothing more."""
        self._next = None

    def take(self, timeout):  # noqa: ARG002 - a list never waits
        """Give one batch."""
        given, self._next = self._next, next(self._batches, None)
        return () if given is None else (given,)


def still_rows(seconds, rate_hz=100.0, seed=0, start=0.0):
    """Give rows of a unit at rest, level: gx gy gz in deg/s, ax ay az in g."""
    rng = np.random.default_rng(seed)
    time = start + np.arange(round(seconds * rate_hz)) / rate_hz
    gyro, force = rng.normal(0.1, 0.05, (len(time), 3)), rng.normal(0.0, 0.002, (len(time), 3))
    force[:, 2] -= 1.0
    return Samples(time, time, np.column_stack([gyro, force]))


STILL_COLUMNS = {
    "gyro": {"names": ["gx", "gy", "gz"], "unit": "deg/s"},
    "accelerometer": {"names": ["ax", "ay", "az"], "unit": "g"},
}
STILL_NAMES = ("gx", "gy", "gz", "ax", "ay", "az")


@dataclass
class Person:
    """Who stands at the bench: makes what is asked for, answers what is asked, goes on where nothing comes of it.

    `does` gives what is made in place of what is asked for, or nothing; `answers` gives the key of an answer.
    """

    session: Session
    source: BenchSource
    does: object = None
    answers: object = None
    gives_up_s: float = 20.0
    views: list = field(default_factory=list)
    cues: list = field(default_factory=list)
    asked: list = field(default_factory=list)
    keys: list = field(default_factory=list)
    prompted: float = 0.0

    def step(self):
        """Look, do what is shown, and press what is to be pressed."""
        keys, self.keys = self.keys, []
        step = self.session.step(keys, STEP_S)
        view, now = step.view, self.source.now
        if not self.views or view != self.views[-1][1]:
            self.views.append((now, view))
        self.cues += [(now, cue) for cue in step.cues]
        if Cue.BEGIN in step.cues and view.phase in {"move", "lie still"}:
            self.prompted = now
            self.asked.append(view.motion)
            made = view.motion if self.does is None else self.does(self, view)
            if made:
                self.source.bench.ask(made)
        if view.phase in {"move", "lie still", "moving", "hold", "return"} and now - self.prompted > self.gives_up_s:
            self.keys.append(NEXT)
            self.prompted = now
        if view.question is not None:
            self.keys.append(self._answer(view.question))
        return step

    def _answer(self, question):
        if self.answers is not None:
            return self.answers(self, question)
        for sight in reversed(self.source.bench.sights()):
            if (sight.motion, sight.actuator) == (question.motion, question.actuator):
                return next(key for key, word in question.answers.items() if word == sight.moved)
        return NOT_SEEN

    def until(self, wanted, longest=120.0):
        """Step until a view is as wanted."""
        end = self.source.now + longest
        while self.source.now < end:
            step = self.step()
            if wanted(step.view):
                return step.view
        message = f"never seen in {longest:g} s"
        raise AssertionError(message)

    def run(self, longest=400.0) -> Finished:
        """Stay at the bench until the session is over."""
        while not self.session.finished and self.source.now < longest:
            self.step()
        return self.session.finish()

    @property
    def said(self):
        """Every sentence that was said, once."""
        return list(dict.fromkeys(view.said for _, view in self.views if view.said))


def bench(
    airframe, out, seed, faults=(), *, pulses=True, rate_hz=100.0, slop_deg=8.0, until=400.0, wrap=None, second=None,
    judging=None, does=None, answers=None, gives_up_s=20.0, **more,
) -> Person:  # fmt: skip
    """Give a session on a simulated bench, and its person; `more` goes to the session."""
    options = Options(rate_hz=rate_hz, pulses=pulses, slop_deg=slop_deg)
    live = LiveBench(airframe, seed, [Fault(*f.partition("=")[::2]) for f in faults], options)
    source = BenchSource(live, until)
    given = source if wrap is None else wrap(source)
    columns = manifest_columns(live)
    if second is not None:
        columns.pop("actuators")
        more["pulses"] = second(source)
    session = Session(
        airframe,
        given,
        Occasion(columns, "a simulated bench", operator="R. Vane"),
        out,
        judging=(judging or LateJudging)(airframe),
        clock=lambda: source.now,
        **more,
    )
    return Person(session, source, does, answers, gives_up_s)


class Halves:
    """One bench as two devices: the unit gives all but the pulses, and a reader of pulses has a clock of its own."""

    def __init__(self, source, fast=1.0003):
        self._source, self._fast = source, fast
        of_pulses = [
            name for group in source.bench.groups if group.role.startswith("actuator:") for name in group.names
        ]
        self._pulses = [k for k, name in enumerate(source.columns) if name in of_pulses]
        self._rest = [k for k, name in enumerate(source.columns) if name not in of_pulses]
        self._waiting = []
        self._first = None
        self.columns = tuple(source.columns[k] for k in self._rest)
        self.second = Listed(tuple(of_pulses), ())
        self.second.take = self._take_second

    def __getattr__(self, name):
        return getattr(self._source, name)

    def take(self, timeout):
        """Let the time pass, and give the unit's half; the other half waits to be taken."""
        items = self._source.take(timeout)
        self._waiting += items
        return tuple(Samples(s.time, s.arrival, s.values[:, self._rest]) for s in items)

    def _take_second(self, timeout):  # noqa: ARG002 - as a list
        given, self._waiting = self._waiting, []
        halves = []
        for samples in given:
            clock = samples.time * self._fast
            self._first = clock[0] if self._first is None else self._first
            halves.append(Samples(clock - self._first, samples.arrival, samples.values[:, self._pulses]))
        return tuple(halves)
