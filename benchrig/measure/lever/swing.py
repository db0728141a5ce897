"""Swings: where the airframe turned this way and that about one fixed point."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt
from benchrig.geometry.directions import Vector
from benchrig.measure.lever.stand import Readings, Remark, Stand
from benchrig.measure.lever.window import group_size, thinned, windows
from benchrig.signals.runs import longest, runs

WINDOW: Final = 0.1
"""s: over which readings are averaged."""
SHORTEST: Final = 4.0
"""s: of a swing."""
LIVELIEST: Final = 1.0
"""rad/s²: root mean square of the angular acceleration below which a swing shows nothing."""

_ALL: Final = 0.999  # of the samples averaged to one
_TRIM: Final = 0.5  # s at either end of a prompt: a person's times are no better


def find_swings(
    read: Readings, pivot: Vector | None, prompts: Sequence[Prompt]
) -> tuple[tuple[Stand, ...], tuple[Remark, ...]]:
    """Find the swings of a recording: only prompts with times tell them from other turning.

    Parameters
    ----------
    read : Readings
    pivot : ndarray, shape (3,), m, or None
        The fixed point, from the CG.
    prompts : sequence of Prompt

    Returns
    -------
    stands : tuple of Stand
    remarks : tuple of Remark
        Of swings that are no evidence.
    """
    found = [_swing(read, pivot, prompt) for prompt in prompts if prompt.name == "swing"]
    stands = tuple(s for s in found if isinstance(s, Stand))
    return stands, tuple(r for r in found if isinstance(r, Remark))


def _swing(read: Readings, pivot: Vector | None, prompt: Prompt) -> Stand | Remark:
    even = read.even
    if prompt.start is None or prompt.end is None:
        fix = "write it as [[motion]] with start_s and end_s"
        return Remark("swing-too-short", prompt.place, "a swing needs its times, and a routine gives none", fix)
    inside = (even.time > prompt.start + _TRIM) & (even.time < prompt.end - _TRIM)
    start, stop = longest(runs(inside, even.segment))
    lasting = (stop - start) * even.step
    if lasting < SHORTEST:
        reason = f"only {lasting:.1f} s of it can be used, and {SHORTEST:g} s or more without a gap are needed"
        return Remark("swing-too-short", prompt.place, reason, "swing it for 10 s")
    step = even.step * group_size(even.step)
    usable = thinned(~(even.gyro_clipped | even.accelerometer_clipped)[start:stop], even.step) > _ALL
    rate, force = thinned(read.rate[start:stop], even.step), thinned(read.force[start:stop], even.step)
    where = windows(usable, step, WINDOW)
    if len(where.start) * where.length < SHORTEST:
        reason = "a channel stands at the end of its range in most of the swing"
        return Remark("swing-clipped", prompt.place, reason, "choose a larger range, or swing more gently")
    lively = float(np.sqrt(np.mean(np.sum(where.slopes(rate) ** 2, axis=1))))
    if lively < LIVELIEST:
        reason = f"the turning is too gentle: {lively:.2f} rad/s², and {LIVELIEST:g} rad/s² or more are needed"
        return Remark("swing-too-slow", prompt.place, reason, "swing it by 25° to either side, about once a second")
    return Stand(
        kind="swing",
        place=prompt.place,
        start=float(even.time[start]),
        step=step,
        rate=rate,
        force=force,
        where=where,
        still=np.zeros(len(where.start), dtype=np.bool_),
        turning=np.zeros(3),
        pose="",
        pivot=pivot,
        table_rate=None,
        turns=0.0,
    )
