"""What the judge holds of everything so far, and what follows from it for guiding and showing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from benchrig.capture.manifest import read_manifest
from benchrig.capture.reader import recording_from
from benchrig.capture.recording import Recording
from benchrig.capture.table import Table
from benchrig.declaration.airframe import Airframe
from benchrig.errors import CaptureError, Problem
from benchrig.live.judging import Judging, Snapshot
from benchrig.live.showing import gyro_scale_of, mounting_of, standing_of
from benchrig.live.state import Around
from benchrig.live.view import Standing


class Opinion:
    """Calls the judge, and hears what it says.

    Parameters
    ----------
    airframe : Airframe
    judging : Judging

    Attributes
    ----------
    is_wanted : bool
        Whether the judge is still to be called about something that was shown.
    standing : Standing
    gyro_scale : float or None
        By what the gyro's rates must be multiplied; None while unknown.
    """

    def __init__(self, airframe: Airframe, judging: Judging) -> None:
        self._declared, self._judging = airframe.sensor.body_from_sensor, judging
        self.is_wanted = False
        self.mounting = mounting_of(self._declared, None)
        self.standing = Standing()
        self.gyro_scale: float | None = None

    def request(self, snapshot: Snapshot) -> None:
        """Call the judge about everything so far."""
        self.is_wanted = False
        self._judging.request(snapshot)

    def hear(self, around: Around, *, hurry: bool) -> Around:
        """Hear what the judge says.

        Parameters
        ----------
        around : Around
        hurry : bool
            Whether the session waits for it.

        Returns
        -------
        Around
            With the latest judgement, the mounting it leads to, and whether it covers everything.
        """
        if hurry:
            self._judging.hurry()
        judged, current = self._judging.latest(), self._judging.is_current and not self.is_wanted
        if judged is not around.judged:
            self.mounting = mounting_of(self._declared, judged)
            self.standing = standing_of(judged)
            self.gyro_scale = gyro_scale_of(judged)
        matrix, which = self.mounting
        return replace(around, mounting=matrix, is_clear=which != "open", judged=judged, current=current)

    def close(self) -> None:
        """Let the judge go."""
        self._judging.close()


def snapshot_of(manifest: Path, airframe: Airframe, rows: Callable[[], Table] | None, second: Table | None) -> Snapshot:
    """Give what makes a recording of these rows and the manifest; it may be called in another thread.

    Parameters
    ----------
    manifest : Path
    airframe : Airframe
    rows : callable or None
        Gives all rows so far; None where there are none.
    second : Table or None
        Those of a second source.
    """

    def recording() -> Recording:
        if rows is None:
            raise CaptureError(Problem(manifest.stem, "no sample yet", act="wait until the unit sends"))
        described = read_manifest(manifest, airframe)
        return recording_from(described, rows(), "", second if described.pulse_stream is not None else None)

    return recording
