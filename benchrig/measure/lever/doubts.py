"""What speaks against a spin or swing, or against two of them together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from typing import Final

import numpy as np

from benchrig.measure.lever.fit import Fit
from benchrig.measure.lever.prior import SCALE, SPEED, UNSHOWN
from benchrig.measure.lever.spin import DEGREES, SLOWEST, noise_at_rest
from benchrig.measure.lever.stand import Readings, Remark, Stand
from benchrig.measure.lever.turn_count import TurnCount

STEADY_PIVOT: Final = 0.08
"""m/s²: residual of a swing above which its pivot moved."""
STEADY_TABLE: Final = 0.02
"""m/s²: residual of a spin above which, if the accelerometer is no noisier at rest, something moved that should not."""
DISAGREEMENT: Final = 20.0
"""Squared distance of two stands' answers in standard deviations, of three axes: 1.7 in 10 000 are larger by chance."""
FARTHEST_SPEED: Final = 0.10
"""By which the gyro's speed may differ from the stated one, where gravity does not bear the gyro out."""
FASTEST: Final = 100 * np.pi / 30
"""rad/s: of a table; record players end at 78 rpm (common practice, no published source)."""

_SURELY: Final = 3.0  # standard deviations
_NOISIER: Final = 3.0
_BEYOND: Final = 1.05  # of the declared range: a calibration that is applied may stretch it so far
_FEW_ROWS: Final = 5  # that a link or logger spoils, where a wrong unit spoils the whole spin
_ALIKE: Final = 0.9  # cosine between the axes of two spins
_RPM: Final = 30 / np.pi


def impossible_speed(stand: Stand, count: TurnCount) -> Remark | None:
    """Refuse a spin that the gyro makes far faster or slower than the table can have turned."""
    speed, stated = float(np.linalg.norm(stand.turning)), stand.table_rate
    borne_out = is_counted(count) and count.fits
    if stated is not None and not borne_out and abs(np.log(speed / stated)) > np.log1p(FARTHEST_SPEED):
        reason = (
            f"the gyro reads {speed * _RPM:.4g} rpm where the table is stated to turn at {stated * _RPM:.4g} rpm, "
            f"{speed / stated:.3g} times as fast{unit_of(speed / stated)}"
        )
        fix = (
            "correct the gyro's unit, range or count, or rpm in the manifest; benchrig measure sensor tells the "
            "gyro's size"
        )
        return Remark("spin-speed", stand.place, reason, fix)
    if speed > FASTEST:
        reason = (
            f"the gyro reads {speed * _RPM:.4g} rpm, and a table for this turns at {FASTEST * _RPM:.0f} rpm at most"
        )
        slower = speed / DEGREES
        reason += f"{unit_of(DEGREES)}, perhaps" if SLOWEST < slower < FASTEST else ""
        fix = "turn more slowly; if it did, correct the gyro's unit, range or count: benchrig measure sensor tells them"
        return Remark("spin-too-fast", stand.place, reason, fix)
    return None


def beyond_range(read: Readings) -> Remark | None:
    """Refuse a recording whose gyro reads more than its declared range lets it."""
    limit = read.gyro_range
    if limit is None:
        return None
    size = np.abs(read.even.angular_rate).max(axis=1)
    beyond = np.flatnonzero(size > _BEYOND * limit)
    if len(beyond) == 0:
        return None
    largest, declared = np.degrees(size.max()), np.degrees(limit)
    if len(beyond) > _FEW_ROWS:
        reason = (
            f"the gyro reads up to {largest:.0f} °/s, in {len(beyond)} rows more than its declared range of "
            f"{declared:.0f} °/s: its unit or its range is declared wrongly"
        )
        fix = "correct the gyro's unit or count in the manifest, or gyro_range_deg_s in the airframe file"
        return Remark("gyro-beyond-range", read.name, reason, fix)
    rows = "one row" if len(beyond) == 1 else f"{len(beyond)} rows"
    reason = (
        f"{rows} of the gyro, at {read.even.time[beyond[0]]:.2f} s, {'reads' if len(beyond) == 1 else 'read'} up to "
        f"{largest:.0f} °/s, more than its declared range of {declared:.0f} °/s"
    )
    fix = "mend the link or the logger that makes such rows, and record it again"
    return Remark("gyro-beyond-range", read.name, reason, fix)


def miscount(stand: Stand, count: TurnCount) -> Remark | None:
    """Refuse a spin whose turns gravity counts otherwise than the gyro."""
    if count.ratio is None or count.fits:
        return None
    if count.ratio < 0:
        reason = "gravity goes round in the airframe the wrong way for the way the gyro says that it turns"
        fix = (
            "run benchrig check on six hand moves first: an axis or a sign is not as declared, the gyro's or the "
            "accelerometer's"
        )
    else:
        reason = f"gravity counts {count.ratio:.2f} turns to each turn of the gyro"
        fix = (
            "run benchrig measure sensor first: the gyro's scale, unit or range is not as declared, or the clock is "
            "wrong"
        )
    return Remark("spin-miscounted", stand.place, reason, fix)


def is_counted(count: TurnCount) -> bool:
    """Whether gravity counts the turns better than a gyro's data sheet tells them."""
    return count.ratio is not None and count.spread <= SCALE


def odd_speed(stand: Stand, count: TurnCount) -> Remark | None:
    """Doubt a stated speed that neither the gyro nor gravity bears out; the spin itself stays good."""
    if stand.table_rate is None:
        return None
    ratio, spread = (1.0, SCALE) if count.ratio is None or not is_counted(count) else (count.ratio, count.spread)
    speed = float(np.linalg.norm(stand.turning)) * ratio
    if abs(speed - stand.table_rate) < _SURELY * np.hypot(spread, SPEED) * stand.table_rate:
        return None
    reason = f"the table is stated to turn at {stand.table_rate * _RPM:.2f} rpm, and turned at {speed * _RPM:.1f} rpm"
    fix = "correct rpm in the manifest, or leave it out: the place does not need it where gravity counts the turns"
    if not is_counted(count):
        reason = (
            f"the table is stated to turn at {stand.table_rate * _RPM:.2f} rpm, and the gyro says {speed * _RPM:.1f}"
        )
        fix = (
            "correct rpm in the manifest, if it is wrong; if not, the gyro's scale is: benchrig measure sensor tells it"
        )
    return Remark("turntable-speed-differs", stand.place, reason, fix, refused=False)


def resting_on_gyro(stand: Stand, count: TurnCount) -> Stand:
    """Mark a spin whose speed the gyro alone shows: no speed is stated, or not believed, and no turns are counted."""
    if stand.known_rate is not None or is_counted(count):
        return stand
    off = 0.0 if stand.table_rate is None else float(np.linalg.norm(stand.turning)) / stand.table_rate - 1
    return replace(stand, gyro_doubt=max(UNSHOWN, abs(off)))


def alone_on_gyro(stands: Sequence[Stand]) -> tuple[Stand, ...]:
    """Give the spins whose speed the gyro alone shows, where no other spin about that axis shows its scale."""
    ways = [s.turning / np.linalg.norm(s.turning) for s in stands if s.kind == "spin" and not s.gyro_doubt]
    return tuple(
        s
        for s in stands
        if s.gyro_doubt and not any(abs(s.turning @ way) > _ALIKE * np.linalg.norm(s.turning) for way in ways)
    )


def rests_on_gyro(stand: Stand) -> Remark:
    """Say that a place rests on the gyro's scale, and what would show it."""
    reason = (
        "the table leans too little for gravity to count its turns, and no speed stands beside it that could be "
        "believed: the place rests on the gyro's scale"
    )
    fix = "put a shim under one side of the table, so that it leans by 1°; or state rpm as a watch counts it"
    return Remark("spin-rests-on-gyro", stand.place, reason, fix, refused=False)


def unit_of(ratio: float) -> str:
    """Name the wrong unit of a gyro that reads `ratio` times what is right, as the end of a clause."""
    if abs(ratio / DEGREES - 1) < FARTHEST_SPEED:
        return ": its numbers are deg/s, taken for rad/s"
    return ": its numbers are rad/s, taken for deg/s" if abs(ratio * DEGREES - 1) < FARTHEST_SPEED else ""


def restless(stand: Stand, found: Fit) -> Remark | None:
    """Refuse a stand about a point that moved: its own best fit leaves too much."""
    left = found.noise[0]
    if not found.settled:
        reason = "no place explains the readings"
        fix = "run benchrig check on six hand moves, and benchrig measure sensor; then record it again"
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
