"""Signals that end programs only ask the recording to stop."""

import os
import signal

import pytest

from benchrig.cli.record.stops import Stops


@pytest.mark.parametrize("ending", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_is_noted_and_ends_nothing(ending):
    with Stops() as stops:
        assert not stops.asked
        os.kill(os.getpid(), ending)
        assert stops.asked


def test_what_was_there_before_is_put_back():
    before = [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)]
    with Stops():
        assert signal.getsignal(signal.SIGTERM) is not before[1]
    assert [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)] == before


def test_who_insists_is_obeyed():
    with Stops(), pytest.raises(KeyboardInterrupt):  # noqa: PT012 - the third is the one that raises
        os.kill(os.getpid(), signal.SIGINT)
        os.kill(os.getpid(), signal.SIGINT)
        os.kill(os.getpid(), signal.SIGINT)


def test_a_halt_is_refused_and_one_that_could_not_be_is_noted_when_it_is_over():
    with Stops() as stops:
        os.kill(os.getpid(), signal.SIGTSTP)  # would halt this test for ever
        assert not stops.was_halted
        os.kill(os.getpid(), signal.SIGCONT)
        assert stops.was_halted
        assert not stops.asked
    assert signal.getsignal(signal.SIGTSTP) is signal.SIG_DFL
    assert signal.getsignal(signal.SIGCONT) is signal.SIG_DFL
