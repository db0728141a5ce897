"""The loop between a session and a person: keys in, views out, and a stop that is heard."""

import itertools

from bench_views import VIEWS

from benchrig.cli.record.loop import FRAME_S, Door, guide
from benchrig.cli.record.sounds import Bells
from benchrig.live.view import QUIT, Cue, Step


class Script:
    """A session of so many steps that notes what it was told; it ends early when it is told to stop."""

    def __init__(self, steps):
        self.steps = steps
        self.keys = []
        self.finished = False

    def step(self, keys, timeout):
        """Note the keys and give the next step."""
        assert timeout <= FRAME_S
        self.keys.append(list(keys))
        number = len(self.keys)
        self.finished = QUIT in keys or number == len(self.steps)
        return self.steps[min(number, len(self.steps)) - 1]


class Shown:
    """A display that keeps what it was shown."""

    def __init__(self):
        self.views = []
        self.bells = 0
        self.is_lost = False

    def show(self, view, now):
        """Keep what is shown."""
        self.views.append((now, view))

    def ring(self, bell):
        """Count bells."""
        self.bells += bell == "\a"


def ticking(step):
    ticks = itertools.count()
    return lambda: next(ticks) * step


def door(display, **changes):
    return Door(**{"display": display, "pressed": list, "stop_asked": lambda: False, "clock": ticking(0.01), **changes})


def test_it_draws_at_most_twenty_times_a_second():
    display = Shown()
    guide(Script([Step(VIEWS["moving"])] * 500), door(display))
    times = [time for time, _ in display.views][:-1]  # the last one is always shown
    assert all(later - earlier >= FRAME_S - 1e-9 for earlier, later in itertools.pairwise(times))
    assert 90 <= len(times) <= 101


def test_a_cue_is_shown_at_once():
    display = Shown()
    guide(
        Script([Step(VIEWS["moving"]), Step(VIEWS["return"], (Cue.DONE,)), *[Step(VIEWS["move"])] * 2]), door(display)
    )
    assert [view for _, view in display.views][:2] == [VIEWS["moving"], VIEWS["return"]]


def test_keys_reach_the_session_in_their_order():
    pressed = iter([["u", "d"], [], ["back"]])
    session = Script([Step(VIEWS["question"])] * 3)
    guide(session, door(Shown(), pressed=lambda: next(pressed)))
    assert session.keys == [["u", "d"], [], ["back"]]


def test_a_signal_stops_the_session():
    asked = iter([False, False, True])
    session = Script([Step(VIEWS["moving"])] * 100)
    guide(session, door(Shown(), stop_asked=lambda: next(asked)))
    assert session.keys[-1] == [QUIT]
    assert len(session.keys) == 3


def test_a_display_that_is_lost_stops_the_session():
    display = Shown()
    display.is_lost = True
    session = Script([Step(VIEWS["moving"])] * 100)
    guide(session, door(display))
    assert session.keys == [[QUIT]]


def test_the_last_view_is_shown_even_if_nothing_else_is():
    display = Shown()
    last = guide(Script([Step(VIEWS["moving"]), Step(VIEWS["finished"])]), door(display, clock=lambda: 0.0))
    assert display.views[-1][1] == last == VIEWS["finished"]


def test_bells_ring_where_they_are_wanted_and_not_elsewhere():
    steps = [Step(VIEWS["again"], (Cue.AGAIN,)), *[Step(VIEWS["move"])] * 100]
    heard, silent = Shown(), Shown()
    guide(Script(steps), door(heard, bells=Bells()))
    guide(Script(steps), door(silent))
    assert (heard.bells, silent.bells) == (2, 0)
