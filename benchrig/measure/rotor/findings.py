"""What vibration lines mean, in the builder's words: the rotor's, perhaps the rotor's, or something else's."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from benchrig.measure.noise.aliases import origins, seen_at
from benchrig.measure.noise.vibration import Line
from benchrig.measure.rotor.match import Match, could_be
from benchrig.measure.rotor.quantities import strongest, why_nothing
from benchrig.measure.rotor.run import LOWEST, Run
from benchrig.outcome import Finding, sentence

HIGHEST: Final = 500.0
"""Hz: true frequencies are listed up to here."""

_FEW: Final = 3
_ROOM: Final = 2.2  # times the highest frequency: a filter needs room below half the sample rate


def findings_of(run: Run) -> tuple[Finding, ...]:
    """Say what a recording's lines are, and what hides.

    Parameters
    ----------
    run : Run

    Returns
    -------
    tuple of Finding
        The gravest first.
    """
    if run.spectrum is None:
        fix = "Record 10 s or more without a gap, the airframe bound to the bench, in a range that does not clip"
        return (Finding("vibration-not-told", "not shown", f"No spectrum: {why_nothing(run)}.", f"{fix}."),)
    return (*_hidden(run), *_clipped(run), *_moved(run), *_rotor(run), *_others(run))


def _clipped(run: Run) -> Iterator[Finding]:
    if run.clipped > 0:
        text = (
            f"{run.clipped:.1%} of the samples stand at the end of a range, and were left out with what they cut off."
        )
        yield Finding("vibration-clips", "advice", text, "Choose a larger range, or find what shakes so hard.")


def _moved(run: Run) -> Iterator[Finding]:
    if run.moved > 0:
        text = f"A hand turned the airframe in {run.moved:.1%} of the recording, which was left out."
        yield Finding("vibration-handled", "advice", text, "Bind the airframe to the bench, and leave it alone.")


def _hidden(run: Run) -> Iterator[Finding]:
    declared = run.turning.declared
    if declared is None:
        return
    # what the lines show is where they show it, whatever the declared speed would have
    seen = {m.source.name for m in run.speed.matches} if run.speed is not None and run.speed.is_sure else set()
    folded = [s for s in run.turning.sources if s.multiple * declared > run.rate / 2 and s.name not in seen]
    hidden = [s for s in folded if seen_at(s.multiple * declared, run.rate) < LOWEST]
    fix = f"Record at {_ROOM * max((s.multiple for s in folded), default=0.0) * declared:.0f} samples a second or more."
    for source in hidden:
        frequency = source.multiple * declared
        text = sentence(
            f"{source.name}, {frequency:.4g} Hz, lies beside a multiple of {run.rate:.4g} samples a "
            f"second: it shows itself at {seen_at(frequency, run.rate):.2g} Hz, like a slow drift, unseen"
        )
        yield Finding("rotor-hidden", "advice", text, fix)
    shown = [s for s in folded if s not in hidden]
    if shown:
        said = "; ".join(
            f"{s.name} ({s.multiple * declared:.4g} Hz) at {seen_at(s.multiple * declared, run.rate):.4g} Hz"
            for s in shown
        )
        text = f"At {run.rate:.4g} samples a second these would show themselves folded: {said}."
        yield Finding("rotor-folded", "advice", text, fix)


def _rotor(run: Run) -> Iterator[Finding]:
    if run.speed is None or not run.speed.is_sure:
        return
    said = "; ".join(f"{match.line.frequency:.1f} Hz is {_named(match)}" for match in run.speed.matches)
    text = f"At {60 * run.speed.frequency:.0f} rpm the main rotor explains {len(run.speed.matches)} lines: {said}."
    fix = (
        "Once a turn points to balance or a bent shaft; the motor's own turn to its bell, pinion or mount (common "
        "practice, without a published source). Look for the cause before you damp it."
    )
    yield Finding("rotor-vibration", "advice", text, fix)


def _others(run: Run) -> Iterator[Finding]:
    sure = run.speed.matches if run.speed is not None and run.speed.is_sure else ()
    left = [line for line in strongest(run.lines) if all(line is not match.line for match in sure)]
    doubtful = [] if sure else [(line, _candidates(run, line)) for line in left]
    perhaps = [(line, matches) for line, matches in doubtful if matches]
    if perhaps:
        said = "; ".join(f"{line.frequency:.1f} Hz could be {_either(matches)}" for line, matches in perhaps)
        fix = "Record at another motor speed too: a line that moves with it is the motor's or the rotor's."
        yield Finding("vibration-perhaps-rotor", "advice", f"Not surely told: {said}.", fix)
    strange = [line for line in left if all(line is not other for other, _ in perhaps)]
    if strange:
        said = "; ".join(f"{line.frequency:.1f} Hz{_origins(run, line)}" for line in strange)
        fix = "Record once with the motor still: a line that stays is the mains', a fan's or the unit's own."
        text = f"Nothing declared explains {said}."
        yield Finding("vibration-unexplained", "advice", text, fix)


def _candidates(run: Run, line: Line) -> tuple[Match, ...]:
    if run.turning.declared is None:
        return ()
    return could_be(line, run.turning.sources, run.turning.declared, run.rate)


def _named(match: Match) -> str:
    if match.folds == 0 and match.frequency == match.line.frequency:
        return match.source.name
    return f"{match.source.name}, folded from {match.frequency:.1f} Hz"


def _either(matches: Sequence[Match]) -> str:
    """Name the sources that could stand behind a line, each once."""
    said = []
    for name in dict.fromkeys(match.source.name for match in matches):
        alike = [match for match in matches if match.source.name == name]
        plain = any(match.folds == 0 and match.frequency == match.line.frequency for match in alike)
        origin = " or ".join(f"{match.frequency:.1f}" for match in alike)
        said.append(name if plain else f"{name}, folded from {origin} Hz")
    return ", or ".join(said)


def _origins(run: Run, line: Line) -> str:
    """List what else a line can really be."""
    known = origins(line.frequency, line.uncertainty, run.rate, HIGHEST)
    said = list(dict.fromkeys(f"{origin.frequency:.1f}" for origin in known))[1:]
    more = " …" if len(said) > _FEW else ""
    return f" (or folded from {', '.join(said[:_FEW])}{more} Hz)" if said else ""
