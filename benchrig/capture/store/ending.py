"""The file beside a store that says how it ended: what was closed properly can be told from what broke off."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from benchrig.capture.store.disk import write_atomically
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem

SCHEMA: Final = "bench-store-end/1"
"""Not a word that results begin with: no report may take this file for an older one of its own."""
SUFFIX: Final = ".end.json"
LONGEST_WORDS: Final = 200
DAMAGED: Final = "the disk, the card or a copy damaged it, or another program changed it"
COPY_AGAIN: Final = "copy it again from where it was recorded"
COPY: Final = (
    f"{COPY_AGAIN}; what stands before can be had with `benchrig export CAPTURE --out NAME.csv --until-damage`"
)


def ending_path(store: Path) -> Path:
    """Name the end file of a store: ``NAME.arrow.end.json`` beside ``NAME.arrow``."""
    return store.with_name(store.name + SUFFIX)


@dataclass(frozen=True, slots=True)
class Ending:
    """What a store was when it was closed.

    Attributes
    ----------
    head : str
        SHA-256 of its head, which tells one recording from another.
    batches, rows, size : int
        `size` in bytes.
    sha256 : str
        Of the whole file.
    lost, refused : int
        Rows that never came, and rows that came damaged and were left out.
    ended : str
        Why it ended, in words.
    """

    head: str
    batches: int
    rows: int
    size: int
    sha256: str
    lost: int
    refused: int
    ended: str


class _Form(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True, strict=True)
    schema_name: str = Field(alias="schema", pattern=f"^{SCHEMA}$")
    head: str
    batches: int = Field(ge=0)
    rows: int = Field(ge=0)
    size: int = Field(ge=0)
    sha256: str
    lost: int = Field(ge=0)
    refused: int = Field(ge=0)
    ended: str = Field(max_length=LONGEST_WORDS)


def write_ending(store: Path, ending: Ending) -> Path:
    """Write the end file of a store.

    Raises
    ------
    StoreError
        If the system refuses.
    """
    path = ending_path(store)
    content = {"schema": SCHEMA, "stream": store.name, **asdict(ending)}
    write_atomically(path, json.dumps(content, indent=1, ensure_ascii=False).encode() + b"\n")
    return path


def read_ending(name: str, content: bytes) -> Ending:
    """Read an end file.

    Parameters
    ----------
    name : str
        Of the end file, for errors.
    content : bytes

    Raises
    ------
    CaptureError
        If it is not one.
    """
    try:
        form = _Form.model_validate_json(content)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(key) for key in first["loc"])
        finding = f"does not say how the recording ended ({escape(where)}{': ' if where else ''}{escape(first['msg'])})"
        raise CaptureError(
            Problem(
                escape(name),
                finding,
                "the file as `benchrig record` wrote it",
                "it was changed, cut in copying or damaged",
                "copy it again; or move it away, and the recording is read as one whose end nothing confirms",
            )
        ) from None
    return Ending(**form.model_dump(exclude={"schema_name"}))


def hold_against(name: str, place: str, data: bytes, head: bytes, ending: Ending) -> Problem | None:
    """Hold a store's bytes against its end file; None where they agree.

    Parameters
    ----------
    name : str
        Of the store.
    place : str
        Where what is readable of it ends.
    data, head : bytes
        The whole store, and its head.
    ending : Ending
    """
    beside = escape(name + SUFFIX)
    if hashlib.sha256(head).hexdigest() != ending.head:
        cause = "two recordings' files were mixed in copying, or one was renamed"
        act = "copy both files again from where they were recorded"
        return Problem(beside, f"is the end of another recording than {escape(name)}", cause=cause, act=act)
    short = ending.size - len(data)
    if short > 0:
        finding, cause = f"{short:,} bytes are missing", "the copy was stopped, or the disk lost its end"
    elif short < 0:
        finding, cause = f"{-short:,} bytes were added after it was closed", "another program wrote on it"
    elif hashlib.sha256(data).hexdigest() != ending.sha256:
        finding, cause = "is not as it was closed", DAMAGED
    else:
        return None
    expectation = f"the {ending.size:,} bytes of {ending.rows:,} rows that {beside} tells of"
    return Problem(place, finding, expectation, cause, COPY)
