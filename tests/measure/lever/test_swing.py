"""Which swings count, and why the others do not."""

from dataclasses import replace

import numpy as np
from turning_bodies import CONSUMER, prompt, swung

from benchrig.capture.recording import Prompt
from benchrig.measure.lever.stand import Readings
from benchrig.measure.lever.swing import find_swings
from benchrig.signals.rests import find_rests

ARM = (0.06, -0.03, 0.02)


def found(even, *prompts, pivot=None):
    stillness = find_rests(even)
    rate = even.angular_rate - stillness.bias.value
    return find_swings(Readings(even, rate, even.acceleration, stillness, "bench.toml"), pivot, prompts)


def only_remark(even, *prompts):
    stands, (remark,) = found(even, *prompts)
    assert stands == ()
    return remark


def test_a_swing_is_the_inside_of_its_prompt():
    pivot = np.array([0.0, 0.0, -0.1])
    (stand,), remarks = found(swung(ARM, errors=CONSUMER), prompt("swing", 3.0, 14.8), pivot=pivot)
    assert remarks == ()
    assert stand.start >= 3.5
    assert stand.start + len(stand.rate) * stand.step <= 14.31
    assert not stand.still.any()
    np.testing.assert_array_equal(stand.pivot, pivot)


def test_only_a_prompt_makes_a_swing():
    assert found(swung(ARM, errors=CONSUMER)) == ((), ())


def test_a_swing_from_a_routine_has_no_times():
    assert "a routine gives none" in only_remark(swung(ARM), Prompt("swing", None, None, "bench.toml:3")).reason


def test_a_short_swing_is_refused():
    remark = only_remark(swung(ARM), prompt("swing", 5.0, 9.0))
    assert remark.code == "swing-too-short"
    assert "3.0 s of it can be used" in remark.reason


def test_a_gentle_swing_is_refused():
    remark = only_remark(swung(ARM, size_deg=(1.0, 1.0, 0.5)), prompt("swing", 3.0, 14.0))
    assert remark.code == "swing-too-slow"


def test_a_swing_that_clips_is_refused():
    even = swung(ARM)
    remark = only_remark(replace(even, gyro_clipped=even.time % 0.5 < 0.3), prompt("swing", 3.0, 14.0))
    assert remark.code == "swing-clipped"


def test_the_longer_side_of_a_gap_is_taken():
    even = swung(ARM)
    (stand,), _ = found(replace(even, segment=(even.time > 6.0).astype(np.int64)), prompt("swing", 3.0, 14.8))
    assert stand.start >= 6.0
