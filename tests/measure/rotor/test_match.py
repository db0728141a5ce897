"""Which lines a rotor explains: the right speed, hardly ever a wrong one, and none where chance would do."""

from __future__ import annotations

import os

import numpy as np
import pytest

from benchrig.declaration.airframe import Rotor
from benchrig.measure.noise.aliases import seen_at
from benchrig.measure.noise.vibration import Line
from benchrig.measure.rotor.match import could_be, find_speed, sources_of

COUNT = int(os.environ.get("BENCHRIG_COUNT", "200"))
TURN = 40.0


def rotor(blades=2, gear_ratio=10.0):
    return Rotor("clockwise", 0.0, motor_rate=2 * np.pi * TURN * gear_ratio, gear_ratio=gear_ratio, blades=blades)


def line(frequency, uncertainty=0.01):
    return Line(frequency, uncertainty, ())


def lines_of(turn, rate, multiples, rng, uncertainty=0.01):
    return [line(seen_at(k * turn, rate) + rng.normal() * uncertainty, uncertainty) for k in multiples]


@pytest.mark.parametrize("rate", [100.0, 250.0, 1000.0])
def test_the_speed_is_off_by_about_its_uncertainty_and_never_another_one(rate):
    rng = np.random.default_rng(3)
    sure, pulls = 0, []
    for _ in range(COUNT):
        turn = TURN * rng.uniform(0.91, 1.09)
        strays = [line(f) for f in rng.uniform(5.0, rate / 2 - 1.0, 2)]
        speed = find_speed([*lines_of(turn, rate, (1, 2, 10), rng), *strays], sources_of(rotor()), TURN, rate)
        if speed is not None and speed.is_sure:
            sure += 1
            assert speed.frequency == pytest.approx(turn, abs=5 * speed.uncertainty)
            pulls.append((speed.frequency - turn) / speed.uncertainty)
    assert sure > {100.0: 0.2, 250.0: 0.6, 1000.0: 0.9}[rate] * COUNT
    assert 0.2 < np.sqrt(np.mean(np.square(pulls))) < 1.3


@pytest.mark.parametrize("rate", [100.0, 400.0])
def test_lines_of_chance_are_hardly_ever_taken_for_a_rotor(rate):
    rng = np.random.default_rng(4)
    sources = sources_of(rotor())
    found = [
        find_speed([line(f) for f in rng.uniform(5, rate / 2 - 1, 5)], sources, TURN, rate) for _ in range(5 * COUNT)
    ]
    sure = sum(speed is not None and speed.is_sure for speed in found)
    assert sure <= 0.01 * 5 * COUNT + 3


def test_chance_grows_as_the_band_that_lines_are_looked_for_in_shrinks():
    lines = lines_of(TURN, 400.0, (1, 2), np.random.default_rng(6))
    wide, narrow = (find_speed(lines, sources_of(rotor()), TURN, 400.0, lowest) for lowest in (0.0, 100.0))
    assert narrow.chance == pytest.approx(2 * wide.chance)


def test_the_chance_is_that_of_lines_that_meet_the_other_sources_within_three_deviations():
    """One seed (82 Hz could be twice a turn), two lines, three sources: by hand."""
    lines = [line(82.0, 0.02), line(190.0, 0.02)]
    speed = find_speed(lines, sources_of(rotor()), TURN, 1000.0)
    assert (len(speed.matches), speed.chance) == (1, 1.0)
    pair = [line(82.0, 0.02), line(41.0, 0.02)]
    by_turn = sum(6 * np.hypot(0.02, 0.02 * k / 1) for k in (1, 2, 10)) * 2 / 3 / 500
    by_twice = sum(6 * np.hypot(0.02, 0.02 * k / 2) for k in (1, 2, 10)) * 2 / 3 / 500
    assert find_speed(pair, sources_of(rotor()), TURN, 1000.0).chance == pytest.approx(2 * (by_turn + by_twice))


def test_one_line_alone_gives_no_speed():
    speed = find_speed([line(41.0)], sources_of(rotor()), TURN, 1000.0)
    assert not speed.is_sure
    assert len(speed.matches) == 1


def test_a_line_far_from_every_source_gives_no_speed_at_all():
    assert find_speed([line(60.0)], sources_of(rotor()), TURN, 1000.0) is None
    assert find_speed([], sources_of(rotor()), TURN, 1000.0) is None


def test_a_match_says_the_true_frequency_and_its_folding():
    rng = np.random.default_rng(5)
    speed = find_speed(lines_of(39.2, 250.0, (1, 2, 10), rng, 1e-4), sources_of(rotor()), TURN, 250.0)
    told = {match.source.name: (match.frequency, match.folds) for match in speed.matches}
    assert told == {
        "once a turn of the main rotor": (pytest.approx(39.2, abs=1e-3), 0),
        "twice a turn of the main rotor": (pytest.approx(78.4, abs=1e-3), 0),
        "once a turn of the motor": (pytest.approx(392.0, abs=1e-3), 2),
    }


def test_one_line_could_be_several_things():
    found = could_be(line(20.0), sources_of(rotor()), TURN, 100.0)
    assert [(match.source.name, match.frequency) for match in found] == [
        ("twice a turn of the main rotor", 80.0),
        ("once a turn of the motor", 380.0),
        ("once a turn of the motor", 420.0),
    ]


@pytest.mark.parametrize(("blades", "count"), [(None, 3), (1, 3), (2, 3), (4, 4)])
def test_blades_shake_once_each_in_a_turn_and_are_listed_once(blades, count):
    assert len(sources_of(rotor(blades))) == count


def test_a_direct_drive_has_one_source_for_motor_and_rotor():
    assert [source.multiple for source in sources_of(rotor(gear_ratio=1.0))] == [1.0, 2.0]
