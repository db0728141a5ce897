"""Every limit the verdict rests on, once, with the words in which reports print it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from benchrig.signals.motions import SLOPPINESS, SMALLEST_TURN
from benchrig.signals.rests import (
    BENCH_ACCELERATION_SD,
    BENCH_GYRO_SD,
    HAND_ACCELERATION_SD,
    HAND_GYRO_SD,
    LARGEST_BIAS,
    SHORTEST_REST,
)
from benchrig.signals.time_base import LONGEST_BRIDGE
from benchrig.verdict.scale import LARGEST_RATIO_ERROR
from benchrig.verdict.wirings import LEVEL_SPREAD, OPERATOR_ERROR, UPSIDE_DOWN

WRONG: Final = 1e-6
"""A cell passes if it is less likely than this to be wrong, and fails if it is less likely than this to be right."""

SURE: Final = 0.99
"""Of a wiring's probability: one that is less likely is not named as the cause, nor as what was seen."""

OTHER_MOTION: Final = np.radians(60.0)
"""rad: a turn further than this off the asked axis was another motion."""

LARGEST_RESIDUAL: Final = 0.090
"""g rms: above it the two sensors do not tell one story."""

LARGEST_SIZE_ERROR: Final = 0.08
"""Of g: how far the accelerometer's reading at rest may be off."""

LARGEST_NOISE: Final = 0.05
"""°/s/√Hz of the gyro at rest."""

SENSE_ANGLE: Final = np.radians(35.0)
"""rad: how far the unit's own attitude may turn about another axis than the airframe did."""

COHERENT_OPERATOR: Final = 3 * OPERATOR_ERROR**4
"""What four operator mistakes that all fit one wrong wiring would take: the bound that no recording lowers."""

STILL_SHARE: Final = 0.25
"""An actuator that must stay still may move by this share of its largest response."""

SMALLEST_RESPONSE: Final = 0.3e-6
"""s per degree turned: a channel that answers with less than this does not answer (0.3 µs is about 0.03° of a servo,
at the 10 µs a degree that are common practice, without a published source)."""

LATEST_ANSWER: Final = 0.100
"""s: an actuator that answers later cannot damp a hand-sized disturbance (common practice, no published source)."""

SHORTEST_TRAVEL: Final = 100e-6
"""s: an actuator whose pulses meet end stops this close together cannot correct (about 10° of a servo; common
practice, no published source)."""

LARGEST_MISALIGNMENT: Final = 10.0
"""deg: a unit that is surely turned by more from its declared mounting is not mounted as declared: roll leaks into
pitch by a sixth (the sine of the angle). Common practice, no published source."""

LARGEST_LEAN: Final = 15.0
"""deg: where the airframe leaned by more at the level rest, a yaw turns it about roll and pitch as well, and no
actuator can be judged."""

AT_ENDS: Final = 0.02
"""Share of the pulses at an end stop from which on the travel counts as limited."""

TILT_WITNESS: Final = np.radians(20.0)
"""rad: gravity must turn by this much before it speaks against a gyro that saw nothing."""


def limits_in_words() -> Mapping[str, str]:
    """Give every limit as text, for the report."""
    return {
        "wrong-cell probability": f"pass below {WRONG:g} of being wrong, fail below {WRONG:g} of being right",
        "operator": f"does another motion than asked once in {1 / OPERATOR_ERROR:.0f} times (assumed)",
        "upright": f"the airframe stood upright at the level rest, wrong once in {1 / UPSIDE_DOWN:.0e} (assumed)",
        "level": f"gravity within about {np.degrees(2 * LEVEL_SPREAD):.0f}° of the airframe's down at the level rest",
        "rest": f"{SHORTEST_REST} s or more still before and after a motion",
        "bench stillness": f"gyro sd below {np.degrees(BENCH_GYRO_SD):.1f} °/s, accelerometer sd below "
        f"{BENCH_ACCELERATION_SD} g, in any 0.25 s",
        "hand stillness": f"gyro sd below {np.degrees(HAND_GYRO_SD):.1f} °/s, accelerometer sd below "
        f"{HAND_ACCELERATION_SD} g, in any 0.25 s",
        "turn": f"{np.degrees(SMALLEST_TURN):.0f}° or more net, about an axis within {np.degrees(OTHER_MOTION):.0f}° "
        "of the one asked for",
        "prompt times": f"within {SLOPPINESS} s",
        "gap": f"no step over {LONGEST_BRIDGE * 1000:.0f} ms inside a motion",
        "two sensors": "gravity carried by the gyro agrees with gravity read within "
        f"{LARGEST_RESIDUAL * 1000:.0f} mg rms",
        "accelerometer size": f"within {LARGEST_SIZE_ERROR:.0%} of 9.80665 m/s² at rest",
        "angle ratio": f"gyro and gravity within {LARGEST_RATIO_ERROR:.0%}",
        "answer": f"within {LATEST_ANSWER * 1e3:.0f} ms, with {SHORTEST_TRAVEL * 1e6:.0f} µs of travel or more",
        "misalignment": f"below {LARGEST_MISALIGNMENT:.0f}°, beyond twice its uncertainty",
        "gyro bias": f"below {np.degrees(LARGEST_BIAS):.0f} °/s",
        "gyro noise": f"below {LARGEST_NOISE} °/s/√Hz",
        "must stay still": f"below {STILL_SHARE:.0%} of the actuator's largest response",
    }
