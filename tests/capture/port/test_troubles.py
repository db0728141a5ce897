"""The sentences: each has its parts, is on its page, and repeats nothing foreign raw."""

import errno
import os
import re
from pathlib import Path

import pytest

from benchrig.capture.port.listing import PortName, there_again
from benchrig.capture.port.troubles import OVER, SENTENCES, cannot_open, ended, trouble

PAGE = Path(__file__).parents[3] / "docs" / "how-to" / "when-the-port-says.md"
PARTS = {
    name: f"<{name}>"
    for sentence in (*SENTENCES.values(), *OVER.values())
    for text in (sentence.finding, sentence.expectation, sentence.cause, sentence.act)
    for name in re.findall(r"{(\w+)}", text)
}


@pytest.mark.parametrize("code", SENTENCES)
def test_a_trouble_says_what_was_found_why_and_what_to_do(code):
    problem = trouble(code, "/dev/unit", **PARTS)
    assert problem.finding
    assert problem.act
    assert problem.cause or problem.expectation
    assert str(problem).isprintable()
    assert "{" not in str(problem)


@pytest.mark.parametrize("code", OVER)
def test_what_can_end_while_it_runs_has_a_sentence_for_that(code):
    assert code in SENTENCES
    assert ended(code, "/dev/unit", **PARTS).finding


def heading_of(code):
    """Give the heading of a sentence's section: its finding, with … for what is filled in."""
    return re.sub(r"{\w+}", "…", SENTENCES[code].finding).removeprefix("… ")


def sections():
    """Give the text of each section of the page by its heading."""
    parts = PAGE.read_text(encoding="utf-8").split("\n## ")[1:]
    return {part.partition("\n")[0].removeprefix("… "): part.partition("\n")[2] for part in parts}


@pytest.mark.parametrize("code", SENTENCES)
def test_the_page_has_a_section_for_each_sentence_that_says_more_than_the_sentence(code):
    assert len(sections()[heading_of(code)].split()) > 25


def test_the_page_has_no_section_for_what_is_never_said():
    assert set(sections()) == {heading_of(code) for code in SENTENCES}


@pytest.mark.parametrize(
    ("number", "finding"),
    [
        (errno.ENOENT, "is not there"),
        (errno.EACCES, f"may not be opened: {os.strerror(errno.EACCES)}"),
        (errno.EBUSY, "is in use"),
        (errno.EAGAIN, "is in use"),
        (errno.ENOTTY, "is no serial port"),
        (errno.EIO, f"cannot be opened: {os.strerror(errno.EIO)}"),
        (None, "cannot be opened: odd \\u001b[2J words"),
    ],
)
def test_each_refusal_of_the_system_has_a_sentence(number, finding):
    assert cannot_open("/dev/unit", number, "odd \x1b[2J words", 115200).finding == finding


def test_who_may_not_open_a_port_is_told_which_group_may(tmp_path, monkeypatch):
    port = tmp_path / "port"
    port.touch()
    monkeypatch.setattr(Path, "group", lambda _: "uucp")
    problem = cannot_open(str(port), errno.EACCES, "", 115200)
    assert problem.cause == "ports belong to the group uucp, and you are not in it"
    assert "added to that group" in problem.act


def test_nobody_is_told_to_join_the_group_of_the_administrator(tmp_path, monkeypatch):
    monkeypatch.setattr(Path, "group", lambda _: "root")
    problem = cannot_open(str(tmp_path / "port"), errno.EACCES, "", 115200)
    assert problem.finding.startswith("may be opened by the administrator alone")
    assert "added" not in problem.act


def test_a_name_that_would_steer_the_terminal_is_shown_harmless():
    assert cannot_open("/dev/\x1b[2J", errno.ENOENT, "").place == "/dev/\\u001b[2J"


class Listed:
    """What this computer lists, as a test has it."""

    def __init__(self, monkeypatch):
        self.there = ()
        monkeypatch.setattr("benchrig.capture.port.listing.ports", lambda: self.there)


@pytest.fixture
def listed(monkeypatch):
    return Listed(monkeypatch)


def test_a_device_with_a_serial_number_is_found_again_under_another_name(listed):
    unit = PortName("/dev/ttyA0", 0x1234, 0x5678, "B7")
    listed.there = (PortName("/dev/ttyA0", 0x1234, 0x5678, "C9"), PortName("/dev/ttyA3", 0x1234, 0x5678, "B7"))
    assert there_again(unit) == "/dev/ttyA3"


def test_a_device_without_a_serial_number_is_found_again_by_its_name_alone(listed):
    unit = PortName("/dev/ttyA0", 0x1234, 0x5678)
    listed.there = (PortName("/dev/ttyA3", 0x1234, 0x5678),)
    assert there_again(unit) is None
    listed.there = (PortName("/dev/ttyA0", 0x1234, 0x5678),)
    assert there_again(unit) == "/dev/ttyA0"


def test_a_link_that_follows_its_device_keeps_its_name(listed, tmp_path):
    real, link = tmp_path / "ttyA3", tmp_path / "by-number"
    real.touch()
    link.symlink_to(real)
    listed.there = (PortName(str(real), 1, 2, "B7"),)
    assert there_again(PortName(str(link), 1, 2, "B7")) == str(link)
