"""Exporting a capture: its streams as text or Parquet, and a manifest that is judged as the old one is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from benchrig.capture.manifest import Manifest, read_manifest
from benchrig.capture.pulse_stream import column_names_in
from benchrig.capture.store.disk import write_atomically
from benchrig.capture.store.manifest_copy import Changes, copied
from benchrig.capture.store.reading import is_store, open_store
from benchrig.capture.store.table_file import FORMS, text_names, write_columns
from benchrig.capture.store.taken import refuse_to_replace
from benchrig.capture.stream import read_bytes, read_stream
from benchrig.capture.table import require_columns
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem, UsageError
from benchrig.geometry.directions import Vector

OF_PULSES: Final = "-pulses"
"""What the name of an exported second stream ends with."""


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written, and what of the capture is told in the new manifest.

    Attributes
    ----------
    files : tuple of Path
        Streams, then the manifest.
    notes : tuple of str
    """

    files: tuple[Path, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Columns:
    """Columns of a stream, what is to be said of them, and whether rows are missing at the end."""

    columns: Mapping[str, Vector]
    notes: tuple[str, ...]
    breaks_off: bool = False


def export_capture(manifest: Path, out: Path, *, until_damage: bool = False, force: bool = False) -> Exported:
    """Write a capture anew, as text or Parquet, with a manifest beside it.

    Of a store all columns are written; of a foreign stream those that the manifest names, which alone are known to be
    numbers.

    Parameters
    ----------
    manifest : Path
    out : Path
        The new stream, ``NAME.csv`` or ``NAME.parquet``.
    until_damage : bool
        Whether of a damaged store what stands before the damage may be written.
    force : bool
        Whether files that are there may be replaced; a declaration never is.

    Raises
    ------
    UsageError
        If the new name does not fit, or is taken.
    CaptureError
        If the capture cannot be read.
    StoreError
        If the system refuses.
    """
    described = read_manifest(manifest)
    targets = _targets(described, out, force=force)
    main, second = _read(described, until_damage=until_damage)
    written = [(targets[0], main)] if second is None else [(targets[0], main), (targets[1], second)]
    names = []
    for path, stream in written:
        new = text_names(list(stream.columns)) if path.suffix == ".csv" else tuple(stream.columns)
        write_columns(path, dict(zip(new, stream.columns.values(), strict=True)))
        names.append({old: one for old, one in zip(stream.columns, new, strict=True) if old != one})
    changes = Changes(
        stream=targets[0].name,
        pulse_stream="" if second is None else targets[1].name,
        names=names[0],
        pulse_names=names[1] if second is not None else {},
        notes=(*main.notes, *(() if second is None else second.notes)),
        duration=_duration(described, main) if main.breaks_off else None,
    )
    text, noted = copied(manifest.read_text(encoding="utf-8-sig"), manifest.name, changes)
    write_atomically(targets[-1], text.encode())
    return Exported((*(path for path, _ in written), targets[-1]), noted)


def _targets(described: Manifest, out: Path, *, force: bool) -> list[Path]:
    """Name the files to write, the manifest last, and refuse what is in the way."""
    if out.suffix not in FORMS:
        expectation = f"a name that ends in {' or '.join(FORMS)}"
        raise UsageError(Problem(f"--out {escape(str(out), 200)}", "has another ending", expectation))
    targets = [out, out.with_suffix(".toml")]
    sources = [described.file.path, described.stream]
    if described.pulse_stream is not None:
        targets.insert(1, out.with_name(f"{out.stem}{OF_PULSES}{out.suffix}"))
        sources.append(described.pulse_stream.file)
    for target in targets:
        if any(target.resolve() == source.resolve() for source in sources):
            raise UsageError(_is_the_capture(target, out))
        refuse_to_replace(target, force=force)
    return targets


def _is_the_capture(target: Path, out: Path) -> Problem:
    other = escape(f"{out.stem}-exported{out.suffix}")
    return Problem(
        escape(str(target), 200),
        "is the capture itself",
        "names of its own for what is exported: the stream, and the manifest beside it",
        act=f"write --out {other}",
    )


def _read(described: Manifest, *, until_damage: bool) -> tuple[_Columns, _Columns | None]:
    data = read_bytes(described.stream)
    second = described.pulse_stream
    if second is None:
        wanted = described.column_names
        return _columns(described.stream, data, wanted, described.required_names, until_damage=until_damage), None
    there = column_names_in(described.stream, data, described.required_names)
    beside = [name for name in described.column_names if name not in there and name not in described.required_names]
    wanted = tuple(name for name in described.column_names if name not in beside)
    main = _columns(described.stream, data, wanted, described.required_names, until_damage=until_damage)
    time = second.time.names
    own = read_bytes(second.file)
    return main, _columns(second.file, own, (*time, *beside), time, until_damage=until_damage)


def _columns(
    path: Path, data: bytes, wanted: Sequence[str], required: Sequence[str], *, until_damage: bool
) -> _Columns:
    if not is_store(path, data):
        table = read_stream(path, data, wanted, required)
        return _Columns(table.columns, table.notes)
    store = open_store(path, data)
    notes = store.notes
    if store.problem is not None:
        if not until_damage:
            raise CaptureError(store.problem)
        notes = (*notes, f"exported up to where it is damaged: {store.problem.place}: {store.problem.finding}")
    require_columns(path.name, store.names, wanted)
    columns = dict(zip(store.names, store.values, strict=True))
    return _Columns(columns, notes, store.end in {"interrupted", "damaged"})


def _duration(described: Manifest, main: _Columns) -> float:
    time = described.groups["time"]
    stamps = main.columns[time.names[0]]
    return float(stamps[-1] - stamps[0]) * time.unit.factor if len(stamps) else 0.0
