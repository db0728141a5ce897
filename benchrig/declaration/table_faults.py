"""What is wrong with a table of a TOML file, each fault with its line, its key and what is allowed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from benchrig.declaration.quotation import kind_of, listed, nearest, quote
from benchrig.declaration.toml_lines import TomlFile
from benchrig.errors import BenchrigError, Problem
from benchrig.geometry.directions import DIRECTIONS, opposite

Keys = tuple[str | int, ...]
AnyTable = TypeVar("AnyTable", bound=BaseModel)

_MOST_PROBLEMS: Final = 20
_MOST_COMPARED: Final = 500
_KINDS: Final[Mapping[str, str]] = {
    "string_type": "text in quotation marks",
    "float_type": "a number",
    "finite_number": "a finite number",
    "list_type": "a list",
    "model_type": "a table",
}
"""What is expected, by the type of pydantic's error."""

_MASSES: Final = ("grams", "empty_grams", "mass_g")

_CAUSES: Final[Mapping[tuple[str, type], str]] = {
    ("float_type", str): "a number in quotation marks, or a unit beside it: the unit is in the key",
    ("string_type", bool): "quotation marks left out",
}


@dataclass(slots=True)
class Faults:
    """The problems of one file, gathered while it is read and raised together in the order of its lines.

    Parameters
    ----------
    file : TomlFile
    named : callable
        Says a key path as a person would: ``sensor.axes.x``.
    """

    file: TomlFile
    named: Callable[[Keys], str]
    found: list[tuple[int, Problem]] = field(default_factory=list)

    def add(self, keys: Keys, finding: str, expectation: str = "", cause: str = "", act: str = "") -> None:
        """Note a problem at a key."""
        line = self.file.line(*keys) or 0
        self.found.append((line, Problem(self.file.place(*keys), finding, expectation, cause, act)))

    def add_word(self, keys: Keys, word: str, allowed: Iterable[str]) -> None:
        """Note a word that is not listed."""
        words = list(allowed)
        meant = self._meant(word, words)
        cause = f'a misspelt "{meant}"' if meant else ""
        self.add(keys, f"{self.named(keys)} = {quote(word)} is not a word known here", listed(words), cause)

    def add_key(self, keys: Keys, allowed: Iterable[str]) -> None:
        """Note a key that is not listed."""
        names = list(allowed)
        meant = self._meant(str(keys[-1]), names)
        cause = f"a misspelt {meant}" if meant else ""
        act = f"write {meant}" if meant else "take it out"
        self.add(keys, f"{self.named(keys)} is not a key known here", listed(names), cause, act)

    def _meant(self, word: str, allowed: list[str]) -> str | None:
        # a flood of faults is cut short, and comparing words takes time
        return nearest(word, allowed) if len(self.found) < _MOST_COMPARED else None

    def add_missing(self, table: Keys, key: str) -> None:
        """Note a key that has to be in a table."""
        self.add(table, f"{self.named(table)} has no {key}", act=f"add {key} = …")

    def raise_any(self, error: type[BenchrigError]) -> None:
        """Raise all problems in the order of the file, if there are any.

        Raises
        ------
        BenchrigError
            Of the type `error`.
        """
        if not self.found:
            return
        problems = [problem for _, problem in sorted(self.found, key=lambda entry: entry[0])]
        more = len(problems) - _MOST_PROBLEMS
        if more > 0:
            rest = Problem(self.file.place(), f"{more} more problems", act="mend those above first")
            problems = [*problems[:_MOST_PROBLEMS], rest]
        raise error(*problems)


def read_table(data: Mapping[str, Any], model: type[AnyTable], keys: Keys, faults: Faults) -> AnyTable | None:
    """Read a table by its model, and note all that is wrong with it.

    What is right in a faulty table is still given, so that it can be checked further and all faults be told at once.

    Parameters
    ----------
    data : mapping
        What `tomllib` read.
    model : type
    keys : tuple of str or int
        Where the table stands in the file.
    faults : Faults

    Returns
    -------
    The table; without its faulty keys where there were any, and None where these are needed.
    """
    try:
        return model.model_validate(data)
    except ValidationError as error:
        entries = error.errors(include_url=False)
    unknown = [str(e["loc"][-1]) for e in entries if e["type"] == "extra_forbidden" and len(e["loc"]) == 1]
    for entry in entries:
        if entry["type"] == "missing":
            # a misspelt key is one fault, not two
            if not any(nearest(key, model.model_fields) == entry["loc"][-1] for key in unknown):
                faults.add_missing(keys, str(entry["loc"][-1]))
        else:
            _note(entry, model, keys, faults)
    faulty = {entry["loc"][:1] for entry in entries}
    return _read_rest({key: value for key, value in data.items() if (key,) not in faulty}, model)


def _read_rest(data: Mapping[str, Any], model: type[AnyTable]) -> AnyTable | None:
    try:
        return model.model_validate(data)
    except ValidationError:
        return None


def _note(entry: Any, model: type[BaseModel], table: Keys, faults: Faults) -> None:  # noqa: ANN401 - pydantic's record
    location: Keys = entry["loc"]
    keys, kind, value = (*table, *location), entry["type"], entry["input"]
    found = f"{faults.named(keys)} = {quote(value)}"
    if kind == "extra_forbidden":
        faults.add_key(keys, _model_at(location[:-1], model).model_fields)
    elif kind == "literal_error" and isinstance(value, str):
        faults.add_word(keys, value, _listed_words(entry))
    elif kind == "literal_error":
        faults.add(keys, f"{found} is {kind_of(value)}", listed(_listed_words(entry)))
    elif kind in ("too_short", "too_long"):
        wanted = f"{entry['ctx']['min_length']}" if kind == "too_short" else f"at most {entry['ctx']['max_length']}"
        faults.add(keys, f"{found} has {len(value)} entries", f"{wanted} entries")
    elif kind in _KINDS:
        what = "" if kind == "finite_number" else f" is {kind_of(value)}"
        faults.add(keys, f"{found}{what}", _KINDS[kind], _CAUSES.get((kind, type(value)), ""))
    else:
        low, high = _range_at(location, model)
        faults.add(keys, found, f"{low:g} to {high:g}", *_range_hint(str(location[-1]), value))


def _listed_words(entry: Any) -> list[str]:  # noqa: ANN401 - pydantic's record
    # the words of a Literal stand in pydantic's text only
    return re.findall(r"'([^']*)'", entry["ctx"]["expected"])


def _range_at(location: Keys, model: type[BaseModel]) -> tuple[float, float]:
    limits = _model_at(location[:-1], model).model_fields[str(location[-1])].metadata
    low = next(limit.ge for limit in limits if hasattr(limit, "ge"))
    high = next(limit.le for limit in limits if hasattr(limit, "le"))
    return low, high


def _range_hint(key: str, value: float) -> tuple[str, str]:
    """Give cause and act for a number out of range."""
    if value < 0 and key in DIRECTIONS:
        return "a sign where a word says the direction", f"write {opposite(key)} = {-value:g}"
    if value < 0 and key == "azimuth_deg":
        return "an angle counted the other way round", "count clockwise from the nose, seen from above"
    if 0 < value < 1 and key in _MASSES:
        return "kilograms where grams are asked for", f"write every mass in grams: {key} = {1000 * value:g}"
    return "a slip of the unit or of a digit: the unit is in the key", ""


def _model_at(location: Keys, model: type[BaseModel]) -> type[BaseModel]:
    """Find the model that holds the keys of a table inside a table."""
    for key in location:
        inner = model.model_fields[str(key)].annotation
        model = next(t for t in (inner, *get_args(inner)) if isinstance(t, type) and issubclass(t, BaseModel))
    return model
