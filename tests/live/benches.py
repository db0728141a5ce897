"""A simulated person who does what the session shows, on a simulated bench, in simulated time."""

from dataclasses import dataclass, field

from benchrig.live.closing import Finished
from benchrig.live.judging import JudgingAtOnce
from benchrig.live.occasion import Occasion
from benchrig.live.session import Session
from benchrig.live.view import BACK, NEXT, Cue
from benchrig.live.words import NOT_SEEN
from benchrig.simulation.device.bench_source import BenchSource, manifest_columns
from benchrig.simulation.faults import Fault
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.options import Options

STEP_S = 0.05


@dataclass
class Bench:
    """One session with its person.

    `does` may turn what is asked into what is made; `answers` gives the key of an answer to a question.
    """

    session: Session
    source: BenchSource
    does: object = None
    answers: object = None
    views: list = field(default_factory=list)
    cues: list = field(default_factory=list)
    asked: list = field(default_factory=list)
    keys: list = field(default_factory=list)
    gives_up_s: float = 20.0
    _prompted: float = 0.0

    def step(self):
        keys, self.keys = self.keys, []
        step = self.session.step(keys, STEP_S)
        view, now = step.view, self.source.now
        if not self.views or view != self.views[-1][1]:
            self.views.append((now, view))
        self.cues += [(now, cue) for cue in step.cues]
        if Cue.BEGIN in step.cues and view.phase in {"move", "lie still"}:
            self._prompted = now
            self.asked.append(view.motion)
            made = view.motion if self.does is None else self.does(self, view)
            if made:
                self.source.bench.ask(made)
        if view.phase in {"move", "lie still", "moving", "hold", "return"} and now - self._prompted > self.gives_up_s:
            self.keys.append(NEXT)
            self._prompted = now
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

    def run(self, longest=400.0) -> Finished:
        while not self.session.finished and self.source.now < longest:
            self.step()
        return self.session.finish()

    def say(self):
        return list(dict.fromkeys(view.said for _, view in self.views if view.said))


def bench(airframe, out, seed, faults=(), *, pulses=True, rate_hz=100.0, until=400.0, judging=None, **more) -> Bench:
    """Give a session on a simulated bench; `more` goes to the session or to the person."""
    options = Options(rate_hz=rate_hz, pulses=pulses, slop_deg=more.pop("slop_deg", 8.0))
    live = LiveBench(airframe, seed, [Fault(*f.partition("=")[::2]) for f in faults], options)
    source = BenchSource(live, until)
    person = {key: more.pop(key) for key in ("does", "answers", "gives_up_s") if key in more}
    session = Session(
        airframe,
        more.pop("wrap", lambda s: s)(source),
        Occasion(manifest_columns(live), "a simulated bench", operator="R. Vane"),
        out,
        judging=judging or JudgingAtOnce(airframe),
        clock=lambda: source.now,
        **more,
    )
    return Bench(session, source, **person)


__all__ = ["BACK", "NEXT", "Bench", "bench"]
