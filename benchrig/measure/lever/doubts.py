"""What speaks against a spin or swing, or against two of them together."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Final

import numpy as np

from benchrig.measure.lever.fit import Fit
from benchrig.measure.lever.prior import SCALE, SPEED
from benchrig.measure.lever.spin import noise_at_rest
from benchrig.measure.lever.stand import Remark, Stand
from benchrig.measure.lever.turn_count import TurnCount

STEADY_PIVOT: Final = 0.08
"""m/s²: residual of a swing above which its pivot moved."""
STEADY_TABLE: Final = 0.02
"""m/s²: residual of a spin above which, if the accelerometer is no noisier at rest, something moved that should not."""
DISAGREEMENT: Final = 20.0
"""Squared distance of two stands' answers in standard deviations, of three axes: 1.7 in 10 000 are larger by chance."""

_SURELY: Final = 3.0  # standard deviations
_NOISIER: Final = 3.0


def miscount(stand: Stand, count: TurnCount) -> Remark | None:
    """Refuse a spin whose turns gravity counts otherwise than the gyro."""
    if count.ratio is None or count.fits:
        return None
    reason = f"gravity counts {count.ratio:.2f} turns to each turn of the gyro"
    if count.ratio < 0:
        reason = "gravity goes round in the airframe the wrong way for the way the gyro says that it turns"
    fix = "run benchrig check on six hand moves first: the gyro's sign, scale or axes are not as declared"
    return Remark("spin-miscounted", stand.place, reason, fix)


def odd_speed(stand: Stand, count: TurnCount) -> Remark | None:
    """Doubt a stated speed that neither the gyro nor gravity bears out; the spin itself stays good."""
    if stand.table_rate is None:
        return None
    ratio, spread = (1.0, SCALE) if count.ratio is None or count.spread > SCALE else (count.ratio, count.spread)
    speed = float(np.linalg.norm(stand.turning)) * ratio
    if abs(speed - stand.table_rate) < _SURELY * np.hypot(spread, SPEED) * stand.table_rate:
        return None
    seen, stated = speed * 30 / np.pi, stand.table_rate * 30 / np.pi
    reason = f"the table is stated to turn at {stated:.2f} rpm, and turned at {seen:.2f} rpm"
    fix = "correct rpm in the manifest, or leave it out: the place does not need it"
    return Remark("turntable-speed-differs", stand.place, reason, fix, refused=False)


def restless(stand: Stand, found: Fit) -> Remark | None:
    """Refuse a stand about a point that moved: its own best fit leaves too much."""
    left = found.noise[0]
    if not found.settled:
        reason, fix = "no place explains the readings", "run benchrig check on six hand moves, and record it again"
        return Remark("lever-unsettled", stand.place, reason, fix)
    if stand.kind == "swing":
        if left < STEADY_PIVOT:
            return None
        reason = f"the pivot moved: it leaves {left:.2f} m/s² over, where a fixed one leaves less than {STEADY_PIVOT:g}"
        return Remark("swing-pivot-moved", stand.place, reason, "hang or hold it on a ball or a hook that cannot move")
    limit = max(STEADY_TABLE, _NOISIER * noise_at_rest(stand))
    if left < limit:
        return None
    reason = f"the spin leaves {left:.3f} m/s² over, where a steady table leaves less than {limit:.2g}"
    fix = (
        "fix the airframe on the table, motor off, and put the table on firm ground; if it was so, run benchrig check: "
        "the two sensors do not tell one story"
    )
    return Remark("spin-unsteady", stand.place, reason, fix)


def disagreement(known: Sequence[tuple[Stand, Fit]]) -> Remark | None:
    """Find two stands that do not give one place, each by itself."""
    for (a, first), (b, second) in combinations(known, 2):
        apart, spread = first.place - second.place, first.covariance + second.covariance
        if float(apart @ np.linalg.solve(spread, apart)) > DISAGREEMENT:
            worst = int(np.argmax(np.abs(apart) / np.sqrt(np.diag(spread))))
            reason = (
                f"this motion and that of {a.place} put the sensor {abs(apart[worst]) * 1e3:.0f} mm apart, "
                f"{('forward to aft', 'right to left', 'down to up')[worst]}"
            )
            fix = "measure both pivots from the CG again; if they are right, run benchrig check on the unit's axes"
            return Remark("lever-stands-disagree", b.place, reason, fix)
    return None
