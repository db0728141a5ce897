"""Findings about the motions: what is missing, what was another motion than asked, and what that leaves open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from benchrig.geometry.turns import REQUIRED_TURNS, TURNS
from benchrig.outcome import Finding, Outcome
from benchrig.verdict.bench import Bench
from benchrig.verdict.done import Done, contested, what_was_done
from benchrig.verdict.record import Cell

_NOBODY: Final = "none of them, and the wiring is another one"
_MARKED: Final = "with the nose marked"


def operator_findings(bench: Bench, cells: Sequence[Cell]) -> Iterator[Finding]:
    """Name the motions that were others than asked, are missing, or are no evidence.

    Parameters
    ----------
    bench : Bench
    cells : sequence of Cell
        Of the sensing part.
    """
    if bench.matching.misfit:
        fix = "Do each motion of the routine once: out, held for half a second, and back; or give [[motion]] times."
        yield Finding("routine-does-not-fit", "not shown", f"{bench.matching.misfit}.", fix)
        return
    known = bench.stillness.bias is not None
    ways = contested(bench) if known else ()
    if ways:
        yield _open(ways)
    names = dict.fromkeys((*bench.airframe.required_motions, *(m.name for m in bench.motions)))
    done = [what_was_done(bench, name) for name in names if name in TURNS]
    yield from (_other_motion(one, cells) for one in done if one.other and known and not ways)
    unfit: dict[str, list[str]] = {}
    for one in done:
        if not one.good and not (one.other and known):
            unfit.setdefault(one.reason, []).append(one.name)
    for reason, missing in unfit.items():
        yield Finding(
            "motion-missing",
            "not shown",
            f"{', '.join(missing)}: {_of_several(reason) if len(missing) > 1 else reason}.",
            _again(missing),
        )


def _open(ways: Sequence[Sequence[str]]) -> Finding:
    """Name the explanations side by side: to print one of them as what was seen would be a guess."""
    listed = ", or ".join(" and ".join(_in_order(way)) or _NOBODY for way in ways)
    text = f"some motions were others than asked, and which is open: {listed}."
    return Finding("operator-other-motion", "not shown", text, f"{again(motions_of(ways))}.")


def motions_of(ways: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """List every motion that one of the explanations blames."""
    return tuple(_in_order({name for way in ways for name in way}))


def again(names: Sequence[str]) -> str:
    """Ask for motions once more."""
    return f"Do {_all_of(names)} again, {_MARKED}"


def _in_order(names: Sequence[str] | set[str]) -> list[str]:
    order = [*REQUIRED_TURNS, *TURNS]
    return sorted(names, key=order.index)


def _all_of(names: Sequence[str]) -> str:
    if set(names) == set(REQUIRED_TURNS):
        return "all six motions"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _other_motion(done: Done, cells: Sequence[Cell]) -> Finding:
    fix = f"{again([done.name])}."
    if not done.good:
        return Finding("operator-other-motion", "not shown", f"{done.reason}.", fix)
    sensed = [c for c in cells if c.motion == done.name and c.check in {"gyro", "accelerometer"}]
    if any(c.outcome is Outcome.NOT_SHOWN for c in sensed):
        return Finding("operator-other-motion", "advice", f"one of the prompts {done.name} was another motion.", fix)
    once = "once" if len(done.other) == 1 else f"{len(done.other)} times"
    text = f"{done.name} was another motion {once}, and was repeated as asked."
    return Finding("operator-other-motion", "advice", text, "Nothing: what it shows stands.")


def _of_several(reason: str) -> str:
    """Speak of several motions where a reason speaks of one."""
    for one, several in (("it is ", "they are "), ("it was ", "they were ")):
        if reason.startswith(one):
            return several + reason.removeprefix(one)
    return reason


def _again(names: Sequence[str]) -> str:
    which = names[0] if len(names) == 1 else "these motions"
    return f"Record {which} again: 30° to 45°, held still for half a second before and after."
