"""What is said to the person at the bench: one large word and one sentence for each moment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from benchrig.errors import Problem
from benchrig.live.view import Question, View
from benchrig.outcome import sentence

_DOING: Final[Mapping[str, str]] = {
    "level": "Let it lie level on the bench, upright, and take your hands off",
    "nose up": "Raise the nose",
    "nose down": "Lower the nose",
    "roll right": "Put the right side down",
    "roll left": "Put the left side down",
    "yaw right": "Turn the nose to the right, flat on the bench,",
    "yaw left": "Turn the nose to the left, flat on the bench,",
    "turntable clockwise": "Let the turntable turn clockwise, seen from above",
    "turntable counter-clockwise": "Let the turntable turn counter-clockwise, seen from above",
    "free": "Turn it about all axes as you like for five seconds, then lay it down level",
    "inverted": "Lay it upside down, and take your hands off",
    "on nose": "Stand it on its nose, and keep it still",
    "on tail": "Stand it on its tail, and keep it still",
    "on left side": "Lay it on its left side, and keep it still",
    "on right side": "Lay it on its right side, and keep it still",
}

_LARGE: Final[Mapping[str, str]] = {
    "waiting": "waiting",
    "lie still": "hands off",
    "hold": "hold it",
    "return": "lay it back",
    "judging": "judging",
    "finished": "judging",
}
"""What is written large where it is not the motion. A session that is finished is still to be judged as a whole: until
then the last judgement on the way would be taken for the verdict."""

_SENTENCES: Final[Mapping[str, str]] = {
    "waiting": "Nothing comes from the unit yet.",
    "lie still": "Let it lie level on the bench, upright and quite still, while the gyro's bias is taken.",
    "hold": "Hold it there, as still as your hands can.",
    "return": "Lay it back level the way you came, and let it lie still.",
    "judging": "What has been recorded is being judged.",
    "finished": "What has been stored is judged as a whole now.",
}

_KEYS: Final = ("space: say again", "backspace: take the last back", "enter: go on", "q: stop, keep all")
_SHORT_KEYS: Final = ("q: stop", "space: again", "backspace: take back", "enter: go on")
"""For a terminal that is wide, and for one that is not: how to stop comes first, whatever else is cut off."""
WORDS: Final = "Lines: an answer's letter, again, back, go on (an empty line), or stop."
"""For where keys come as lines."""


def keys(width: int) -> list[str]:
    """Name the keys of a terminal, on as many lines as they need.

    Examples
    --------
    >>> keys(80)
    ['space: say again  backspace: take the last back  enter: go on  q: stop, keep all']
    >>> keys(40)
    ['q: stop  space: again', 'backspace: take back  enter: go on']
    """
    named = _KEYS if len("  ".join(_KEYS)) <= width else _SHORT_KEYS
    lines = [""]
    for key in named:
        longer = f"{lines[-1]}  {key}" if lines[-1] else key
        lines = [*lines[:-1], longer] if len(longer) <= width else [*lines, key]
    return [line for line in lines if line]


def large(view: View) -> str:
    """Give the word that is written in block letters: at a hold, what is to be watched; at a question, who is meant.

    Examples
    --------
    >>> large(View("move", "nose up")), large(View("hold", "nose up")), large(View("hold", "nose up", watch=("front",)))
    ('nose up', 'hold it', 'front')
    """
    if view.phase == "hold" and view.watch:
        return ", ".join(view.watch)
    if view.phase == "question" and view.question is not None:
        return view.question.actuator
    return _LARGE.get(view.phase, view.motion or "move")


def instruction(view: View) -> str:
    """Give the sentence that says what to do now."""
    names = in_words(view.watch)
    if view.phase in {"move", "moving"}:
        motion = asked(view.motion, view.wanted_deg)
        return f"{motion.rstrip('.')}; watch {names} meanwhile." if view.watch else motion
    if view.phase == "hold" and view.watch:
        return f"Watch {names} while you hold it; you are asked when it lies on the bench again."
    if view.phase == "question" and view.question is not None:
        return question(view.question)
    return _SENTENCES.get(view.phase, "")


def in_words(names: Sequence[str]) -> str:
    """Name what is to be watched.

    Examples
    --------
    >>> in_words(["front", "right rear"])
    '"front" and "right rear"'
    """
    return " and ".join(f'"{name}"' for name in names)


def asked(motion: str, wanted_deg: tuple[float, float]) -> str:
    """Say how a motion is made.

    Examples
    --------
    >>> asked("nose up", (25.0, 60.0))
    'Raise the nose by 25° to 60°, and hold it there.'
    >>> asked("free", (0.0, 0.0))
    'Turn it about all axes as you like for five seconds, then lay it down level.'
    """
    doing = _DOING.get(motion, f"Make this motion: {motion}")
    if not any(wanted_deg):
        return f"{doing}."
    return f"{doing} by {wanted(wanted_deg)}, and hold it there."


def wanted(wanted_deg: tuple[float, float]) -> str:
    """Write the range of a wanted turn.

    Examples
    --------
    >>> wanted((25.0, 60.0))
    '25° to 60°'
    """
    least, largest = wanted_deg
    return f"{least:.0f}° to {largest:.0f}°"


def question(asked: Question) -> str:
    """Ask what an actuator did.

    Examples
    --------
    >>> question(Question("nose up", "front", {"d": "plate down"}))
    'What did "front" do at nose up? Say what you saw at the thing it drives, not what it should do.'
    """
    return (
        f'What did "{asked.actuator}" do at {asked.motion}? '
        "Say what you saw at the thing it drives, not what it should do."
    )


def trouble(problem: Problem) -> str:
    """Tell a trouble in sentences: what, why, and what to do.

    Examples
    --------
    >>> trouble(Problem("port A", "gives nothing", cause="its cable is loose", act="plug it in"))
    'port A: gives nothing. Likely cause: its cable is loose. Plug it in.'
    """
    told = [f"{problem.place}: {problem.finding.rstrip('.')}."]
    clauses = (("expected ", problem.expectation), ("likely cause: ", problem.cause), ("", problem.act))
    told += [sentence(f"{begins}{clause.rstrip('.')}") for begins, clause in clauses if clause]
    return " ".join(told)


def seen(view: View) -> str:
    """Give what was seen last as a sentence; empty where nothing was.

    Examples
    --------
    >>> seen(View("return", said="nose up 38°, held: good"))
    'Nose up 38°, held: good.'
    """
    return sentence(view.said.rstrip(".")) if view.said else ""


def clock(seconds: float) -> str:
    """Write a span as minutes and seconds.

    Examples
    --------
    >>> clock(62.4)
    '1:02'
    """
    minutes, rest = divmod(max(0, int(seconds)), 60)
    return f"{minutes}:{rest:02}"
