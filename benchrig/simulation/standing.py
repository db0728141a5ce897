"""How the airframe is laid on the bench: upright, upside down, on its nose, its tail or a side."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.simulation.draft import Draft, standing
from benchrig.simulation.made import Made

_LAID_DEG: Final = 2.0
"""Standard deviation an axis of an airframe propped up by eye (common practice, no source)."""
_TURNED: Final = {
    "level": (0.0, 0.0, 0.0),
    "inverted": (np.pi, 0.0, 0.0),
    "on nose": (0.0, -np.pi / 2, 0.0),
    "on tail": (0.0, np.pi / 2, 0.0),
    "on left side": (-np.pi / 2, 0.0, 0.0),
    "on right side": (np.pi / 2, 0.0, 0.0),
}
"""Turn from upright, axis times angle in body axes: a positive roll brings the right side down, a positive pitch lifts
the nose."""


def laid(draft: Draft, word: str) -> Rotation:
    """Draw how an airframe lies that is laid down by hand, body to world."""
    exact = standing(draft.plane, draft.heading) * Rotation.from_rotvec(_TURNED[word])
    return exact * Rotation.from_rotvec(draft.rng.normal(0.0, np.radians(_LAID_DEG), 3))


def lay(draft: Draft, word: str) -> None:
    """Lay the airframe down, unless it lies so already."""
    if draft.lies == word:
        return
    if word == "level":
        draft.stand()
        return
    pose = laid(draft, word)
    if draft.now == 0.0:
        draft.pose = pose
    else:
        draft.carry(pose, np.array([*draft.rng.normal(0.0, 0.03, 2), 0.0]))
        draft.still(0.3)
    draft.lies = word


def rest_posed(draft: Draft, word: str, seconds: float) -> None:
    """Lay the airframe down and leave it alone."""
    lay(draft, word)
    start = draft.now
    draft.still(seconds)
    draft.made.append(Made(word, word, start, start, draft.now, draft.now, np.zeros(3), down=draft.down))
