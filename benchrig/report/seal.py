"""The seal of a stored result: the digest of all that it says, by which a reader finds edits and damage."""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from typing import Any, Final

SEAL: Final = "seal"


def seal_of(content: Mapping[str, Any]) -> str:
    """Give the SHA-256 of everything but the seal, as JSON with sorted keys, in ASCII and without spaces.

    It finds what was changed or damaged. It is no signature: whoever changes a result can make its seal anew.

    Examples
    --------
    >>> seal_of({"b": 1, "a": 2}) == seal_of({"a": 2, "b": 1, "seal": "of before"})
    True
    """
    rest = {key: value for key, value in content.items() if key != SEAL}
    return sha256(json.dumps(rest, sort_keys=True, separators=(",", ":"), ensure_ascii=True).encode()).hexdigest()


def sealed(content: Mapping[str, Any]) -> dict[str, Any]:
    """Put the seal behind everything else."""
    return {**content, SEAL: seal_of(content)}
