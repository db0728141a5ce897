"""What comes over a link is judged moment by moment: each trouble is told once when it begins and once when it ends."""

import pytest

from benchrig.capture.device.tally import Tally
from benchrig.capture.port.health import SILENCE, WINDOW, Health, no_rows
from benchrig.capture.port.troubles import trouble


class Link:
    """A tally that fills as the test says, and the health that looks at it ten times a second."""

    def __init__(self, device):
        self.tally = Tally()
        self.health = Health(device, self.tally, 0.0)
        self.health.place = "/dev/unit"
        self.now = 0.0

    def run(self, seconds, rows=20, refused=0, missing=0, size=50):
        """Let time pass with so many rows, damaged and lost ones each tenth of a second."""
        told = []
        for _ in range(round(10 * seconds)):
            self.now += 0.1
            self.tally.rows += rows
            self.tally.missing += missing
            self.tally.bytes += (rows + refused) * size
            self.tally.row_bytes += rows * size
            if refused:
                self.tally.refuse(b"\x13\x07", "check", refused)
            told += self.health.look(self.now)
        return told


@pytest.fixture
def link(device_of):
    return Link(device_of())


def codes(told):
    return [each.code + ("." if each.is_over else "") for each in told]


def test_a_link_that_is_well_is_not_spoken_of(link):
    assert link.run(30) == []


def test_silence_is_told_once_and_its_end(link):
    link.run(3)
    told = link.run(SILENCE + 3, rows=0)
    assert codes(told) == ["silent"]
    assert codes(link.run(0.2)) == ["silent."]


def test_a_pause_shorter_than_silence_is_nothing(link):
    link.run(3)
    assert link.run(SILENCE - 0.2, rows=0) == []
    assert link.run(5) == []


def test_garbage_in_place_of_rows_is_told_with_how_it_begins(link):
    link.run(3)
    (told,) = link.run(2 * WINDOW, rows=0, refused=20)
    assert told.code == "garbage"
    assert told.problem.finding.endswith("of them are rows of bench unit, frames; they begin 13 07")
    assert codes(link.run(0.2)) == ["garbage."]


@pytest.mark.parametrize(
    ("form", "sample", "reason", "begins"),
    [
        (
            "lines",
            b"\xd0A\xed\x05\xf0" * 20,
            "too long",
            "begin D0 41 ED 05 F0 D0 41 ED, and no line ends in them: it looks like frames",
        ),
        (
            "lines",
            b"\xd0A\xed\x05\xf0",
            "not a number",
            "they begin D0 41 ED 05 F0, which is no text: frames, or another speed",
        ),
        ("lines", b"hello, bench", "not a number", 'they begin "hello, bench"'),
        ("frames", b"0.12,0.34,0.56,0.78,0.91\r\n", "check", '"0.12,0.34,0.56,0.78,0.91", which looks like lines'),
        ("frames", b"\x1b[2J", "check", "they begin 1B 5B 32 4A"),
    ],
)
def test_foreign_bytes_are_shown_as_what_they_are(device_of, form, sample, reason, begins):
    tally = Tally(bytes=len(sample))
    tally.refuse(sample, reason)
    _, parts = no_rows(device_of(form), tally, "921,600")
    problem = trouble("garbage", "/dev/unit", **parts)
    assert begins in problem.finding
    assert problem.finding.isprintable()


@pytest.mark.parametrize(("kind", "code"), [("refused", "damaged"), ("missing", "losing")])
def test_rows_damaged_or_lost_again_and_again_are_told_with_their_share(link, kind, code):
    (told,) = link.run(3 * WINDOW, rows=18, **{kind: 2})
    assert told.code == code
    assert told.problem.finding.startswith("10% of ")
    assert codes(link.run(2 * WINDOW)) == [f"{code}."]


@pytest.mark.parametrize("kind", ["refused", "missing"])
def test_one_bad_moment_is_not_worth_a_word(link, kind):
    link.run(3)
    assert link.run(0.5, **{kind: 20}) == []
    assert link.run(5) == []


def test_damaged_rows_are_not_told_a_second_time_as_lost(link):
    assert codes(link.run(5 * WINDOW, rows=18, refused=2, missing=2)) == ["damaged"]


def test_after_the_port_was_opened_again_nothing_of_before_stands(link):
    link.run(3 * WINDOW, rows=18, refused=2)
    link.health.revive(link.now)
    assert link.run(3 * WINDOW) == []


def test_the_noise_of_a_plug_is_no_garbage(link):
    link.run(3)
    link.tally.bytes += 10
    assert "garbage" not in codes(link.run(WINDOW, rows=0))
