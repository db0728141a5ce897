"""The judge beside the session: it judges the newest evidence again and again, and leaves the session its time."""

from __future__ import annotations

import threading
import time as clocks
from collections.abc import Callable
from typing import Final

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.errors import CaptureError
from benchrig.job import judge
from benchrig.live.evidence import Judged

SHARE: Final = 0.2
"""Of the time that judging may take while motions are made; where the session waits for it, it takes all."""

Snapshot = Callable[[], Recording]


class Judging:
    """One thread that judges whatever was requested last.

    Parameters
    ----------
    airframe : Airframe
    """

    def __init__(self, airframe: Airframe) -> None:
        self._airframe = airframe
        self._snapshot: Snapshot | None = None
        self._wake = threading.Condition()
        self._request = self._heard = 0
        self._urgent = self._closed = False
        self._latest: Judged | None = None
        self._fault: BaseException | None = None
        self._thread: threading.Thread | None = None

    @property
    def is_current(self) -> bool:
        """Whether the latest request was heard."""
        with self._wake:
            return self._heard == self._request

    def request(self, snapshot: Snapshot) -> None:
        """Ask for a judgement of everything so far.

        Parameters
        ----------
        snapshot : callable
            Gives the recording as it is now; called in the thread.
        """
        with self._wake:
            self._request += 1
            self._snapshot = snapshot
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="judging", daemon=True)
                self._thread.start()
            self._wake.notify()

    def hurry(self) -> None:
        """Let it take all the time it needs: the session waits for it."""
        if not self._urgent:
            with self._wake:
                self._urgent = True
                self._wake.notify()

    def latest(self) -> Judged | None:
        """Give the latest judgement; a fault of the judge is raised here, and not lost in its thread."""
        with self._wake:
            if self._fault is not None:
                raise self._fault
            return self._latest

    def close(self) -> None:
        """Stop; may be called twice."""
        with self._wake:
            self._closed = True
            self._wake.notify()
        if self._thread is not None:
            self._thread.join()

    def _run(self) -> None:
        try:
            while (asked := self._next()) is not None:
                begun = clocks.monotonic()
                self._judge(*asked)
                self._pause(clocks.monotonic() - begun)
        except BaseException as fault:  # noqa: BLE001 - a thread must not end unheard
            with self._wake:
                self._fault = fault

    def _next(self) -> tuple[int, Snapshot] | None:
        with self._wake:
            while not self._closed and self._heard == self._request:
                self._wake.wait()
            return None if self._closed or self._snapshot is None else (self._request, self._snapshot)

    def _judge(self, request: int, snapshot: Snapshot) -> None:
        try:
            judged = Judged(judge(self._airframe, snapshot()), request)
        except CaptureError:
            judged = None  # too few samples yet, or a manifest that a later request is about
        with self._wake:
            self._heard = request
            self._latest = judged or self._latest

    def _pause(self, spent: float) -> None:
        until = clocks.monotonic() + spent * (1 / SHARE - 1)
        with self._wake:
            while not self._closed and not self._urgent and (left := until - clocks.monotonic()) > 0:
                self._wake.wait(left)
            self._urgent = False


class JudgingAtOnce(Judging):
    """Judges within the request: the same session always goes the same way, however fast it runs."""

    def request(self, snapshot: Snapshot) -> None:
        """Judge everything so far."""
        self._request += 1
        self._judge(self._request, snapshot)
