"""What kind of file a TOML file is, by its tables: to name files that were exchanged."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

TRUTH: Final = "the truth file beside a simulated capture"
"""What `benchrig simulate` writes for whoever wants to compare; nobody measures by it."""

MANIFEST: Final = "the manifest of a capture"

_WORKSHEET: Final = frozenset({"reference", "hang", "weighing"})
_OF_MANIFESTS: Final = frozenset({"capture", "columns"})


def kind_of_file(data: Mapping[str, Any]) -> str | None:
    """Say what a file is; None where its tables tell nothing.

    Examples
    --------
    >>> kind_of_file({"reference": {"point": "the nose"}, "hang": []})
    'a worksheet of hangs and weighings'
    """
    if {"made_by", "files"} <= data.keys():
        return TRUTH
    if "device" in data:
        return "a device file"
    if "airframe" in data:
        return "an airframe file"
    if _OF_MANIFESTS & data.keys():
        return MANIFEST
    return "a worksheet of hangs and weighings" if _WORKSHEET & data.keys() else None


def manifest_beside(name: str) -> str:
    """Name the manifest beside a truth file: ``NAME.truth.toml`` lies beside ``NAME.toml``.

    Examples
    --------
    >>> manifest_beside("level.truth.toml")
    'level.toml'
    """
    return f"{name.removesuffix('.truth.toml')}.toml" if name.endswith(".truth.toml") else "NAME.toml"
