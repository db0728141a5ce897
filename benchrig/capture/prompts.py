"""What the operator did and saw, as a manifest tells it: motions with their times, and looks at the actuators."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

from benchrig.capture.form import ManifestForm
from benchrig.capture.recording import Prompt, Seen
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape, listed, nearest, quote
from benchrig.declaration.table_faults import Faults, Keys
from benchrig.errors import Problem
from benchrig.geometry.turns import MOTIONS

STILL: Final = "still"
SLOPPINESS: Final = 0.5
"""s by which a prompt may end after the recording does: a person's times are no better."""


def read_prompts(form: ManifestForm, faults: Faults) -> tuple[Prompt, ...]:
    """Give the prompts in order of time, or of the routine.

    Parameters
    ----------
    form : ManifestForm
    faults : Faults
        What is wrong is noted there.
    """
    if form.capture.routine is None:
        return _motions(form, faults)
    if form.motion:
        faults.add(
            ("capture", "routine"),
            f"there are both a routine and [[motion]] entries ({faults.file.place('motion', 0)})",
            "one of them",
            act="keep [[motion]] if its times are right; keep routine if they are not known",
        )
        return ()
    prompts = []
    for index, name in enumerate(form.capture.routine):
        keys = ("capture", "routine", index)
        if name not in MOTIONS:
            faults.add_word(keys, name, MOTIONS)
        prompts.append(Prompt(name, None, None, faults.file.place(*keys)))
    return tuple(prompts)


def _motions(form: ManifestForm, faults: Faults) -> tuple[Prompt, ...]:
    timed = []
    for index, motion in enumerate(form.motion):
        if motion.name not in MOTIONS:
            faults.add_word(("motion", index, "name"), motion.name, MOTIONS)
        if motion.end_s <= motion.start_s:
            faults.add(
                ("motion", index, "end_s"),
                f"{escape(motion.name)} starts at {motion.start_s:g} s and ends at {motion.end_s:g} s",
                "an end after the start",
                "the two times are exchanged, or end_s holds a duration",
            )
        timed.append((motion.start_s, motion.end_s, index))
    timed.sort()
    for (_, end, first), (start, _, second) in pairwise(timed):
        if start < end:
            _note_overlap(form, first, second, faults)
    places = [faults.file.place("motion", index, "name") for _, _, index in timed]
    return tuple(
        Prompt(form.motion[index].name, start, end, place, form.motion[index].label)
        for place, (start, end, index) in zip(places, timed, strict=True)
    )


def _note_overlap(form: ManifestForm, first: int, second: int, faults: Faults) -> None:
    before, after = form.motion[first], form.motion[second]
    faults.add(
        ("motion", second, "start_s"),
        f"{escape(after.name)} starts at {after.start_s:g} s, before {escape(before.name)} ends "
        f"at {before.end_s:g} s ({faults.file.place('motion', first, 'end_s')})",
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
    outside = [
        (p, start, end) for p, start, end in timed if start < 0 or start >= duration or end > duration + SLOPPINESS
    ]
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
    form: ManifestForm, airframe: Airframe | None, prompts: Sequence[Prompt], faults: Faults
) -> tuple[Seen, ...]:
    """Give what the operator saw, in the order of the file.

    Parameters
    ----------
    form : ManifestForm
    airframe : Airframe or None
        Whose actuators and words the entries are held against.
    prompts : sequence of Prompt
    faults : Faults
        What is wrong is noted there.
    """
    done = list(dict.fromkeys(prompt.name for prompt in prompts if prompt.name in MOTIONS))
    seen = []
    for index, entry in enumerate(form.seen):
        keys = ("seen", index, "motion")
        if entry.motion not in MOTIONS:
            faults.add_word(keys, entry.motion, MOTIONS)
        elif entry.motion not in done:
            faults.add(
                keys,
                f"{faults.named(keys)} = {quote(entry.motion)} is not among the motions of this capture",
                listed(done) if done else "a [[motion]] or routine that says what was done",
                act="list the motion, or correct the word",
            )
        if airframe is not None and airframe.actuators:
            _check_look(index, entry.actuator, entry.moved, airframe, faults)
        seen.append(Seen(entry.motion, entry.actuator, entry.moved, faults.file.place("seen", index)))
    return tuple(seen)


def _check_look(index: int, actuator: str, moved: str, airframe: Airframe, faults: Faults) -> None:
    """Hold one look against the declared actuators and their words."""
    if check_actuator(("seen", index, "actuator"), actuator, airframe, faults):
        words = [*airframe.actuator(actuator).moves, STILL]
        if moved not in words:
            faults.add_word(("seen", index, "moved"), moved, words)


def told_of_taken_back(form: ManifestForm, faults: Faults) -> tuple[str, ...]:
    """Tell of each motion that the operator took back: its samples stay, and it speaks for nobody.

    Parameters
    ----------
    form : ManifestForm
    faults : Faults
        What is wrong is noted there.
    """
    told = []
    for index, taken in enumerate(form.taken_back):
        if taken.name not in MOTIONS:
            faults.add_word(("taken_back", index, "name"), taken.name, MOTIONS)
        told.append(f"the operator took back {escape(taken.name)}, {taken.start_s:.1f} s to {taken.end_s:.1f} s")
    return tuple(told)


def check_actuator(keys: Keys, name: str, airframe: Airframe, faults: Faults) -> bool:
    """Say whether the airframe declares an actuator of this name, and note it as a fault if not.

    Parameters
    ----------
    keys : tuple of str or int
        Where the name stands.
    name : str
    airframe : Airframe
    faults : Faults
    """
    names = [actuator.name for actuator in airframe.actuators]
    if name not in names:
        meant = nearest(name, names)
        faults.add(
            keys,
            f"actuator {quote(name)} is not declared",
            listed(map(escape, names)),
            f'a misspelt "{escape(meant)}"' if meant else "",
            f"name it as {escape(airframe.source.file.name)} does",
        )
    return name in names
