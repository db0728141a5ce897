"""Which display is chosen, and what a bench that ended in trouble says."""

import io
from pathlib import Path

import pytest

from benchrig.cli.record.bench import _display, _reported
from benchrig.cli.record.fullscreen import FullScreen
from benchrig.cli.record.telling import Telling
from benchrig.cli.record.wish import Wish
from benchrig.declaration.airframe_file import read_airframe
from benchrig.errors import CaptureError, PortError, Problem
from benchrig.live.closing import Finished

DUNLIN = Path(__file__).parents[3] / "captures/dunlin.toml"


class Output(io.StringIO):
    """Standard error that is a terminal, or is none."""

    encoding = "utf-8"

    def __init__(self, *, is_terminal):
        super().__init__()
        self.is_terminal = is_terminal

    def isatty(self):
        """Say whether it is a terminal."""
        return self.is_terminal


@pytest.mark.parametrize(
    ("is_terminal", "term", "plain", "kind"),
    [
        (True, "xterm", False, FullScreen),
        (True, "xterm", True, Telling),
        (True, "dumb", False, Telling),
        (True, "", False, Telling),
        (False, "xterm", False, Telling),
    ],
)
def test_the_whole_screen_is_taken_only_where_there_is_one_to_take(monkeypatch, is_terminal, term, plain, kind):
    monkeypatch.setattr("sys.stderr", Output(is_terminal=is_terminal))
    monkeypatch.setenv("TERM", term)
    with _display(Wish(airframe=DUNLIN, out=Path("bench"), plain=plain), read_airframe(DUNLIN)) as display:
        assert isinstance(display, kind)


def test_a_bench_that_could_not_be_judged_says_what_else_went_wrong_and_leaves_with_its_error(tmp_path, capsys):
    full = Problem("bench.arrow", "cannot be written on: no space left on device", act="make room on the disk")
    lost = Problem("bench.toml", "holds no sample")
    finished = Finished(tmp_path / "bench.toml", None, (full, lost), CaptureError(lost))
    with pytest.raises(CaptureError, match="holds no sample"):
        _reported(finished, Wish(airframe=DUNLIN, out=tmp_path / "bench"))
    said = capsys.readouterr()
    assert str(full) in said.err
    assert str(lost) not in said.err  # the error itself says it, once
    assert said.out == ""


def test_a_port_that_gave_nothing_leaves_with_the_status_of_ports(tmp_path):
    silent = Problem("port", "is open, and nothing has come")
    finished = Finished(tmp_path / "bench.toml", None, (silent,), PortError(silent))
    with pytest.raises(PortError) as raised:
        _reported(finished, Wish(airframe=DUNLIN, out=tmp_path / "bench"))
    assert raised.value.exit_status == 6
