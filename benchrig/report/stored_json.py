"""JSON that this program wrote, read back strictly, each fault with its place."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any, Final, NoReturn, TypeVar

from pydantic import ValidationError

from benchrig.declaration.quotation import escape, quote
from benchrig.errors import Problem, ResultError
from benchrig.report.stored_tables import Table

AnyTable = TypeVar("AnyTable", bound=Table)

MAKE_ANEW: Final = "make the result anew"
_MOST: Final = 10
"""Problems of one file that are told."""


def loaded(text: str, name: str) -> Any:  # noqa: ANN401 - whatever JSON can hold
    """Read strict JSON: no key twice in one object, no number that is not finite.

    Raises
    ------
    ResultError
        With the line and column where the text is not JSON.
    """

    def refuse_constant(constant: str) -> NoReturn:
        raise ResultError(Problem(name, f"holds the number {constant}", "numbers of plain JSON", act=MAKE_ANEW))

    def refuse_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) != len(pairs):
            key = next(key for place, (key, _) in enumerate(pairs) if key in dict(pairs[:place]))
            raise ResultError(Problem(name, f"the key {quote(key)} stands twice in one object", act=MAKE_ANEW))
        return found

    try:
        return json.loads(text, parse_constant=refuse_constant, object_pairs_hook=refuse_twice)
    except json.JSONDecodeError as fault:
        cause = "several results in one file, or a file that was cut short or changed by hand"
        finding = f"is not JSON: {escape(fault.msg[:1].lower() + fault.msg[1:])} at column {fault.colno}"
        raise ResultError(Problem(f"{name}:{fault.lineno}", finding, cause=cause, act=MAKE_ANEW)) from None
    except (RecursionError, ValueError):
        finding = "is nested too deeply, or holds a number of too many digits"
        raise ResultError(Problem(name, finding, cause="another file was named", act=MAKE_ANEW)) from None


def table_of(data: Mapping[str, Any], model: type[AnyTable], name: str) -> AnyTable:
    """Read an object by its schema.

    Raises
    ------
    ResultError
        With every value that is missing or of the wrong kind.
    """
    try:
        return model.model_validate(data)
    except ValidationError as error:
        entries = error.errors(include_url=False)
    problems = [_problem(entry, name) for entry in entries[:_MOST]]
    if len(entries) > _MOST:
        problems.append(Problem(name, f"{len(entries) - _MOST} more problems", act=MAKE_ANEW))
    raise ResultError(*problems)


def _problem(entry: Any, name: str) -> Problem:  # noqa: ANN401 - pydantic's record
    location: Sequence[str | int] = entry["loc"]
    key = "".join(f"[{part}]" if isinstance(part, int) else f".{escape(part)}" for part in location).lstrip(".")
    if entry["type"] == "missing":
        return Problem(name, f"{key} is missing", cause="the file was changed by hand", act=MAKE_ANEW)
    value = entry["input"]
    shown = "null" if value is None else quote(value)
    expectation = escape(entry["msg"].removeprefix("Input should be "), 120)
    return Problem(name, f"{key} = {shown}", expectation, "the file was changed by hand", MAKE_ANEW)
