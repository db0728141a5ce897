"""What pydantic finds wrong with a manifest's form, told the way this program tells every fault."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, get_args

from pydantic import BaseModel, ValidationError

from benchrig.capture.form import COUNTS_TAG, WORD_TAG
from benchrig.declaration.quotation import escape, kind_of, nearest, quote
from benchrig.declaration.table_faults import Faults, Keys
from benchrig.geometry.directions import DIRECTIONS, opposite

OFFSET_DATE: Final = "a date and time with its offset, such as 2026-11-25T10:00:00Z"
KINDS: Final[Mapping[str, str]] = {
    "string_type": "text in quotation marks",
    "float_type": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "finite_number": "a finite number",
    "list_type": "a list",
    "dict_type": "a table of names",
    "model_type": "a table",
    "datetime_type": OFFSET_DATE,
    "timezone_aware": OFFSET_DATE,
}
"""What to expect, by the type of pydantic's error."""

_BOUNDS: Final[Mapping[str, str]] = {"gt": "more than", "ge": "at least", "le": "at most"}


def named(keys: Keys) -> str:
    """Write a key path as a person would say it, entries of a list counted from 1.

    Examples
    --------
    >>> named(("motion", 0, "start_s"))
    'motion 1 start_s'
    """
    words = [escape(str(key)) if isinstance(key, str) else f"{key + 1}" for key in keys]
    joined = ".".join(words)
    for index, key in enumerate(keys):
        if isinstance(key, int):
            joined = joined.replace(f".{words[index]}.", f" {words[index]} ", 1)
    return joined


def note_form_faults(error: ValidationError, form: type[BaseModel], faults: Faults) -> None:
    """Note every error of a validation as a fault.

    Parameters
    ----------
    error : ValidationError
    form : type
        The model that was validated.
    faults : Faults
    """
    entries = [(_plain(entry["loc"]), entry) for entry in error.errors(include_url=False)]
    unknown = [keys for keys, entry in entries if entry["type"] == "extra_forbidden"]
    for keys, entry in entries:
        if entry["type"] == "extra_forbidden":
            faults.add_key(keys, _model_at(keys[:-1], form).model_fields)
        elif entry["type"] != "missing":
            _note(keys, entry, faults)
        elif not any(_is_misspelt(keys, other, form) for other in unknown):
            _note_missing(keys, faults)


def _plain(location: Keys) -> Keys:
    return tuple(key for key in location if key not in (COUNTS_TAG, WORD_TAG))


def _is_misspelt(missing: Keys, unknown: Keys, form: type[BaseModel]) -> bool:
    """Say whether an unknown key is a missing one misspelt: that is one fault, and not two."""
    allowed = _model_at(missing[:-1], form).model_fields
    return unknown[:-1] == missing[:-1] and nearest(str(unknown[-1]), allowed) == missing[-1]


def _note_missing(keys: Keys, faults: Faults) -> None:
    if len(keys) > 1:
        faults.add_missing(keys[:-1], str(keys[-1]))
    else:
        faults.add(keys, f"there is no [{keys[-1]}]", act=f"add [{keys[-1]}], as the documentation shows")


def _note(keys: Keys, entry: Any, faults: Faults) -> None:  # noqa: ANN401 - pydantic's own record
    kind, value, context = entry["type"], entry["input"], entry.get("ctx", {})
    found = f"{faults.named(keys)} = {quote(value)}"
    if kind in ("too_short", "too_long"):
        wanted = context.get("min_length", context.get("max_length"))
        cause = "an axis was left out or named twice" if wanted == 3 else ""  # noqa: PLR2004 - x, y and z
        faults.add(keys, f"{found} has {len(value)} entries", f"{wanted} entries" if value else "at least one", cause)
    elif kind == "string_too_short":
        faults.add(keys, f"{faults.named(keys)} is empty", "a name", act="write the column's name")
    elif kind in KINDS:
        what = "" if kind == "finite_number" else f" is {kind_of(value)}"
        is_single = kind == "list_type" and isinstance(value, dict)
        act = f"write [[{keys[-1]}]] above each entry" if is_single else ""
        faults.add(keys, f"{found}{what}", KINDS[kind], "single brackets for double ones" if is_single else "", act)
    else:
        bounds = [f"{_BOUNDS[key]} {limit:g}" for key, limit in context.items() if key in _BOUNDS]
        cause, act = _turned(keys, value)
        faults.add(keys, found, " and ".join(bounds) or escape(entry["msg"]), cause, act)


def _turned(keys: Keys, value: Any) -> tuple[str, str]:  # noqa: ANN401 - whatever was written
    """Give cause and act for a negative distance along a word."""
    word = str(keys[-1])
    if word not in DIRECTIONS or not isinstance(value, int | float) or not value < 0:
        return "", ""
    return "a sign where a word says the direction", f"write {opposite(word)} = {-value:g}"


def _model_at(keys: Keys, form: type[BaseModel]) -> type[BaseModel]:
    """Find the model that holds the keys of a table."""
    model = form
    for key in keys:
        if isinstance(key, str) and key in model.model_fields:
            model = _model_in(model.model_fields[key].annotation) or model
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:  # noqa: ANN401 - a type of any shape
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((model for part in get_args(annotation) if (model := _model_in(part)) is not None), None)
