"""Every mistake that can be put into a simulated bench: its name, one line of text, and what may stand behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from benchrig.geometry.turns import TURNS

HAND_TURNS: Final = tuple(word for word in TURNS if not word.startswith("turntable"))
_SPINS: Final = tuple(word for word in TURNS if word.startswith("turntable"))


@dataclass(frozen=True, slots=True)
class Number:
    """A value that is a number: the one taken when none is written, and the range allowed."""

    default: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class FaultKind:
    """One mistake: what it is, and what may stand behind ``NAME=``.

    Attributes
    ----------
    text : str
    value : Number or str
        ``axes`` (of x, y, z), ``two axes``, ``words`` (of direction), ``body axis``, ``motion``, ``actuator``,
        ``two actuators``, ``line`` (Hz and g), or ``none``.
    needs : tuple of str
        Motions without any of which it could not show; empty where it always does.
    """

    text: str
    value: Number | str
    needs: tuple[str, ...] = ()


FAULTS: Final[Mapping[str, FaultKind]] = {
    # how the sensor sits and is wired
    "mounting": FaultKind("the unit's x, y, z really point along these words, such as forward,right,down", "words"),
    "misaligned": FaultKind(
        "the unit is turned about the vertical against its declared mounting", Number(15, -60, 60, "deg")
    ),
    "lever": FaultKind("the unit sits this much further forward than declared", Number(100, -2000, 2000, "mm")),
    "gyro-sign": FaultKind("these axes of the gyro have the wrong sign", "axes"),
    "gyro-swap": FaultKind("two axes of the gyro are swapped", "two axes"),
    "accelerometer-sign": FaultKind("these axes of the accelerometer have the wrong sign", "axes"),
    "accelerometer-swap": FaultKind("two axes of the accelerometer are swapped", "two axes"),
    "accelerometer-gravity": FaultKind("the accelerometer reads the negative of what is declared", "none"),
    "both-sign": FaultKind("these axes of gyro and accelerometer alike have the wrong sign: a left-handed set", "axes"),
    "both-swap": FaultKind("two axes of gyro and accelerometer alike are swapped: a left-handed set", "two axes"),
    "magnetometer-sign": FaultKind("these axes of the compass have the wrong sign", "axes"),
    "magnetometer-mounting": FaultKind("the compass's x, y, z really point along these words", "words"),
    "iron": FaultKind("the iron of the airframe makes a field of this size at the compass", Number(60, 0, 1000, "uT")),
    "iron-soft": FaultKind("soft iron strengthens the field along itself by this much", Number(15, 0, 100, "%")),
    # size, units and channels
    "gyro-scale": FaultKind("the gyro reads this many times the rate", Number(2, 0.05, 20, "")),
    "gyro-radians": FaultKind("the columns declared deg/s hold rad/s", "none"),
    "gyro-degrees": FaultKind("the columns declared rad/s hold deg/s", "none"),
    "gyro-bias": FaultKind("every axis of the gyro is off by this much", Number(25, -200, 200, "deg/s")),
    "accelerometer-scale": FaultKind("the accelerometer reads this many times the force", Number(2, 0.05, 20, "")),
    "accelerometer-m-s2": FaultKind("the columns declared g hold m/s²", "none"),
    "accelerometer-bias": FaultKind(
        "every axis of the accelerometer is off by this much", Number(200, -2000, 2000, "mg")
    ),
    "accelerometer-cross": FaultKind("the accelerometer's x takes up this much of its y", Number(10, -50, 50, "%")),
    "stuck-bits": FaultKind("the two lowest bits of these axes of gyro and accelerometer never change", "axes"),
    "vibration": FaultKind("the airframe shakes at this frequency, Hz, by this much, g peak, all the while", "line"),
    "gyro-dead": FaultKind("these axes of the gyro read nothing but zero", "axes"),
    "gyro-frozen": FaultKind("these axes of the gyro hold their first value", "axes"),
    "accelerometer-dead": FaultKind("these axes of the accelerometer read nothing but zero", "axes"),
    "accelerometer-frozen": FaultKind("these axes of the accelerometer hold their first value", "axes"),
    "frozen-stream": FaultKind("from here on every column but the time holds its value", Number(10, 0, 3600, "s")),
    "gyro-clip": FaultKind("the gyro's range ends here", Number(40, 1, 4000, "deg/s")),
    "accelerometer-clip": FaultKind("the accelerometer's range ends here", Number(1, 0.1, 50, "g")),
    "noise": FaultKind("the sensors are this many times as noisy", Number(10, 0, 1000, "")),
    # time
    "gaps": FaultKind("this many stretches of 0.2 s are missing, each inside a move", Number(3, 1, 50, "")),
    "accelerometer-late": FaultKind(
        "the accelerometer comes this much later than the gyro", Number(60, -500, 500, "ms")
    ),
    "clock": FaultKind("the time column runs at this many times the true speed", Number(0.8, 0.2, 5, "")),
    "time-backwards": FaultKind("one row is stamped earlier than the row before it", "none"),
    # the operator
    "operator-wrong": FaultKind("this motion was made the other way round", "motion"),
    "operator-wrong-pair": FaultKind("both motions about this axis were made the other way round", "body axis"),
    "operator-other": FaultKind("another motion was made in place of this one", "motion"),
    "operator-reversed": FaultKind("the nose was taken for the tail: every tilt is reversed", "none"),
    "operator-nose": FaultKind(
        "the nose was thought to be this far clockwise of where it is", Number(25, -180, 180, "deg")
    ),
    "motion-missing": FaultKind("this motion was neither asked for nor made", "motion"),
    "unlevel-start": FaultKind("the bench is tilted by this much", Number(8, 0, 60, "deg")),
    "no-rest": FaultKind("the moves follow one another without a rest or a hold", "none"),
    "hand-rests": FaultKind("the airframe is never put down between the motions", "none"),
    "short-tilts": FaultKind("every motion is only about this large", Number(12, 1, 90, "deg")),
    "too-slow": FaultKind("every move takes this long", Number(8, 0.1, 60, "s")),
    "shaky": FaultKind("the hand shakes this many times as much", Number(5, 0, 50, "")),
    "prompts-late": FaultKind("the prompts are stamped late by this much", Number(0.5, -2, 2, "s")),
    # the turntable, the hang and the swing
    "spin-reversed": FaultKind("the turntable turned the other way than its prompt says", "none", _SPINS),
    "table-fast": FaultKind("the turntable turns this much faster than is said", Number(2, -50, 50, "%"), _SPINS),
    "pivot-wrong": FaultKind(
        "the manifest has the pivot of turntable and swing this much further forward than it is",
        Number(30, -2000, 2000, "mm"),
        (*_SPINS, "swing"),
    ),
    "pivot-moves": FaultKind(
        "the pivot of a swing is held in a hand that moves this far", Number(20, 0, 500, "mm"), ("swing",)
    ),
    "wrong-point": FaultKind(
        "it hung from a point this much further aft than the one said", Number(20, -500, 500, "mm"), ("hang",)
    ),
    # what answers
    "servo-reversed": FaultKind("this actuator moves the wrong way", "actuator"),
    "servo-still": FaultKind("this actuator never moves", "actuator"),
    "servo-weak": FaultKind("this actuator moves by a fiftieth of what it should", "actuator"),
    "servo-slow": FaultKind(
        "this actuator takes five times as long for its travel", "actuator", ("sweep", "collective up")
    ),
    "plate-binds": FaultKind(
        "this servo moves a quarter less than is asked of it: a plate on four of them binds", "actuator"
    ),
    "narrow-pulses": FaultKind("this actuator gets pulses of half their length", "actuator"),
    "switch-between": FaultKind(
        "this actuator comes to stand half-way when a switch is flipped back", "actuator", ("switch",)
    ),
    "link-wrong": FaultKind(
        "this actuator goes elsewhere than declared when the link is lost", "actuator", ("transmitter off",)
    ),
    "servos-swapped": FaultKind("these two are plugged in each other's place", "two actuators"),
    "servos-late": FaultKind("the pulses answer after this long", Number(150, 0, 2000, "ms")),
    "servo-stops": FaultKind("the pulses end this far from the centre", Number(15, 1, 1000, "us")),
    "axis-reversed": FaultKind("the unit corrects the wrong way about this axis", "body axis"),
    "hold-reversed": FaultKind(
        "the part that answers the angle (not the rate) is reversed about this axis", "body axis"
    ),
    "plate-turned": FaultKind("the unit mixes for a plate turned clockwise by this much", Number(30, -180, 180, "deg")),
    "linkage-reversed": FaultKind("right pulses, but the linkage turns them round: only `seen` shows it", "actuator"),
    "unit-attitude-sign": FaultKind(
        "the unit reports its own attitude about this axis with the wrong sign", "body axis"
    ),
}
"""Every fault; `benchrig simulate --list-faults` prints this."""
