"""What a session keeps on the disk: the store of the samples, and the manifest that tells of them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, Final

from benchrig import __version__
from benchrig.capture.beside import SecondSource
from benchrig.capture.device.samples import Samples, Source
from benchrig.capture.manifest import Manifest, read_manifest
from benchrig.capture.store.disk import without_hope
from benchrig.capture.store.ending import ending_path
from benchrig.capture.store.manifest_file import write_manifest
from benchrig.capture.store.taken import refuse_to_replace
from benchrig.capture.store.writer import StoreWriter
from benchrig.declaration.airframe import Airframe
from benchrig.errors import StoreError
from benchrig.live.evidence import Evidence
from benchrig.live.manifest_document import manifest_document
from benchrig.live.occasion import Occasion

SUFFIXES: Final = (".arrow", ".toml")


class Keeping:
    """Writes the store and the manifest of one recording.

    Parameters
    ----------
    out : Path
        Folder and NAME; ``.arrow`` or ``.toml`` on it is taken off.
    occasion : Occasion
    airframe : Airframe
    second : SecondSource or None
    clock : callable
        Gives s; when rows that wait are due on the disk.
    force : bool
        Whether files of this name may be replaced; a declaration never is.

    Attributes
    ----------
    manifest, stream : Path
    """

    def __init__(
        self,
        out: Path,
        occasion: Occasion,
        airframe: Airframe,
        second: SecondSource | None,
        *,
        clock: Callable[[], float],
        force: bool,
    ) -> None:
        name = out.name
        for suffix in SUFFIXES:
            name = name.removesuffix(suffix)
        self.manifest, self.stream = out.with_name(f"{name}.toml"), out.with_name(f"{name}.arrow")
        self._occasion, self._airframe, self._second = occasion, airframe, second
        self._clock, self._force = clock, force
        self._store: StoreWriter | None = None
        self._source: Source | None = None
        self._clock_told = ""
        self._before: str | None = None
        self._routine: tuple[str, ...] = ()

    @property
    def is_begun(self) -> bool:
        """Whether there is a store."""
        return self._store is not None

    def refuse_others(self) -> None:
        """Refuse names that another file has.

        Raises
        ------
        UsageError
        """
        for path in (self.stream, ending_path(self.stream), self.manifest):
            refuse_to_replace(path, force=self._force)

    def begin(self, source: Source, evidence: Evidence, routine: Sequence[str]) -> Manifest:
        """Make the store and the first manifest, and give what the manifest says.

        Raises
        ------
        UsageError
            If a file is in the way.
        StoreError
            If the system refuses.
        CaptureError
            If the columns do not fit the airframe.
        """
        self._routine, self._source, self._clock_told = tuple(routine), source, source.clock
        self._occasion = replace(self._occasion, columns=_held(self._occasion.columns, source.columns))
        about = {
            "source": self._occasion.source,
            "clock": source.clock,
            "started": self._occasion.when.isoformat(),
            "program": f"benchrig {__version__}",
            "airframe": self._airframe.name,
        }
        self._store = StoreWriter.create(self.stream, source.columns, about, force=self._force, clock=self._clock)
        self.tell(evidence)
        return read_manifest(self.manifest, self._airframe)

    @property
    def actuators(self) -> tuple[str, ...]:
        """Of which the source's columns hold pulses."""
        return tuple(self._occasion.columns.get("actuators", {}))

    @property
    def names(self) -> tuple[str, ...]:
        """Of the store's columns."""
        return () if self._store is None else self._store.names

    @property
    def is_all_stored(self) -> bool:
        """Whether every row that was handed over is in the file."""
        return self._store is None or self._store.rows == self._store.stored

    def append(self, samples: Samples) -> None:
        """Store rows.

        Raises
        ------
        StoreError
            The rows are kept, and tried again with the next.
        """
        if self._store is not None:
            self._store.append(
                samples.time, samples.arrival, samples.values, lost=samples.lost, refused=samples.refused
            )

    def tell(self, evidence: Evidence) -> None:
        """Write the manifest anew, after all that it tells of is on the disk.

        Raises
        ------
        StoreError
        """
        pulses: Mapping[str, Any] | None = None
        if self._store is not None:
            self._store.sync()
        if self._second is not None:
            self._second.sync()
            pulses = self._second.pulses_document()
        document = manifest_document(
            replace(self._occasion, notes=tuple(dict.fromkeys((*self._occasion.notes, *self._of_source())))),
            evidence,
            self.stream.name,
            routine=self._routine,
            second=self._second.columns_document() if self._second is not None and pulses is not None else None,
            pulses=pulses,
        )
        self._before = write_manifest(self.manifest, document, force=self._force, before=self._before)

    def _of_source(self) -> tuple[str, ...]:
        """Say what the source tells of itself, and by which clock its times are where more is known of it by now."""
        if self._source is None:
            return ()
        clock = self._source.clock
        return (*(() if clock == self._clock_told else (f"at the last row, time by {clock}",)), *self._source.notes)

    def close(self, evidence: Evidence, ended: str) -> list[StoreError]:
        """Write the last manifest, and end the store; give what the system refused, each once."""
        refused: list[StoreError] = []
        if self._store is None:
            return refused
        for step in (partial(self.tell, evidence), partial(self._store.close, ended)):
            try:
                step()
            except StoreError as error:
                refused.append(StoreError(*map(without_hope, error.problems)))
        return list({error.problems: error for error in refused}.values())

    def take_away(self) -> tuple[Path, ...]:
        """Remove the files of a recording that was closed without a row; give those that are gone.

        They tell nothing, and would only be in the way of the next recording of this name.
        """
        others = 0 if self._second is None else self._second.rows
        if self._store is None or self._store.stored or others:
            return ()
        gone: list[Path] = []
        for path in (self.stream, ending_path(self.stream), self.manifest):
            with suppress(OSError):
                if path != self.manifest or _digest(path) == self._before:
                    path.unlink()
                    gone.append(path)
        return tuple(gone)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _held(columns: Mapping[str, Any], names: Sequence[str]) -> Mapping[str, Any]:
    """Leave out pulses and commands that are not the source's own: a capture that is played again may have two."""
    own = {
        key: {name: group for name, group in columns[key].items() if set(group["names"]) <= set(names)}
        for key in ("actuators", "commands")
        if key in columns
    }
    return {**columns, **own}
