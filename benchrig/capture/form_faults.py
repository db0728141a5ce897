"""What pydantic finds wrong with a manifest's form, told the way this program tells every fault."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final, get_args

from pydantic import BaseModel, ValidationError

from benchrig.capture.form import COUNTS_TAG, WORD_TAG
from benchrig.declaration.quotation import escape, kind_of, listed, nearest, quote
from benchrig.errors import Problem

Place = Callable[..., str]
KeyPath = tuple[str | int, ...]

KINDS: Final[Mapping[str, str]] = {
    "string_type": "text in quotation marks",
    "float_type": "a number",
    "finite_number": "a finite number",
    "list_type": "a list",
    "dict_type": "a table of names",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "datetime_type": "a date and time with its offset, such as 2026-11-25T10:00:00Z",
    "timezone_aware": "a date and time with its offset, such as 2026-11-25T10:00:00Z or …+01:00",
}
"""What to expect, by the type of pydantic's error."""


def problems_of(error: ValidationError, form: type[BaseModel], place: Place) -> list[Problem]:
    """Turn every error of a validation into a problem, in the order of the file's keys.

    Parameters
    ----------
    error : ValidationError
    form : type
        The model that was validated.
    place : callable
        Names file and line of a key path, given as arguments.
    """
    return [_problem(entry, form, place) for entry in error.errors(include_url=False, include_context=True)]


def _problem(entry: Any, form: type[BaseModel], place: Place) -> Problem:  # noqa: ANN401 - pydantic's own record
    keys: KeyPath = tuple(key for key in entry["loc"] if key not in (COUNTS_TAG, WORD_TAG))
    where, name = place(*keys), _named(keys)
    kind, context = entry["type"], entry.get("ctx", {})
    if kind == "extra_forbidden":
        return _unknown_key(where, keys, form)
    if kind == "missing":
        return Problem(where, f"{name} is missing", act="add it, as docs/reference/capture.md shows")
    found = f"{name} = {quote(entry['input'])}"
    if kind in ("too_short", "too_long"):
        return _length(where, found, context)
    if kind == "string_too_short":
        return Problem(where, f"{name} is empty", "a name", act="write the column's name")
    if kind in KINDS:
        return Problem(where, f"{found} is {kind_of(entry['input'])}", KINDS[kind])
    return Problem(where, found, _range(context) or escape(entry["msg"]))


def _named(keys: KeyPath) -> str:
    """Write a key path as a person would say it: ``columns.gyro.names``, ``start_s of motion 2``."""
    words = [escape(str(key)) if isinstance(key, str) else f"{key + 1}" for key in keys]
    return ".".join(words)


def _length(where: str, found: str, context: Mapping[str, Any]) -> Problem:
    wanted = context.get("min_length", context.get("max_length"))
    count = context["actual_length"]
    cause = "an axis was left out or named twice" if wanted == 3 else ""  # noqa: PLR2004 - x, y and z
    return Problem(where, f"{found} has {count} entries", f"{wanted}" if count else "at least one", cause)


def _range(context: Mapping[str, Any]) -> str:
    words = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
    return " and ".join(f"{words[key]} {value:g}" for key, value in context.items() if key in words)


def _unknown_key(where: str, keys: KeyPath, form: type[BaseModel]) -> Problem:
    allowed = list(_model_at(keys[:-1], form).model_fields)
    close = nearest(str(keys[-1]), allowed)
    return Problem(
        where,
        f"there is no key {_named(keys)}",
        listed(allowed),
        f'"{close}" is meant' if close else "",
        "correct it or take it out",
    )


def _model_at(keys: KeyPath, form: type[BaseModel]) -> type[BaseModel]:
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
