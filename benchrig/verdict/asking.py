"""Which motion to ask for next: the one that best splits what is still possible."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.geometry.turns import REQUIRED_TURNS, turn_axis
from benchrig.outcome import Outcome
from benchrig.verdict.record import Cell
from benchrig.verdict.wirings import CLASSES, WiringPosterior

_WORTH: Final = 1e-6  # nats: a motion that splits less than this tells nothing


def next_motion(posterior: WiringPosterior, cells: Sequence[Cell], required: Sequence[str]) -> str | None:
    """Give the motion to ask for next, or None where every required cell is decided.

    Parameters
    ----------
    posterior : WiringPosterior
    cells : sequence of Cell
        Of the sensing part.
    required : sequence of str

    Returns
    -------
    str or None
    """
    open_cells = [c for c in cells if c.required and c.outcome is Outcome.NOT_SHOWN]
    if not open_cells:
        return None
    if any(c.motion == "level" for c in open_cells) and not any(c.outcome is Outcome.PASS for c in cells):
        return "level"
    undone = [name for name in required if any(c.motion == name and c.size is None for c in open_cells)]
    candidates = [*undone, *(m for m in REQUIRED_TURNS if m not in undone), "free"]
    gains = [split(posterior, name) for name in candidates]
    best = int(np.argmax(gains))
    if gains[best] < _WORTH:
        return undone[0] if undone else "free"
    return candidates[best]


def split(posterior: WiringPosterior, motion: str) -> float:
    """Give how much a motion would tell: the entropy, in nats, of what the sensors would show of it."""
    shares: Vector = np.exp(posterior.log_probability)
    if motion == "free":
        classes: Vector = np.bincount(CLASSES.ravel(), weights=shares.ravel(), minlength=48).astype(np.float64)
        return _entropy(classes)
    axis = posterior.body_from_sensor.T @ turn_axis(motion)
    shown = SIGNED_PERMUTATIONS.transpose(0, 2, 1) @ axis
    groups: dict[tuple[float, ...], float] = {}
    for reading, share in zip(shown.round(6).tolist(), shares.sum(axis=1), strict=True):
        key = tuple(reading)
        groups[key] = groups.get(key, 0.0) + float(share)
    return _entropy(np.array(list(groups.values())))


def _entropy(shares: Vector) -> float:
    positive = shares[shares > 0]
    return float(-(positive * np.log(positive)).sum())
