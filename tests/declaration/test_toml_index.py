"""The line of every key, held against tomllib by random files."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.declaration.toml_index import DEEPEST_PATH, key_lines

SPECIMEN = '''\
# a = 1
title = """one
b = 2 [[x]] \\
""" # """
"quo\\u0041 \\"ted" = 'x#y'
[a]
b.c . "d" = { x = 1, 'y'.z = [ 1, # ]
  { q = 2 },
  "]", ] }
[[act]]
at = 1979-05-27 07:32:00
[act.sub]
k = \'\'\'
k = 2
\'\'\'
[[act]]
[[act.deep]]
m = """"q""""
[[act.deep]]
[a.late]
'''


def test_a_specimen_with_every_way_to_write_a_key_is_indexed() -> None:
    lines = key_lines(SPECIMEN)
    assert lines == {
        ("title",): 2,
        ('quoA "ted',): 5,
        ("a",): 6,
        ("a", "b"): 7,
        ("a", "b", "c"): 7,
        ("a", "b", "c", "d"): 7,
        ("a", "b", "c", "d", "x"): 7,
        ("a", "b", "c", "d", "y"): 7,
        ("a", "b", "c", "d", "y", "z"): 7,
        ("a", "b", "c", "d", "y", "z", 0): 7,
        ("a", "b", "c", "d", "y", "z", 1): 8,
        ("a", "b", "c", "d", "y", "z", 1, "q"): 8,
        ("a", "b", "c", "d", "y", "z", 2): 9,
        ("act",): 10,
        ("act", 0): 10,
        ("act", 0, "at"): 11,
        ("act", 0, "sub"): 12,
        ("act", 0, "sub", "k"): 13,
        ("act", 1): 16,
        ("act", 1, "deep"): 17,
        ("act", 1, "deep", 0): 17,
        ("act", 1, "deep", 0, "m"): 18,
        ("act", 1, "deep", 1): 19,
        ("a", "late"): 20,
    }


def test_a_tables_own_header_counts_before_an_earlier_mention() -> None:
    assert key_lines("[a.b]\nk = 1\n[a]\nm = 2\n")[("a",)] == 3


def test_a_key_deeper_than_anyone_writes_has_the_place_of_what_surrounds_it() -> None:
    lines = key_lines("a = " + "[" * 40 + "\n1" + "]" * 40)
    assert max(map(len, lines)) == DEEPEST_PATH
    assert set(lines.values()) == {1}


def key_paths(data: object, above: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    entries = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in entries:
        yield (*above, key)
        yield from key_paths(value, (*above, key))


BLANKS = st.sampled_from(["", " ", "\t "])
BREAKS = st.sampled_from(["", " ", "\n", " # ] } = [[k]]\n\n"])
NAMES = st.integers(0, 999).map(lambda number: f"k{number}e")
STRINGS = st.sampled_from(
    ["'a # ]'", '"\\" = ["', '"""\n[k1e]\nk2e = "" 3 """', "'''\n# ''\n'''", '""', "''", '"""a\\\n  b"""', '""""x"""""']
)
SCALARS = STRINGS | st.sampled_from(["1", "-0x1f", "1_000.5e3", "true", "inf", "1979-05-27 07:32:00Z", "07:32:00"])


@st.composite
def keys(draw) -> str:
    parts = draw(st.lists(NAMES, min_size=1, max_size=3))
    marks = [draw(st.sampled_from(["", '"', "'"])) for _ in parts]
    return f"{draw(BLANKS)}.{draw(BLANKS)}".join(f"{mark}{part}{mark}" for part, mark in zip(parts, marks, strict=True))


@st.composite
def values(draw, depth: int = 0) -> str:
    kind = draw(st.sampled_from(["scalar", "scalar", "list", "table"] if depth < 3 else ["scalar"]))
    if kind == "scalar":
        return draw(SCALARS)
    count = draw(st.integers(0, 3))
    if kind == "list":
        inner = [f"{draw(BREAKS)}{draw(values(depth + 1))}{draw(BREAKS)}" for _ in range(count)]
        return f"[{','.join(inner)}{',' if inner and draw(st.booleans()) else ''}{draw(BREAKS)}]"
    pairs = [f"{draw(BLANKS)}{draw(keys())} = {draw(values(depth + 1))}{draw(BLANKS)}" for _ in range(count)]
    return f"{{{','.join(pairs)}}}"


@st.composite
def texts(draw) -> str:
    statements = []
    for _ in range(draw(st.integers(1, 8))):
        form = draw(st.sampled_from(["{k} = {v}", "{k}={v} # k0e", "[{k}]", "[[ {k} ]]", "# {k}"]))
        statements.append(draw(BLANKS) + form.format(k=draw(keys()), v=draw(values()) if "{v}" in form else ""))
    return "\n".join(statements) + draw(BREAKS)


@settings(max_examples=400, deadline=None)
@given(texts())
def test_every_key_that_tomllib_finds_has_a_line_that_holds_it(text) -> None:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return  # a name that stands twice: of 400 files enough are valid, as the test below counts
    lines = key_lines(text)
    assert set(lines) == set(key_paths(data))
    written = text.split("\n")
    for path, line in lines.items():
        if isinstance(path[-1], str):
            assert path[-1] in written[line - 1]


def test_the_random_files_are_mostly_valid() -> None:
    valid = []

    @settings(max_examples=100, deadline=None, database=None)
    @given(texts())
    def count(text) -> None:
        try:
            valid.append(bool(tomllib.loads(text)))
        except tomllib.TOMLDecodeError:
            valid.append(False)

    count()
    assert sum(valid) > 40
