"""What the operator did and saw, as a manifest tells it: motions with their times, and looks at the actuators."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

from benchrig.capture.form import ManifestForm
from benchrig.capture.recording import Prompt, Seen
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape, listed, nearest, quote
from benchrig.declaration.toml_lines import TomlFile
from benchrig.errors import Problem
from benchrig.geometry.turns import MOTIONS

STILL: Final = "still"
SLOPPINESS: Final = 0.5
"""s by which a prompt may end after the recording does: a person's times are no better."""


def misspelt(place: str, finding: str, word: str, allowed: Sequence[str], act: str = "") -> Problem:
    """Say that a word is not one of those allowed, and which is likely meant."""
    close = nearest(word, allowed)
    return Problem(place, finding, listed(allowed), f'"{escape(close)}" is meant' if close else "", act)


def read_prompts(form: ManifestForm, file: TomlFile, problems: list[Problem]) -> tuple[Prompt, ...]:
    """Give the prompts in order of time, or of the routine.

    Parameters
    ----------
    form : ManifestForm
    file : TomlFile
    problems : list of Problem
        What is wrong is added to it.
    """
    if form.capture.routine is None:
        return _motions(form, file, problems)
    if form.motion:
        problems.append(
            Problem(
                file.place("capture", "routine"),
                f"there are both a routine and [[motion]] entries ({file.place('motion', 0)})",
                "one of them",
                act="keep [[motion]] if its times are right; keep routine if they are not known",
            )
        )
        return ()
    prompts = []
    for index, name in enumerate(form.capture.routine):
        place = file.place("capture", "routine", index)
        if name not in MOTIONS:
            problems.append(misspelt(place, f"routine names {quote(name)}", name, MOTIONS))
        prompts.append(Prompt(name, None, None, place))
    return tuple(prompts)


def _motions(form: ManifestForm, file: TomlFile, problems: list[Problem]) -> tuple[Prompt, ...]:
    timed = []
    for index, motion in enumerate(form.motion):
        place = file.place("motion", index, "name")
        if motion.name not in MOTIONS:
            problems.append(misspelt(place, f"motion {quote(motion.name)}", motion.name, MOTIONS))
        if motion.end_s <= motion.start_s:
            problems.append(
                Problem(
                    file.place("motion", index, "end_s"),
                    f"{escape(motion.name)} starts at {motion.start_s:g} s and ends at {motion.end_s:g} s",
                    "an end after the start",
                    "the two times are exchanged, or end_s holds a duration",
                )
            )
        timed.append((motion.start_s, motion.end_s, Prompt(motion.name, motion.start_s, motion.end_s, place)))
    timed.sort(key=lambda entry: entry[:2])
    for (_, end, first), (start, _, second) in pairwise(timed):
        if start < end:
            problems.append(_overlap(first, end, second, start))
    return tuple(prompt for _, _, prompt in timed)


def _overlap(first: Prompt, end: float, second: Prompt, start: float) -> Problem:
    return Problem(
        second.place,
        f"{escape(second.name)} starts at {start:g} s, before {escape(first.name)} ends at {end:g} s ({first.place})",
        "one motion at a time",
        "a copied entry, or an end that takes in the return to level",
        "end each motion with its hold, before the return",
    )


def problems_of_times(prompts: Iterable[Prompt], duration: float, clock_start: float, stream: str) -> list[Problem]:
    """Find prompts that lie outside the recording.

    Parameters
    ----------
    prompts : iterable of Prompt
    duration : float, s
        Of the recording.
    clock_start : float, s
        What the stream's own clock showed at its first sample.
    stream : str
        The stream's name.
    """
    timed = [(p, p.start, p.end) for p in prompts if p.start is not None and p.end is not None]
    outside = [(p, start, end) for p, start, end in timed if start < 0 or end > duration + SLOPPINESS]
    fits_own_clock = all(start >= clock_start and end <= clock_start + duration + SLOPPINESS for _, start, end in timed)
    cause, act = "another recording's times, or a recording that was stopped early", "correct the times or the stream"
    if clock_start and fits_own_clock:
        cause = f"the times are of the stream's own clock, which shows {clock_start:.9g} s at its first sample"
        act = f"subtract {clock_start:.9g} from every start_s and end_s"
    return [
        Problem(
            prompt.place,
            f"{escape(prompt.name)} from {start:.9g} s to {end:.9g} s, outside {escape(stream)}",
            f"times between 0 and {duration:.3f} s, counted from its first sample",
            cause,
            act,
        )
        for prompt, start, end in outside
    ]


def read_seen(
    form: ManifestForm, file: TomlFile, airframe: Airframe | None, prompts: Sequence[Prompt], problems: list[Problem]
) -> tuple[Seen, ...]:
    """Give what the operator saw, in the order of the file.

    Parameters
    ----------
    form : ManifestForm
    file : TomlFile
    airframe : Airframe or None
        Whose actuators and words the entries are held against.
    prompts : sequence of Prompt
    problems : list of Problem
        What is wrong is added to it.
    """
    done = list(dict.fromkeys(prompt.name for prompt in prompts if prompt.name in MOTIONS))
    seen = []
    for index, entry in enumerate(form.seen):
        if entry.motion not in MOTIONS:
            place = file.place("seen", index, "motion")
            problems.append(misspelt(place, f"seen in motion {quote(entry.motion)}", entry.motion, MOTIONS))
        elif entry.motion not in done:
            problems.append(_not_done(file.place("seen", index, "motion"), entry.motion, done))
        if airframe is not None and airframe.actuators:
            problems.extend(_problems_of_look(entry.actuator, entry.moved, airframe, file, index))
        seen.append(Seen(entry.motion, entry.actuator, entry.moved, file.place("seen", index)))
    return tuple(seen)


def _not_done(place: str, motion: str, done: Sequence[str]) -> Problem:
    return Problem(
        place,
        f"seen in motion {quote(motion)}, which is not among the motions of this capture",
        listed(done) if done else "a [[motion]] or routine that says what was done",
        act="list the motion, or correct the word",
    )


def _problems_of_look(actuator: str, moved: str, airframe: Airframe, file: TomlFile, index: int) -> list[Problem]:
    """Hold one look against the declared actuators and their words."""
    names = [declared.name for declared in airframe.actuators]
    if actuator not in names:
        place = file.place("seen", index, "actuator")
        act = f"name it as {escape(airframe.source.file.name)} does"
        return [misspelt(place, f"actuator {quote(actuator)} is not declared", actuator, names, act)]
    words = [*airframe.actuator(actuator).moves, STILL]
    if moved not in words:
        place = file.place("seen", index, "moved")
        return [misspelt(place, f"moved = {quote(moved)}, of {escape(actuator)}", moved, words)]
    return []
