"""Writes a simulated bench: stream, manifest and truth, side by side; never over anything else."""

from __future__ import annotations

import hashlib
import io
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from benchrig.capture.store.taken import refuse_declaration
from benchrig.errors import Problem, UsageError
from benchrig.simulation.bench import Simulated
from benchrig.simulation.command import command_of
from benchrig.simulation.document import MADE_BY, manifest_text
from benchrig.simulation.stream import Group, columns
from benchrig.simulation.truth import truth_text

FORMATS: Final = ("csv", "parquet", "feather")


@dataclass(frozen=True, slots=True)
class Written:
    """The three files of a simulated capture."""

    manifest: Path
    stream: Path
    truth: Path


def write_capture(
    simulated: Simulated, out: Path, *, file_format: str = "csv", command: str = "", force: bool = False
) -> Written:
    """Write ``NAME.csv`` (or ``.parquet``, ``.feather``), ``NAME.toml`` and ``NAME.truth.toml``.

    Parameters
    ----------
    out : Path
        Folder and NAME; a known suffix on it is taken off.
    file_format : {"csv", "parquet", "feather"}
    command : str
        That makes the same files again; worked out from the bench where it is empty.
    force : bool
        Whether files that this did not make may be overwritten; a declaration never is.

    Raises
    ------
    UsageError
        If a file is in the way, or the folder cannot be written to.
    """
    name = out.name
    for suffix in (".truth.toml", ".toml", *(f".{each}" for each in FORMATS)):
        name = name.removesuffix(suffix)
    folder = out.parent
    written = Written(folder / f"{name}.toml", folder / f"{name}.{file_format}", folder / f"{name}.truth.toml")
    _refuse_to_overwrite(written, force=force)
    groups = columns(simulated)
    stream = _csv(groups) if file_format == "csv" else _arrow(groups, file_format)
    manifest = manifest_text(simulated, groups, written.stream.name).encode()
    digests = {written.stream.name: _sha256(stream), written.manifest.name: _sha256(manifest)}
    truth = truth_text(simulated, command or command_of(simulated, name, file_format), digests).encode()
    try:
        # the truth goes first: should the disk fill up, what was left is known as this command's own
        for path, content in ((written.truth, truth), (written.stream, stream), (written.manifest, manifest)):
            path.write_bytes(content)
    except OSError as error:
        act = "name a folder that exists and may be written to"
        raise UsageError(Problem(str(folder), f"cannot be written: {error.strerror}", act=act)) from error
    return written


def _refuse_to_overwrite(written: Written, *, force: bool) -> None:
    own = _own_digests(written.truth)
    problems: list[Problem] = []
    for path in (written.manifest, written.stream, written.truth):
        try:
            refuse_declaration(path)
        except UsageError as error:
            problems += error.problems
            continue
        if path.exists() and not force and not _is_own(path, written, own):
            problems.append(_in_the_way(path))
    if problems:
        raise UsageError(*problems)


def _is_own(path: Path, written: Written, own: Mapping[str, str]) -> bool:
    """Say whether a file is as an earlier run made it, as its truth says."""
    return bool(own) if path == written.truth else own.get(path.name) == _sha256(path.read_bytes())


def _in_the_way(path: Path) -> Problem:
    return Problem(
        str(path),
        "is already there, and is not as this command made it",
        cause="a recording, or a simulated file that was changed since",
        act="choose another --out, or overwrite it with --force",
    )


def _own_digests(truth: Path) -> dict[str, str]:
    """Read which files an earlier run made; none where the truth file is not one of this command."""
    try:
        content = tomllib.loads(truth.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return {}
    files = content.get("files")
    if content.get("made_by") != MADE_BY or not isinstance(files, dict):
        return {}
    return {str(name): str(digest) for name, digest in files.items()}


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _csv(groups: tuple[Group, ...]) -> bytes:
    names = [name for group in groups for name in group.names]
    row = ",".join(f"%.{group.decimals}f" for group in groups for _ in group.names)
    lists = [column.tolist() for group in groups for column in group.values.T]
    # a blank is how a logger writes that nothing came
    lines = [(row % values).replace("nan", "") for values in zip(*lists, strict=True)]
    return "\n".join([",".join(names), *lines, ""]).encode()


def _arrow(groups: tuple[Group, ...], file_format: str) -> bytes:
    import pyarrow as pa  # noqa: PLC0415 - heavy, and needed for these two formats alone
    from pyarrow import feather, parquet  # noqa: PLC0415 - the same

    named = {name: group.values[:, index] for group in groups for index, name in enumerate(group.names)}
    table = pa.table({name: pa.array(values, type=pa.float64()) for name, values in named.items()})
    buffer = io.BytesIO()
    if file_format == "parquet":
        parquet.write_table(table, buffer)
    else:
        feather.write_feather(table, buffer)
    return buffer.getvalue()
