"""The compass's axes: which of the 48 axis maps makes the field it reads stand still while the airframe turns.

With the attitude known by the gyro, the earth's field m and the airframe's own iron h are linear:
``S y = Rᵀ m + h``, where y is the reading, S body from compass and R world from body. A map that is wrong leaves a
residual of the field's own size. A map and its negative leave the same one: only the field's dip tells them apart, and
that takes the hemisphere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Magnetometer
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS, matrix_from_angles
from benchrig.signals.body import IntArray
from benchrig.verdict.bench import Bench
from benchrig.verdict.decision import tail_probability
from benchrig.verdict.response import real_motion
from benchrig.verdict.wirings import PROPER

FIELD_RANGE: Final = (15e-6, 100e-6)
"""T: a fitted field outside of this is not the earth's, which is 22 to 67 µT (from memory)."""

LARGEST_MISFIT: Final = 0.10
"""Of the field: a larger residual, rms of one axis, says that iron, current or another clock moves what is read.

In 64 000 simulated compasses in fields of 25 to 60 µT, dipping 20° to 80°, half of them wired wrongly: with gains and
skews of 5 % (one standard deviation), glued on 4° off, 99.9 % of the right ones passed; with 10 % and 5°, 98 %; with
20 % and 8°, 60 %, the others not shown. None of these passed or failed wrongly. With 30 % and 10°, five right ones of
8 000 failed, and no wrong one passed.
"""

SAMPLES: Final = 300
_FLOOR: Final = 0.7e-6  # T: noise and near iron that no fit shows
_SHARE: Final = 0.015  # of the field: unlike gains and skewed axes of a compass that is not calibrated
_BENT: Final = 0.05  # of the field: how far iron in the room bends the dip, at least
_FIELD_PRIOR, _IRON_PRIOR = 60e-6, 500e-6  # T, one axis
_LEAST_SAMPLES: Final = 20

_OPPOSITE: Final[IntArray] = np.array(
    [int(np.argmax([np.array_equal(-one, other) for other in SIGNED_PERMUTATIONS])) for one in SIGNED_PERMUTATIONS]
)
_PROPER_TWIN: Final[IntArray] = np.minimum(np.arange(48), _OPPOSITE)


@dataclass(frozen=True, slots=True, eq=False)
class CompassPosterior:
    """What the moves leave of the 48 axis maps of the compass.

    Attributes
    ----------
    probability : ndarray, shape (48,)
        If the likeliest wiring of gyro and accelerometer is the real one. Map k means ``declared @
        SIGNED_PERMUTATIONS[k]``: 0 is as declared. Without a hemisphere, a map and its negative share alike.
    lost : float
        Probability that gyro or accelerometer is wired otherwise, in which case nothing is known here.
    field : float, T
        Size of the earth's field under the likeliest map.
    dip : float, rad
        By which it points below the horizon under that map.
    residual : float, T
        Rms of one axis under that map.
    doubt : str
        What forbids every judgement; empty where nothing does.
    """

    declared: Matrix
    probability: Vector
    lost: float
    field: float
    dip: float
    residual: float
    doubt: str

    def mounting(self, index: int) -> Matrix:
        """Body from compass under map `index`; determinant -1 where mirrored."""
        product: Matrix = self.declared @ SIGNED_PERMUTATIONS[index] + 0.0
        return product

    @property
    def paired(self) -> float:
        """Probability that the declared map or its negative holds."""
        return float(self.probability[0] + self.probability[_OPPOSITE[0]])


def weigh_compass(bench: Bench, compass: Magnetometer) -> CompassPosterior | str:
    """Weigh the axis maps of the compass by the moves of the longest unbroken stretch.

    Parameters
    ----------
    bench : Bench
    compass : Magnetometer

    Returns
    -------
    CompassPosterior or str
        In place of the posterior, why nothing can be said.
    """
    field = bench.even.magnetic_field
    if field is None:
        return "the capture has no magnetometer columns"
    if bench.stillness.bias is None:
        return "the airframe never lay still on the bench, so the gyro's bias is not known"
    chosen, poses = _samples(bench, field)
    motion = real_motion(bench)
    chosen = chosen[np.isfinite(motion[chosen]).all(axis=1)]
    if len(chosen) < _LEAST_SAMPLES:
        return "no unbroken stretch of the recording holds a move and readings of the compass"
    attitude = matrix_from_angles(motion[chosen, 3:])
    likeliest = bench.wirings.mounting(int(np.argmax(bench.wirings.accelerometer)))
    up = np.einsum("nij,nj->i", attitude, bench.even.acceleration[chosen] @ likeliest.T)
    moved = _Moved(attitude, field[chosen], -up / (np.linalg.norm(up) or 1.0), poses)
    return _weigh(compass, moved, _lost(bench))


@dataclass(frozen=True, slots=True, eq=False)
class _Moved:
    """Samples of the moves: world from body, readings (T), the world's down, and how many poses were held."""

    attitude: Matrix
    reading: Vector
    down: Vector
    poses: int

    @property
    def design(self) -> Matrix:
        """What the field and the iron add to a reading in body axes, shape (3 N, 6)."""
        iron = np.broadcast_to(np.eye(3), self.attitude.shape)
        return np.concatenate([np.swapaxes(self.attitude, 1, 2), iron], axis=2).reshape(-1, 6)


def _samples(bench: Bench, field: Vector) -> tuple[IntArray, int]:
    """Choose samples evenly over the moves of the longest stretch without gap or clipping, and count its poses."""
    clipped = bench.even.gyro_clipped
    stretch = bench.even.segment * (len(clipped) + 1) + np.cumsum(clipped)
    numbers, counts = np.unique(stretch, return_counts=True)
    longest = np.flatnonzero((stretch == numbers[np.argmax(counts)]) & ~clipped)
    within = [m for m in bench.moves if len(longest) and m.start >= longest[0] and m.stop - 1 <= longest[-1]]
    if not within:
        return np.zeros(0, dtype=np.int64), 0
    moved = longest[(longest >= within[0].start) & (longest < within[-1].stop)]
    read = moved[np.isfinite(field[moved]).all(axis=1)]
    if not len(read):
        return read, 0
    places = np.linspace(0, len(read) - 1, min(SAMPLES, len(read)))
    return read[np.round(places).astype(np.int64)], len(within) + 1


def _lost(bench: Bench) -> float:
    shares = np.exp(bench.wirings.log_probability).ravel()
    return float(np.delete(shares, np.argmax(shares)).sum())


def _weigh(compass: Magnetometer, moved: _Moved, lost: float) -> CompassPosterior:
    count, design = len(moved.reading), moved.design
    prior = np.diag(np.repeat([_FIELD_PRIOR, _IRON_PRIOR], 3) ** -2.0)
    guess = float(np.hypot(_FLOOR, _SHARE * _FIELD_PRIOR))
    maps = compass.body_from_sensor @ SIGNED_PERMUTATIONS[:PROPER]
    turned = np.einsum("kij,nj->nik", maps, moved.reading).reshape(-1, PROPER)
    fitted = np.linalg.solve(design.T @ design / guess**2 + prior, design.T @ turned / guess**2)
    residual = turned - design @ fitted
    squares = (residual**2).sum(axis=0)
    cost = squares + guess**2 * np.einsum("ik,ij,jk->k", fitted, prior, fitted)
    best = int(np.argmin(cost))
    size, rms = float(np.linalg.norm(fitted[:3, best])), float(np.sqrt(squares[best] / (3 * count)))
    spread = max(float(np.hypot(_FLOOR, _SHARE * size)), rms)
    # neighbours err alike, and one pose says one thing however long it is held
    share = min(moved.poses, count / _kinship(residual[:, best].reshape(-1, 3))) / count
    covariance = np.linalg.inv(design.T @ design * share / spread**2 + prior)[:3, :3]
    vertical = moved.down @ fitted[:3]
    bent = max(_BENT * size, rms)
    dip = _dip_weight(compass, vertical, float(np.hypot(np.sqrt(moved.down @ covariance @ moved.down), bent)))
    log_weight = -0.5 * share * (cost - cost[best])[_PROPER_TWIN] / spread**2 + dip
    weight = np.exp(log_weight - log_weight.max())
    steepest = vertical[best] if int(np.argmax(weight)) < PROPER else -vertical[best]
    return CompassPosterior(
        declared=compass.body_from_sensor,
        probability=weight / weight.sum(),
        lost=lost,
        field=size,
        dip=float(np.arcsin(np.clip(steepest / size, -1.0, 1.0))) if size else 0.0,
        residual=rms,
        doubt=_doubt(size, rms),
    )


def _dip_weight(compass: Magnetometer, vertical: Vector, spread: float) -> Vector:
    """Weigh each map by whether its field points down (or, south of the magnetic equator, up), shape (48,)."""
    if compass.hemisphere is None:
        return np.zeros(48)
    towards = 1.0 if compass.hemisphere == "north" else -1.0
    every = np.where(np.arange(48) < PROPER, 1.0, -1.0) * vertical[_PROPER_TWIN]
    return np.array([np.log(max(tail_probability(-towards * v / spread), 1e-300)) for v in every])


def _doubt(size: float, rms: float) -> str:
    low, high = FIELD_RANGE
    if not low <= size <= high:
        return (
            f"the field that turns with the moves is {size * 1e6:.3g} µT, where the earth's is 22 to 67 µT: "
            "a unit, range or channel is wrong"
        )
    if rms > LARGEST_MISFIT * size:
        return f"the field does not follow the turns: {rms * 1e6:.1f} µT rms are left of {size * 1e6:.0f} µT"
    return ""


def _kinship(residual: Vector) -> float:
    """Give the factor by which alike neighbours lower the number of independent samples; residual of shape (N, 3)."""
    power = float((residual**2).sum())
    alike = float((residual[1:] * residual[:-1]).sum()) / power if power > 0 else 0.0
    alike = min(max(alike, 0.0), 0.98)
    return (1 + alike) / (1 - alike)
