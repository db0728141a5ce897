"""The judge beside the session: the newest evidence, heard when it is done, never lost."""

import threading

import pytest

from benchrig.capture.reader import read_capture
from benchrig.errors import CaptureError, Problem
from benchrig.live.judging import Judging

LONG_S = 60.0


@pytest.fixture
def recording(captures, demo_airframe):
    return read_capture(captures / "teal-elevator-reversed.toml", demo_airframe("teal"))


@pytest.fixture
def judging(demo_airframe):
    made = Judging(demo_airframe("teal"))
    yield made
    made.close()


class Counted:
    """A snapshot that says when it is taken, and waits until it may be given."""

    def __init__(self, recording, *, may_go=True):
        self.recording, self.taken, self.free = recording, threading.Event(), threading.Event()
        if may_go:
            self.free.set()

    def __call__(self):
        """Give the recording."""
        self.taken.set()
        assert self.free.wait(LONG_S)
        if isinstance(self.recording, Exception):
            raise self.recording
        return self.recording


def wait_for(judging, condition):
    """Wait in small steps, as a session does."""
    done = threading.Event()
    for _ in range(int(LONG_S / 0.01)):
        if condition():
            return
        judging.hurry()
        done.wait(0.01)
    pytest.fail("the judge was not heard")


def test_a_request_is_judged_in_a_thread_of_its_own_and_heard(judging, recording):
    assert judging.is_current
    judging.request(Counted(recording))
    wait_for(judging, lambda: judging.is_current)
    assert judging.latest().record.verdict == "fail"
    assert judging.latest().request == 1


def test_only_the_newest_of_several_requests_is_judged(judging, recording):
    first, second, third = Counted(recording, may_go=False), Counted(recording), Counted(recording)
    judging.request(first)
    assert first.taken.wait(LONG_S)
    judging.request(second)
    judging.request(third)
    assert not judging.is_current
    assert judging.latest() is None
    first.free.set()
    wait_for(judging, lambda: judging.is_current)
    assert third.taken.is_set()
    assert not second.taken.is_set()
    assert judging.latest().request == 3


def test_a_recording_too_short_to_judge_is_heard_and_gives_nothing(judging):
    judging.request(Counted(CaptureError(Problem("x", "3 samples"))))
    wait_for(judging, lambda: judging.is_current)
    assert judging.latest() is None


def test_a_fault_of_the_judge_is_raised_where_it_is_heard(judging):
    judging.request(Counted(ValueError("a fault of the program")))

    def raised():
        try:
            judging.latest()
        except ValueError as fault:
            return "a fault of the program" in str(fault)
        return False

    wait_for(judging, raised)


def test_closing_waits_for_the_thread_and_may_be_done_twice(demo_airframe, recording):
    made = Judging(demo_airframe("teal"))
    made.close()
    made = Judging(demo_airframe("teal"))
    made.request(Counted(recording))
    made.close()
    made.close()
    assert not [t for t in threading.enumerate() if t.name == "judging" and t.is_alive()]
