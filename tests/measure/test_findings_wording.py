"""Findings of the measurements read alike: a whole sentence from a capital to a full stop, remedy and all."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import benchrig.measure

PACKAGES = ("actuators", "cg", "compass", "lever", "link", "noise", "rotor", "sensor")
HOME = Path(benchrig.measure.__file__).parent


def findings_of(function: ast.FunctionDef) -> Iterator[ast.Call]:
    for node in ast.walk(function):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Finding":
            yield node


def written(node: ast.expr, function: ast.FunctionDef, end: int) -> Iterator[str]:
    """Give the first (0) or last (-1) letter of every text that an expression may stand for; "?" for a value."""
    if isinstance(node, ast.Constant):
        yield str(node.value)[end]
    elif isinstance(node, ast.JoinedStr):
        yield from written(node.values[end], function, end)
    elif isinstance(node, ast.BinOp):
        yield from written(node.right if end else node.left, function, end)
    elif isinstance(node, ast.FormattedValue) and isinstance(node.value, ast.Call):
        # `called` begins with a word of its own
        yield "A" if ast.unparse(node.value.func) == "called" else "?"
    elif isinstance(node, ast.Name):
        for value in assigned(node.id, function, grown=end == -1):
            yield from written(value, function, end)


def assigned(name: str, function: ast.FunctionDef, *, grown: bool) -> Iterator[ast.expr]:
    """Give what a function assigns to a name, and, where it is asked for, what it adds to it."""
    for node in ast.walk(function):
        if isinstance(node, ast.Assign):
            targets = node.targets
        elif grown and isinstance(node, ast.AugAssign):
            targets = [node.target]
        else:
            continue
        if [ast.unparse(target) for target in targets] == [name]:
            yield node.value


def all_findings() -> list[tuple[str, ast.FunctionDef, ast.Call]]:
    found = []
    for path in sorted(path for package in PACKAGES for path in (HOME / package).glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                found += [(f"{path.parent.name}/{path.stem}: {ast.unparse(call.args[0])}", node, call)
                          for call in findings_of(node)]  # fmt: skip
    return found


def test_every_package_names_findings():
    assert {name.partition("/")[0] for name, _, _ in all_findings()} == set(PACKAGES)


@pytest.mark.parametrize("part", [2, 3], ids=["text", "fix"])
def test_findings_begin_with_a_capital(part):
    small = {
        name
        for name, function, call in all_findings()
        for letter in written(call.args[part], function, 0)
        if not letter.isupper()
    }
    assert not small


def test_a_text_ends_with_a_full_stop():
    open_ended = {
        name: letters
        for name, function, call in all_findings()
        if (letters := set(written(call.args[2], function, -1))) and "." not in letters
    }
    assert not open_ended
