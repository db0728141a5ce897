"""What several floors' tests share: recordings in body axes, and the folder of real data outside the project."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from benchrig.signals.body import BodyRecording


@pytest.fixture(scope="session")
def outside_data() -> Callable[[str], Path]:
    """Find a file among the real recordings that lie outside the project, or skip and say where it was looked for."""
    default = Path(__file__).resolve().parents[1].parent / "shared" / "data"
    folder = Path(os.environ.get("BENCHRIG_DATA", default))

    def find(name: str) -> Path:
        path = folder / name
        if not path.exists():
            pytest.skip(f"the real recording {name} is not in {folder} (set BENCHRIG_DATA to the folder that holds it)")
        return path

    return find


@pytest.fixture(scope="session")
def body_recording() -> Callable[..., BodyRecording]:
    """Make a recording in body axes from rates (rad/s) and specific force (m/s²), with no lever arm."""

    def make(rate, force, step=0.01, segment=None) -> BodyRecording:
        rate, force = np.asarray(rate, dtype=np.float64), np.asarray(force, dtype=np.float64)
        number = np.zeros(len(rate), dtype=np.int64) if segment is None else np.asarray(segment, dtype=np.int64)
        return BodyRecording(np.arange(len(rate)) * step, step, number, rate, force, force)

    return make
