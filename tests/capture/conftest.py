"""A small capture with known numbers, and the ways to write it to disk."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import pytest

COLUMNS = """
time = { names = ["t"], unit = "us" }
gyro = { names = ["gx", "gy", "gz"], unit = "deg/s" }
accelerometer = { names = ["ax", "ay", "az"], unit = "g" }
"""

Samples = dict[str, np.ndarray]


def make_samples(count: int = 400, step_us: int = 2500) -> Samples:
    """Give `count` rows of a unit moved a little, in deg/s and g, every value with a short decimal form."""
    random = np.random.default_rng(7)
    samples = {"t": np.arange(count) * step_us}
    for name in ("gx", "gy", "gz", "ax", "ay", "az"):
        samples[name] = random.integers(-90_000, 90_000, count) / 1000
    return samples


def make_text(samples: Mapping[str, np.ndarray], separator: str = ",", decimal: str = ".", end: str = "\n") -> str:
    """Write samples as delimited text; NaN becomes a blank."""
    lines = [separator.join(samples)]
    for row in zip(*samples.values(), strict=True):
        fields = ("" if value != value else repr(value.item()).replace(".", decimal) for value in row)  # noqa: PLR0124 - NaN
        lines.append(separator.join(fields))
    return end.join(lines) + end


@pytest.fixture
def samples() -> Samples:
    return make_samples()


@pytest.fixture
def as_text() -> Callable[..., str]:
    return make_text


@pytest.fixture
def capture(tmp_path: Path) -> Callable[..., Path]:
    """Write a stream and its manifest, and give the manifest's path."""

    def write(
        stream: bytes | str | Samples | None = None,
        *,
        name: str = "run.csv",
        columns: str = COLUMNS,
        capture: str = "",
        rest: str = "",
    ) -> Path:
        content = make_samples() if stream is None else stream
        if isinstance(content, dict):
            content = make_text(content)
        (tmp_path / name).write_bytes(content.encode() if isinstance(content, str) else content)
        manifest = tmp_path / "run.toml"
        head = f'[capture]\nstream = "{name}"\n{capture}\n[columns]\n'
        manifest.write_text(head + columns.strip() + "\n" + rest, encoding="utf-8")
        return manifest

    return write
