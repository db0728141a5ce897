"""The seal of a stored result."""

from __future__ import annotations

import json

from hypothesis import given
from hypothesis import strategies as st

from benchrig.report.seal import seal_of, sealed

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(st.text(), VALUES, max_size=4))
def test_a_seal_survives_being_written_and_read(content):
    back = json.loads(json.dumps(sealed(content)))
    assert seal_of(back) == back["seal"]


def test_the_seal_is_the_digest_of_sorted_json_without_spaces():
    # printf '{"a":[1,2.5],"b":"\\u00b0"}' | sha256sum
    assert seal_of({"b": "°", "a": [1, 2.5]}) == "7b7c7a3e4764b1c8a22617ce8fef6aec455c4a2325a1bfe3bb44507c2e28b71a"


def test_every_value_counts():
    assert len({seal_of(d) for d in ({"a": 1}, {"a": 1.0}, {"a": "1"}, {"a": [1]}, {"b": 1}, {"a": None}, {})}) == 7
