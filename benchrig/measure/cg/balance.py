"""From hangs and weighings to conditions on the centre of gravity, and the point that meets them best."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.cg.adjustment import TOLD, Condition, Solution, solve
from benchrig.measure.cg.hanging import LOCAL_GRAVITY, Stretch
from benchrig.measure.cg.plumb import Vertical, direction, spot_effects, vertical_by_hand, vertical_by_mark
from benchrig.measure.cg.worksheet import LEAST_SPREAD, Angles, Hang, Mark, Weighing, Worksheet

_ROUNDS: Final = 6
_FIRST_DEPTH: Final = 0.1  # m, from a point or a support to the CG, while the CG is not known

Item = Hang | Weighing


def source_of(item: Item) -> str:
    """Name the errors that an item shares with no other."""
    return f"{'hang' if isinstance(item, Hang) else 'weighing'} {item.name}"


def verticals(worksheet: Worksheet, stretches: Mapping[str, Stretch]) -> dict[str, Vertical]:
    """Give the vertical of every hang that has one, by the name of the hang."""
    found: dict[str, Vertical] = {}
    for hang in worksheet.hangs:
        own = source_of(hang)
        if isinstance(hang.reading, Angles):
            found[hang.name] = vertical_by_hand(hang.reading, worksheet.accuracy.angle, f"angles of {own}")
        elif isinstance(hang.reading, Mark):
            found[hang.name] = vertical_by_mark(worksheet, hang.spot, hang.reading, own)
        else:
            seen = stretches[hang.name].vertical
            if seen is not None:
                found[hang.name] = seen
    return found


def best_point(
    worksheet: Worksheet, items: Sequence[Item], stretches: Mapping[str, Stretch], known: Mapping[str, Vertical]
) -> Solution | None:
    """Give the point that a set of hangs and weighings meets best, from the reference; None for an empty set.

    How far an error of an angle reaches depends on where the point is: so the solution is repeated.
    """
    usable = [item for item in items if isinstance(item, Weighing) or item.name in known]
    if not usable:
        return None
    centre = np.mean([_near(worksheet, item) for item in usable], axis=0)
    solution: Solution | None = None
    for _ in range(_ROUNDS):
        conditions = [
            hang_condition(worksheet, item, known[item.name], stretches.get(item.name), solution)
            if isinstance(item, Hang)
            else weighing_condition(worksheet, item, solution)
            for item in usable
        ]
        telling = [c for c in conditions if len(c.target)]
        if not telling:
            return None
        solution = solve(telling, centre)
    return solution


def _near(worksheet: Worksheet, item: Item) -> Vector:
    if isinstance(item, Hang):
        return worksheet.where(item.spot)
    return np.asarray(np.mean([worksheet.where(s.spot) for s in item.supports], axis=0))


def depth_below(start: Vector, down: Vector, solution: Solution | None) -> float:
    """Give how far the CG lies below a point along the vertical, m; a usual one where nothing tells."""
    if solution is None or down @ solution.covariance @ down > TOLD**2:
        return _FIRST_DEPTH
    return float(down @ (solution.point - start))


def hang_condition(
    worksheet: Worksheet, hang: Hang, vertical: Vertical, stretch: Stretch | None, solution: Solution | None
) -> Condition:
    """Say that the CG lies on the plumb line; of a capture also that gravity has its size."""
    start = worksheet.where(hang.spot)
    depth = depth_below(start, vertical.down, solution)
    normals = vertical.normals
    effects: dict[str, Matrix] = {}
    for source, effect in spot_effects(worksheet, hang.spot, source_of(hang)).items():
        effects[source] = normals @ effect
    for source, effect in vertical.effects.items():
        effects[source] = effects.get(source, 0.0) + depth * normals @ effect
    design, target = normals, normals @ start
    if stretch is not None and stretch.size_effects is not None:
        design, target = np.vstack([design, np.zeros(3)]), np.append(target, stretch.size_error)
        effects = {s: np.vstack([e, np.zeros(e.shape[1])]) for s, e in effects.items()}
        effects["accelerometer"][-1] = stretch.size_effects
        effects["local gravity"] = np.array([[0.0]] * len(normals) + [[LOCAL_GRAVITY]])
        noise = np.zeros((len(target), 1))
        noise[-1] = np.abs(next(e for s, e in vertical.effects.items() if s != "accelerometer")).max()
        effects[f"size of {source_of(hang)}"] = noise
    return Condition(source_of(hang), design, target, effects)


def weighing_condition(worksheet: Worksheet, weighing: Weighing, solution: Solution | None) -> Condition:
    """Say that the CG stands over the point at which the loads balance, wherever the supports lie apart."""
    own = source_of(weighing)
    places = np.array([worksheet.where(s.spot) for s in weighing.supports])
    share = np.array([s.mass for s in weighing.supports]) / weighing.mass
    balance = balance_point(worksheet, weighing)
    down, tilt = stand_of(worksheet, weighing)
    normals = _apart(places, down)
    effects: dict[str, Matrix] = {}
    for index, support in enumerate(weighing.supports):
        for source, effect in spot_effects(worksheet, support.spot, f"support {index} of {own}").items():
            effects[source] = effects.get(source, 0.0) + share[index] * normals @ effect
    effects[f"loads of {own}"] = normals @ (places - balance).T * worksheet.accuracy.mass / weighing.mass
    effects[f"level of {own}"] = _height(worksheet, balance, down, solution) * normals @ tilt
    return Condition(own, normals, normals @ balance, effects)


def balance_point(worksheet: Worksheet, weighing: Weighing) -> Vector:
    """Give the point at which the loads of a weighing balance, from the reference, shape (3,), m."""
    masses = np.array([s.mass for s in weighing.supports])
    return np.asarray(masses @ np.array([worksheet.where(s.spot) for s in weighing.supports]) / masses.sum())


def _height(worksheet: Worksheet, balance: Vector, down: Vector, solution: Solution | None) -> float:
    """Give how far the CG lies below the supports, m; where nothing tells, how far anything measured lies off them."""
    if solution is not None and down @ solution.covariance @ down <= TOLD**2:
        return depth_below(balance, down, solution)
    spots = [
        *(h.spot for h in worksheet.hangs),
        *(p.spot for p in worksheet.points),
        *(p.spot for p in worksheet.places),
    ]
    return max([_FIRST_DEPTH, *(abs(float(down @ (worksheet.where(spot) - balance))) for spot in spots)])


def stand_of(worksheet: Worksheet, weighing: Weighing) -> tuple[Vector, Matrix]:
    """Give down at a weighing, and what one standard deviation of its level does to it."""
    sd = worksheet.accuracy.angle
    if weighing.angles is None:
        return direction(0.0, 0.0), sd * np.eye(3)[:, :2]
    angles = Angles(
        weighing.angles.nose, weighing.angles.across or 0.0, weighing.angles.by, weighing.angles.upside_down
    )
    vertical = vertical_by_hand(angles, sd, "")
    return vertical.down, vertical.effects[""]


def _apart(places: Matrix, down: Vector) -> Matrix:
    """Give the level directions along which supports lie apart, shape (0 to 2, 3)."""
    flat = (places - places.mean(axis=0)) @ (np.eye(3) - np.outer(down, down))
    _, _, rows = np.linalg.svd(flat)
    normals: Matrix = rows[[k for k in range(2) if np.ptp(flat @ rows[k]) >= LEAST_SPREAD]]
    return normals
