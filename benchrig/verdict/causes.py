"""Why an actuator answers as it does: the posterior over the ways in which it can be wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Vector

ANSWER_SPREAD: Final = np.radians(15.0)
"""rad: how far an answer's proportions about the three axes lie off those of its cause; the unit's gains differ."""

ANYTHING_ELSE: Final = 0.05
"""Prior share of causes that are not in the list: any answer is as likely."""

_SAME: Final = np.cos(np.radians(12.0))  # two causes whose answers no bench can tell apart


@dataclass(frozen=True, slots=True)
class Cause:
    """A way in which an actuator can answer.

    Attributes
    ----------
    finding : {"ok", "reversed", "swapped", "wrong axis"}
    partner : str or None
        The actuator in whose place it answers.
    probability : float
    """

    finding: str
    partner: str | None
    probability: float


def weigh_causes(actuator: Actuator, actuators: Sequence[Actuator], answers: Mapping[str, Vector]) -> tuple[Cause, ...]:
    """Weigh the causes of an actuator's answer, the likeliest first.

    The causes are: as declared, reversed, in another's place, in another's place and reversed, and anything else.
    Two causes with the same answer count once, under the simpler one.

    Parameters
    ----------
    actuator : Actuator
    actuators : sequence of Actuator
        All of the airframe.
    answers : mapping of str to ndarray, shape (3,)
        Each channel's change of pulse for a turn about each axis, over the unit's own gain about it.

    Returns
    -------
    tuple of Cause
        Probabilities add up to 1.
    """
    answer = answers[actuator.name]
    listed: list[tuple[str, str | None, Vector]] = [
        ("ok", None, -actuator.effect),
        ("reversed", None, actuator.effect),
    ]
    for other in actuators:
        if other.name == actuator.name:
            continue
        for finding, partner, expected in (("swapped", other.name, -other.effect), ("wrong axis", None, other.effect)):
            if all(cosine(expected, known) < _SAME for *_, known in listed):
                listed.append((finding, partner, expected))
    weights = [_likelihood(answer, expected) * (1 - ANYTHING_ELSE) / len(listed) for *_, expected in listed]
    weights.append(ANYTHING_ELSE / (4 * np.pi))
    names = [*((finding, partner) for finding, partner, _ in listed), ("wrong axis", None)]
    total = sum(weights)
    causes = [Cause(finding, partner, w / total) for (finding, partner), w in zip(names, weights, strict=True)]
    return tuple(sorted(causes, key=lambda c: -c.probability))


def cosine(first: Vector, second: Vector) -> float:
    """Give the cosine of the angle between two vectors; 0 where one has no length."""
    size = float(np.linalg.norm(first) * np.linalg.norm(second))
    return float(first @ second) / size if size > 0 else 0.0


def _likelihood(answer: Vector, expected: Vector) -> float:
    kappa = 1 / ANSWER_SPREAD**2
    return float(kappa / (2 * np.pi) * np.exp(kappa * (cosine(answer, expected) - 1)))
