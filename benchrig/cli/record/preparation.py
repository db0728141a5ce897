"""What can be looked at before a unit gets power: names that are taken, folders, room on the disk."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from benchrig.capture.store.ending import ending_path
from benchrig.capture.store.taken import refuse_to_replace
from benchrig.cli.outputs import refuse_foreign, refuse_shared
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, StoreError, UsageError

ROOM: Final = 64 * 2**20
"""Bytes that must be free: ten minutes at 1 kHz with a dozen columns take 62 MiB."""


@dataclass(frozen=True, slots=True)
class Target:
    """The files of one recording.

    Attributes
    ----------
    name : Path
        Without an ending.
    has_pulses : bool
        Whether a second stream is recorded beside the first.
    """

    name: Path
    has_pulses: bool = False

    @property
    def manifest(self) -> Path:
        """The manifest, which `check` takes."""
        return self._with(".toml")

    @property
    def files(self) -> tuple[Path, ...]:
        """Everything that is written."""
        stores = [self._with(".arrow")] + ([self._with("-pulses.arrow")] if self.has_pulses else [])
        return (self.manifest, *(file for store in stores for file in (store, ending_path(store))))

    def _with(self, ending: str) -> Path:
        return self.name.with_name(self.name.name + ending)


def prepare(target: Target, given: Iterable[Path], reports: Mapping[str, Path | None], *, force: bool) -> None:
    """Refuse whatever would fail or do harm later, before anything is switched on.

    Parameters
    ----------
    target : Target
    given : iterable of Path
        Files that are read: never written, whatever `force` says.
    reports : mapping of option to Path or None
    force : bool
        Whether files of this name may be replaced; a declaration never is.

    Raises
    ------
    UsageError
        If a name is taken or used twice.
    StoreError
        If the folder cannot be written, or too little room is left.
    """
    _require_folder(target)
    _spare(target, given)
    for file in target.files:
        refuse_to_replace(file, force=force)
    refuse_shared({**{f"--out ({file.name})": file for file in target.files}, **reports})
    for option, report in reports.items():
        if report is not None:
            refuse_foreign(option, report, force=force)


def _require_folder(target: Target) -> None:
    folder, place = target.name.parent, escape(f"--out {target.name}", 200)
    if not target.name.name:
        raise UsageError(Problem(place, "is no name", "the name of the recording, such as bench-1", act="name it"))
    if not folder.is_dir():
        finding = f"its folder {escape(str(folder), 200)} is not there"
        raise StoreError(Problem(place, finding, act="make the folder first, or correct its name"))
    if not os.access(folder, os.W_OK | os.X_OK):
        finding = f"nothing may be written in {escape(str(folder.resolve()), 200)}"
        raise StoreError(Problem(place, finding, act="name a folder that you may write to"))
    free = shutil.disk_usage(folder).free
    if free < ROOM:
        finding = f"only {free / 2**20:.0f} MiB are free on its disk"
        expectation = f"{ROOM / 2**20:.0f} MiB, so that no recording ends half way"
        raise StoreError(Problem(place, finding, expectation, act="make room, or choose another disk"))


def _spare(target: Target, given: Iterable[Path]) -> None:
    """Keep the files that are read from being written over, which --force must not allow either."""
    written = {file.resolve() for file in target.files}
    for file in given:
        if file.resolve() in written:
            place = escape(f"--out {target.name}", 200)
            finding = f"would write over {escape(str(file), 200)}, which this recording reads"
            raise UsageError(Problem(place, finding, "a name of its own", act="give the recording another name"))
