"""The end of a session: everything is on the disk, and the record is made of what is there, as `check` would."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from benchrig.capture.reader import read_capture
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape
from benchrig.errors import BenchrigError, PortError, Problem
from benchrig.job import judge
from benchrig.verdict.record import BenchRecord


@dataclass(frozen=True, slots=True, eq=False)
class Finished:
    """What a session leaves.

    Attributes
    ----------
    manifest : Path
        Beside its stream; not there where no sample was stored.
    record : BenchRecord or None
        Of what is on the disk; None where that cannot be judged.
    problems : tuple of Problem
        What the person must know besides: what could not be stored, why nothing was judged.
    error : BenchrigError or None
        Why there is no record, with the status to leave with.
    """

    manifest: Path
    record: BenchRecord | None
    problems: tuple[Problem, ...]
    error: BenchrigError | None = None


def nothing_came(
    manifest: Path, final: Problem | None, problems: tuple[Problem, ...], gone: Sequence[Path] = ()
) -> Finished:
    """End a session without a sample.

    Parameters
    ----------
    manifest : Path
    final : Problem or None
        Why nothing more could come.
    problems : tuple of Problem
        So far.
    gone : sequence of Path
        Files that were made for it, and taken away again.
    """
    act = "see that the unit has power, and record again"
    problem = final or Problem(escape(manifest.stem), "no sample came, so there is nothing to judge", act=act)
    if gone:
        names = ", ".join(escape(path.name) for path in gone)
        finding = f"the files that were made for it held no sample, and are taken away again: {names}"
        problems = (*problems, Problem(escape(manifest.stem), finding))
    return Finished(manifest, None, (*problems, problem), PortError(problem))


def judged_from_disk(
    airframe: Airframe, manifest: Path, live: Recording | None, problems: tuple[Problem, ...]
) -> Finished:
    """Judge what is on the disk, and hold it against what came in.

    Parameters
    ----------
    airframe : Airframe
    manifest : Path
    live : Recording or None
        As it was shown; None where it could not be made.
    problems : tuple of Problem
        So far.
    """
    try:
        stored = read_capture(manifest, airframe)
    except BenchrigError as error:
        return Finished(manifest, None, (*problems, *error.problems), error)
    differs = () if live is None else _differences(stored, live)
    return Finished(manifest, judge(airframe, stored), (*problems, *differs))


def _differences(stored: Recording, live: Recording) -> tuple[Problem, ...]:
    """Say where the disk holds other rows than were shown."""
    place, count = stored.stream.name, len(stored.time)
    if count < len(live.time):
        finding = f"{len(live.time) - count:,} of {len(live.time):,} rows came and were not stored"
        return (Problem(place, finding, act="the verdict rests on those that were"),)
    pairs = (
        (stored.time, live.time),
        (stored.angular_rate, live.angular_rate),
        (stored.acceleration, live.acceleration),
    )
    if count > len(live.time) or not all(np.array_equal(first, second) for first, second in pairs):
        cause = "the disk is failing, or another program wrote to the file"
        return (Problem(place, "does not hold the rows that were shown", "the same", cause, "record again"),)
    return ()
