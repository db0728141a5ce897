"""Where the files that a result names lie now, and whether they are still what was judged."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from benchrig.capture.manifest import read_manifest
from benchrig.capture.reader import read_capture
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_file import read_airframe
from benchrig.declaration.quotation import escape
from benchrig.errors import BenchrigError, CaptureError, Problem, ResultError
from benchrig.measure.measurement import Evidence
from benchrig.report.stored_check import StoredCheck


def find_airframe(result: Path, named: Evidence, given: Path | None) -> Airframe:
    """Read the airframe file that a result names, or the one that is given in its place.

    Of several files of that name, the one with the digest of the result is taken.

    Parameters
    ----------
    result : Path
        The result's own file.
    named : Evidence
    given : Path or None

    Raises
    ------
    ResultError
        If there is none.
    AirframeFileError
        If it cannot be used.
    """
    if given is not None:
        return read_airframe(given)
    found = _found(result, named.file, "airframe file", "--airframe")
    as_judged = (path for path in found if _digest(path) == named.sha256)
    return read_airframe(next(as_judged, found[0]))


def find_capture(result: Path, check: StoredCheck, given: Path | None, airframe: Airframe) -> Recording:
    """Read the capture that a result was made from, and refuse one that is no longer what was judged.

    Parameters
    ----------
    result : Path
        The result's own file.
    check : StoredCheck
    given : Path or None
        The manifest, where it lies elsewhere than the result says.
    airframe : Airframe

    Raises
    ------
    ResultError
        If there is none, or its stream or manifest is not the one that was judged.
    CaptureError
        If it cannot be used.
    """
    found = [given] if given is not None else _found(result, check.capture.file, "manifest", "--capture")
    refused: list[BenchrigError] = []
    for path in found:
        try:
            recording = read_capture(path, airframe)
        except CaptureError as error:  # another file of that name may still be the one
            refused.append(error)
            continue
        if recording.sha256 == check.capture.sha256:
            return recording
        refused.append(ResultError(_changed(recording, check, escape(result.name))))
    raise refused[0]


def _found(result: Path, named: Path, what: str, option: str) -> Sequence[Path]:
    """Look for a file by its name in a result: as it stands, from the result's folder, and beside the result."""
    places = list(_places(result, named))
    there = [place for place in places if is_there(place)]
    if there:
        return there
    folders = ", ".join(dict.fromkeys(escape(str(place.parent), 120) for place in places))
    finding = f"the {what} {escape(named.name)} that it names is not there; looked for in {folders}"
    cause, act = "it was moved or renamed", f"name it with {option}"
    raise ResultError(Problem(escape(result.name), finding, cause=cause, act=act))


def _digest(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:  # whoever reads it in earnest says why it cannot be read
        return ""


def _places(result: Path, named: Path) -> Iterator[Path]:
    yield from dict.fromkeys((named, result.parent / named, result.parent / named.name))


def is_there(path: Path) -> bool:
    """Say whether there is a file of a name that stands in a result; a name that none can have is of no file.

    Parameters
    ----------
    path : Path
        Of any text: a zero byte, or more letters than a system takes, are refused by some and not by others.
    """
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _changed(recording: Recording, check: StoredCheck, result: str) -> Problem:
    """Say which of the two files is no longer what was judged, as far as the result can tell."""
    place = escape(recording.manifest.name)
    cause, act = _cause(recording, check), "name the capture with --capture, or run benchrig check for a new result"
    finding = f"is not the capture that {result} was made from: {cause}"
    return Problem(place, finding, "the stream and the manifest as they were judged", "", act)


def _cause(recording: Recording, check: StoredCheck) -> str:
    stream, manifest = escape(recording.stream.name), escape(recording.manifest.name)
    if check.stream_sha256 is None or check.manifest_sha256 is None:
        if len(recording.time) != check.samples:
            return f"its stream {stream} has {len(recording.time)} samples, and {check.samples} were judged"
        return f"its stream {stream} or its manifest {manifest} was changed (the result does not say which)"
    changed = []
    if recording.stream_sha256 != check.stream_sha256:
        more = len(recording.time) - check.samples
        count = f" ({abs(more)} samples {'more' if more > 0 else 'fewer'})" if more else ""
        second = read_manifest(recording.manifest).pulse_stream  # one digest stands for both
        beside = "" if second is None else f", or {escape(second.file.name)} of its pulses,"
        changed.append(f"its stream {stream}{beside} was changed{count}")
    if recording.manifest_sha256 != check.manifest_sha256:
        changed.append(f"its manifest {manifest} was changed")
    return ", and ".join(changed) or "another of its files was changed"
