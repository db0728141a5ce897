"""Where sampling folds a frequency to, and how fast a rotor turns (rows U7 and P12).

Sources: the sampling theorem of Nyquist and Shannon (textbook); P12 is trade arithmetic, by common practice without a
published source. The numbers by arithmetic.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.declaration.airframe import Rotor
from benchrig.measure.noise.aliases import origins, seen_at
from benchrig.measure.noise.spectrum import spectrum_of
from benchrig.measure.noise.vibration import find_lines
from benchrig.measure.rotor.match import sources_of

FOLDED = [(40.0, 50.0, 10.0), (80.0, 100.0, 20.0), (160.0, 100.0, 40.0), (510.0, 500.0, 10.0), (66.0, 100.0, 34.0)]


@pytest.mark.parametrize(("frequency", "rate", "seen"), FOLDED)
def test_u7_a_frequency_is_seen_where_sampling_folds_it(frequency, rate, seen):
    assert seen_at(frequency, rate) == pytest.approx(seen)


@pytest.mark.parametrize(("frequency", "rate", "seen"), FOLDED)
def test_u7_the_true_frequency_is_among_those_a_line_can_be(frequency, rate, seen):
    found = origins(seen, 0.1, rate, 600.0)
    assert any(origin.frequency == pytest.approx(frequency) for origin in found)
    assert all(seen_at(origin.frequency, rate) == pytest.approx(seen) for origin in found)
    assert [origin.frequency for origin in found] == sorted(origin.frequency for origin in found)


@pytest.mark.parametrize(("frequency", "rate", "seen"), FOLDED)
def test_u7_samples_of_a_sine_show_the_line_there(frequency, rate, seen):
    time = np.arange(int(20 * rate)) / rate
    noise = np.random.default_rng(1).normal(size=(len(time), 1)) * 0.1
    lines = find_lines(spectrum_of([np.sin(2 * np.pi * frequency * time + 0.3)[:, None] + noise], 1 / rate, 5.0))
    assert [line.frequency for line in lines] == [pytest.approx(seen, abs=0.02)]


def test_p12_24_000_rpm_on_12_teeth_to_120_are_2400_rpm_and_40_hz():
    rotor = Rotor("clockwise", 0.0, motor_rate=24_000 * 2 * np.pi / 60, gear_ratio=120 / 12, blades=2)
    turn = rotor.motor_rate / rotor.gear_ratio / (2 * np.pi)
    assert turn * 60 == pytest.approx(2400.0)
    shaken = {source.name: source.multiple * turn for source in sources_of(rotor)}
    assert shaken == {
        "once a turn of the main rotor": pytest.approx(40.0),
        "twice a turn of the main rotor": pytest.approx(80.0),
        "once a turn of the motor": pytest.approx(400.0),
    }
