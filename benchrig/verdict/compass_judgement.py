"""The compass judged: its cells of the matrix, how it is wired, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Magnetometer
from benchrig.geometry.directions import Matrix, Vector, axis_words
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.geometry.turns import TURNS
from benchrig.outcome import Finding, Outcome
from benchrig.verdict.bench import Bench
from benchrig.verdict.compass import LARGEST_MISFIT, CompassPosterior, weigh_compass
from benchrig.verdict.done import Done, doubts, what_was_done
from benchrig.verdict.limits import COHERENT_OPERATOR, WRONG
from benchrig.verdict.record import Cell, WiringFound
from benchrig.verdict.wirings import UPSIDE_DOWN

FIELD_NAMES: Final = ("mx", "my", "mz")
_HELD: Final = 0.999  # what the smallest set of maps must hold
_TELL: Final = 'Write hemisphere = "north" or "south" in [magnetometer]'
_SIGN_OPEN: Final = (
    "the axes fit as declared up to one common sign of all three, which the moves cannot show without the hemisphere"
)


@dataclass(frozen=True, slots=True, eq=False)
class CompassJudgement:
    """What the bench says of the compass.

    Attributes
    ----------
    cells : tuple of Cell
        Required only where the hemisphere is declared, or where the axes fail whatever it is.
    wiring : WiringFound or None
        None where no compass is declared, or none was recorded.
    findings : tuple of Finding
    wrong : float
        What the compass adds to the probability of a wrong pass; 0 where the verdict does not rest on it.
    limits : mapping of str to str
    """

    cells: tuple[Cell, ...] = ()
    wiring: WiringFound | None = None
    findings: tuple[Finding, ...] = ()
    wrong: float = 0.0
    limits: Mapping[str, str] = field(default_factory=dict)


def judge_compass(bench: Bench, names: Sequence[str]) -> CompassJudgement:
    """Judge the declared compass in each motion.

    Parameters
    ----------
    bench : Bench
    names : sequence of str
        The motions of the matrix.

    Returns
    -------
    CompassJudgement
        Empty where none is declared; with advice alone where one is declared and none was recorded.
    """
    compass = bench.airframe.magnetometer
    if compass is None:
        return CompassJudgement()
    if bench.even.magnetic_field is None:
        text = "a magnetometer is declared and the capture has no columns for it, so it was not judged."
        fix = "Name its columns in the manifest if the stream has them; the verdict does not rest on it."
        return CompassJudgement(findings=(Finding("compass-not-judged", "advice", text, fix),))
    weighed = weigh_compass(bench, compass)
    judge = _Judge(bench, compass, weighed)
    wiring = judge.wiring()
    cells = tuple(judge.cell(name) for name in names)
    rests = compass.hemisphere is not None
    return CompassJudgement(
        cells=cells,
        wiring=wiring,
        findings=tuple(_findings(judge, wiring)),
        wrong=0.0 if isinstance(weighed, str) or not rests else float(weighed.probability[1:].sum()),
        limits={"compass": f"the field follows the turns within {LARGEST_MISFIT:.0%} of its size, rms of one axis"},
    )


class _Judge:
    """One bench, one declared compass, and what the moves leave of its axis maps."""

    def __init__(self, bench: Bench, compass: Magnetometer, weighed: CompassPosterior | str) -> None:
        self.bench = bench
        self.compass = compass
        self.weighed = weighed
        spoilt = weighed if isinstance(weighed, str) else weighed.doubt
        self.doubt = "; ".join([*doubts(bench), *([spoilt] if spoilt else [])])

    def decide(self, right: float) -> Outcome:
        """Decide by the probability that what is asked is right, if the gyro's and accelerometer's wiring is."""
        if isinstance(self.weighed, str) or self.weighed.doubt:
            return Outcome.NOT_SHOWN
        lost = self.weighed.lost
        if right + lost < WRONG:
            return Outcome.FAIL
        return Outcome.PASS if 1 - right + lost < WRONG and not self.doubt else Outcome.NOT_SHOWN

    @property
    def sensors_first(self) -> bool:
        """Whether gyro and accelerometer do not carry a judgement of the compass yet."""
        unsure = not isinstance(self.weighed, str) and self.weighed.lost >= WRONG
        return unsure or bool(doubts(self.bench)) or self.bench.stillness.bias is None

    def why_not(self) -> str:
        """Say why neither a pass nor a fail is shown."""
        if self.doubt or isinstance(self.weighed, str):
            return self.doubt
        if self.weighed.lost >= WRONG:
            return "the wiring of gyro and accelerometer, by which the compass is judged, is not sure itself"
        if self.compass.hemisphere is None and 1 - self.weighed.paired < WRONG:
            return _SIGN_OPEN
        wrong = float(self.weighed.probability[1:].sum())
        return f"other axes still hold {wrong:.1g} of the probability"

    def wiring(self) -> WiringFound:
        """Say how the compass is really wired."""
        if isinstance(self.weighed, str):
            return WiringFound(Outcome.NOT_SHOWN, None, None, ())
        shares = self.weighed.probability
        order = np.argsort(-shares, kind="stable")
        held = int(np.searchsorted(np.cumsum(shares[order]), _HELD)) + 1
        others = tuple(self.weighed.mounting(int(k)) for k in order[1:held])
        found = self.weighed.mounting(int(order[0]))
        return WiringFound(
            self.decide(float(shares[0])), found, float(shares[order[0]]) * (1 - self.weighed.lost), others
        )

    def cell(self, name: str) -> Cell:
        """Judge one motion by the two parts of the field that it moves: those square to its axis."""
        kind, _ = TURNS[name]
        parts = [axis for axis in range(3) if axis != kind]
        expected = _symbols(np.eye(3)[parts])
        done = what_was_done(self.bench, name)
        named = name in self.bench.airframe.required_motions
        declared = self.compass.hemisphere is not None
        required = named and declared
        blank = Cell(
            name, "magnetometer", Outcome.NOT_SHOWN, required, "recorded", expected, None, None, "uT", None, None, ""
        )
        if isinstance(self.weighed, str) or not done.good:
            return replace(blank, reason=done.reason or self.doubt)
        read = np.array([self.weighed.declared @ s.T @ self.weighed.declared.T for s in SIGNED_PERMUTATIONS])[:, parts]
        # signed axes differ by 1.4 or not at all
        same = np.linalg.norm(read - np.eye(3)[parts], axis=(1, 2)) < 0.1  # noqa: PLR2004 - said above
        outcome = self.decide(float(self.weighed.probability[same].sum()))
        observed = _symbols(read[int(np.argmax(self.weighed.probability))])
        wrong = float(self.weighed.probability[~same].sum()) + self.weighed.lost
        reason = {
            Outcome.PASS: f"{expected} of the field follow the turn as they should",
            Outcome.FAIL: f"the compass gives {observed} of the field where {expected} should follow the turn",
        }.get(outcome, self.why_not())
        return replace(
            blank,
            outcome=outcome,
            required=named and (declared or outcome is Outcome.FAIL),
            observed=None if outcome is Outcome.NOT_SHOWN else observed,
            size=_moved(self.bench, done),
            uncertainty=self.weighed.residual * 1e6,
            wrong_pass_bound=wrong + COHERENT_OPERATOR + UPSIDE_DOWN if outcome is Outcome.PASS else None,
            reason=reason,
        )


def _symbols(rows: Matrix) -> str:
    """Name the parts of the field that channels read: ``+mx -my``."""
    axes = [(int(np.argmax(np.abs(row))), row) for row in rows]
    return " ".join(("+" if row[axis] > 0 else "-") + FIELD_NAMES[axis] for axis, row in axes)


def _moved(bench: Bench, done: Done) -> float | None:
    """Give by how much the field's reading changed from rest to rest, µT, mean over a motion's repeats."""
    readings = bench.even.magnetic_field
    changes = []
    for move in (m.move for m in done.good):
        if readings is not None and move is not None:
            ends = [_mean(readings[r.start : r.stop]) for r in (move.before, move.after)]
            changes.append(float(np.linalg.norm(ends[1] - ends[0])) * 1e6)
    finite = [change for change in changes if np.isfinite(change)]
    return float(np.mean(finite)) if finite else None


def _mean(readings: Vector) -> Vector:
    read = readings[np.isfinite(readings).all(axis=1)]
    mean: Vector = read.mean(axis=0) if len(read) else np.full(3, np.nan)
    return mean


def _findings(judge: _Judge, wiring: WiringFound) -> Iterator[Finding]:
    if wiring.outcome is Outcome.FAIL and wiring.found is not None:
        yield _differ(judge.compass, wiring.found)
    elif judge.compass.hemisphere is None:
        fix = f"{_TELL} to have it judged; the verdict does not rest on it."
        yield Finding("compass-not-judged", "advice", f"the compass is not judged: {judge.why_not()}.", fix)
    elif wiring.outcome is Outcome.NOT_SHOWN:
        fix = "Move it away from iron, magnets and leads with current, and record the six motions again."
        if judge.sensors_first:
            fix = "Settle the unit's own axes first: the compass is judged by them."
        yield Finding("compass-not-shown", "not shown", f"the compass's axes are not shown: {judge.why_not()}.", fix)


def _differ(compass: Magnetometer, found: Matrix) -> Finding:
    words, said = axis_words(found), axis_words(compass.body_from_sensor)
    if words is None or said is None:
        text = "the compass is turned against its declared rotation by a multiple of 90°, or mirrored."
        fix = "Compare its arrows with the file, and its channels with the stream's columns."
        return Finding("compass-axes-differ", "fail", text, fix)
    parts = "; ".join(
        f"its {a} axis reads along {words[a]}, the file says {said[a]}" for a in words if words[a] != said[a]
    )
    either = "" if compass.hemisphere else " (or along the opposite of all three)"
    text = f"the compass lies otherwise than declared: {parts}{either}."
    if compass.hemisphere is None:
        fix = f"{_TELL} and judge it again: that tells these axes from their opposite."
    elif np.array_equal(found, -compass.body_from_sensor):
        fix = "All three signs are turned. Mend it where the stream is made, or correct hemisphere in [magnetometer]."
    elif np.linalg.det(found) < 0:
        fix = "No mounting can mend this: find where its stream turns a sign or swaps two channels, and undo it."
    else:
        new = ", ".join(f'{axis} = "{word}"' for axis, word in words.items())
        fix = f"Turn the compass, or write axes = {{ {new} }} in [magnetometer]."
    return Finding("compass-axes-differ", "fail", text, fix)
