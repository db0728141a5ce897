"""The gyro's size against gravity's: ranges, units and what lies between, whichever way the sensors are wired."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import Bias, find_rests
from benchrig.verdict.scale import gyro_scale


def scaled(bench, reads, gyro=0):
    """Give the scale found when the gyro reads `reads` times the rate, through signed map `gyro`."""
    wires = SIGNED_PERMUTATIONS[gyro]
    even = replace(bench.even, angular_rate=reads * bench.even.angular_rate @ wires)
    bias = Bias(reads * bench.stillness.bias.value @ wires, reads * bench.stillness.bias.uncertainty)
    return gyro_scale(even, find_moves(even, bench.stillness.rests, bias), bias)


REST = ((0, 0, 0), 1.5)
TURNS = ((0, 35, 4), (5, -30, 0), (40, 3, -6), (-35, 0, 5), (4, 5, 40), (30, -40, 50))


@pytest.fixture(scope="module")
def bench(exact_stream):
    """Give turns out and back, read by a gyro of right size with the noise of a real one, and its rests."""
    legs = [REST]
    for turn in TURNS:
        legs += [(turn, 1.0), REST, (tuple(-angle for angle in turn), 1.0), REST]
    even, rng = exact_stream(legs), np.random.default_rng(6)
    rate = even.angular_rate + np.radians(0.1) * rng.normal(size=even.angular_rate.shape)
    force = even.acceleration + 0.04 * rng.normal(size=even.acceleration.shape) + np.array([0.2, -0.1, 0.15])
    noisy = replace(even, angular_rate=rate, acceleration=force)
    return SimpleNamespace(even=noisy, stillness=find_rests(noisy))


# twice and half: a range set wrong; the units; 1.311: no range or unit, found in a real recording
@pytest.mark.parametrize("reads", [1.0, 2.0, 0.5, 4.0, 0.25, 180 / np.pi, np.pi / 180, 1.311, 0.8, 1 / 1.311, 3.0])
def test_a_wrong_size_is_named_within_3_percent(bench, reads):
    found = scaled(bench, reads)
    assert found.ratio == pytest.approx(reads, rel=0.03)
    assert found.factor == pytest.approx(1 / reads, rel=0.03)
    assert found.is_off == (reads != 1.0)


@settings(max_examples=6, deadline=None, phases=[Phase.generate])  # shrinking would take longer than it tells
@given(st.integers(0, 47), st.sampled_from([1.0, 2.0, 0.5, 1.311, np.pi / 180]))
def test_the_size_is_found_whichever_way_the_gyro_is_wired(bench, gyro, reads):
    assert scaled(bench, reads, gyro).ratio == pytest.approx(reads, rel=0.03)


def test_the_uncertainty_covers_the_error_of_a_right_gyro(bench):
    found = scaled(bench, 1.0)
    assert abs(found.ratio - 1) < 4 * found.uncertainty
    assert 0.002 <= found.uncertainty < 0.05
    assert found.tilts >= 8


def test_yaws_alone_show_no_size(exact_stream):
    rest = ((0, 0, 0), 1.5)
    even = exact_stream([rest, ((0, 0, 40), 1.0), rest, ((0, 0, -40), 1.0), rest])
    stillness = find_rests(even)
    moves = find_moves(even, stillness.rests, stillness.bias)
    assert len(moves) == 2
    assert gyro_scale(even, moves, stillness.bias) is None


def test_spoilt_moves_show_no_size(bench):
    moves = find_moves(bench.even, bench.stillness.rests, bench.stillness.bias)
    spoilt = [replace(m, gap=True) for m in moves]
    assert gyro_scale(bench.even, moves, bench.stillness.bias) is not None
    assert gyro_scale(bench.even, spoilt, bench.stillness.bias) is None
    assert gyro_scale(bench.even, (), bench.stillness.bias) is None
