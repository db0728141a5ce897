"""A sign or an order that is wrong is named, in exact streams as in words; nothing is mended."""

import itertools

import numpy as np
import pytest

from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.describe.bins import bin_columns
from benchrig.measure.describe.choosing import choose
from benchrig.measure.describe.handedness import explained, order_axes
from benchrig.measure.describe.transport import Turner

NAMES = ("ax", "ay", "az", "gx", "gy", "gz")
LEGS = [
    (turn, seconds)
    for out in ((40, 8, -5), (-6, 45, 7), (-35, 4, 20), (5, -40, -12), (12, 9, 50), (-9, 14, -55))
    for turn, seconds in (((0, 0, 0), 0.8), (out, 0.8), ((0, 0, 0), 0.8), (tuple(-v for v in out), 0.8))
]
TRUE = Turner((3, 4, 5), (1, 1, 1), 1.0, 0.0)


@pytest.fixture(scope="module")
def found(exact_stream):
    """Give the order and relation found in an exact stream led through maps."""

    def ordered(gyro=None, accelerometer=None, names=NAMES):
        even = exact_stream(LEGS, gyro=gyro, accelerometer=accelerometer)
        shaken = even.acceleration * (1 + 0.02 * np.sin(2 * np.pi * 7 * even.time)[:, None])
        moving = np.linalg.norm(even.angular_rate, axis=1) > 0.1
        values = np.column_stack([np.where(moving[:, None], shaken, even.acceleration), even.angular_rate])
        bins = bin_columns(even.time, values)
        choice = choose(bins, names, [False] * 6, [*range(6)])
        margin = min(choice.contest.order_margin, choice.contest.sign_margin)
        return order_axes(names, choice.pair.vector.columns, choice.contest.turner, margin)

    return ordered


def test_an_exact_stream_agrees(found):
    axes = found()
    assert (axes.accelerometer, axes.gyro, axes.agree, axes.is_sure) == ((0, 1, 2), (3, 4, 5), True, True)


@pytest.mark.parametrize("at", [1, 7, 20, 30, 41, 47])
def test_any_map_of_the_gyro_is_found_as_that_map(found, at):
    channels = SIGNED_PERMUTATIONS[at]
    axes = found(gyro=channels)
    # the columns read rate @ channels, so the true turn is channels times the columns
    assert np.array_equal(axes.relation, channels)


@pytest.mark.parametrize("at", [1, 20, 30, 47])
def test_a_map_of_both_alike_is_no_contradiction_unless_it_is_left_handed(found, at):
    channels = SIGNED_PERMUTATIONS[at]
    axes = found(gyro=channels, accelerometer=channels)
    assert np.array_equal(axes.relation, np.round(np.linalg.det(channels)) * np.eye(3))


@pytest.mark.parametrize("order", [*itertools.permutations(range(3))])
def test_without_names_the_axes_are_put_into_an_order_in_which_both_agree(found, order):
    channels = np.eye(3)[list(order)]
    axes = found(gyro=channels, accelerometer=channels, names=("c1", "c2", "c3", "c4", "c5", "c6"))
    assert axes.agree
    assert [c - 3 for c in axes.gyro] == list(axes.accelerometer)


@pytest.mark.parametrize(
    ("gyro", "words"),
    [
        (np.diag([-1.0, 1, 1]), "gx has the wrong sign"),
        (np.diag([1.0, 1, -1]), "gz has the wrong sign"),
        (-np.diag([-1.0, 1, 1]), "ax has the wrong sign"),
        (np.eye(3)[[1, 0, 2]], "gx and gy are in each other's place"),
        (-np.eye(3)[[0, 2, 1]], "ay and az are in each other's place"),
        (-np.eye(3), "all three columns of the gyro have the wrong sign"),
        (np.eye(3)[[1, 2, 0]], "the gyro's axes lie otherwise than the accelerometer's, by a turn"),
        (np.eye(3)[[1, 2, 0]] @ np.diag([-1.0, 1, 1]), "more than one sign or place is wrong"),
    ],
)
def test_each_simple_mistake_has_its_words(gyro, words):
    turner = Turner(*_turner_of(gyro))
    assert words in explained(order_axes(NAMES, (0, 1, 2), turner, 20.0), NAMES)


def _turner_of(channels):
    """Give columns and signs of what turns about x, y and z, for a gyro that reads rate @ channels."""
    at = [int(np.argmax(np.abs(row))) for row in channels]
    return tuple(3 + k for k in at), tuple(int(channels[i, k]) for i, k in enumerate(at)), 1.0, 0.0


def test_a_wrong_sign_without_names_is_narrowed_to_one_axis():
    names = ("c1", "c2", "c3", "c4", "c5", "c6")
    said = explained(order_axes(names, (0, 1, 2), Turner((5, 3, 4), (1, -1, 1), 1.0, 0.0), 20.0), names)
    assert "c4 has the wrong sign or c2 has it" in said


def test_where_order_and_signs_hardly_show_nothing_is_said_of_them():
    assert "cannot be told" in explained(order_axes(NAMES, (0, 1, 2), TRUE, 3.0), NAMES)


def test_names_that_are_exchanged_show_as_an_exchange():
    names = ("ay", "ax", "az", "gx", "gy", "gz")
    axes = order_axes(names, (0, 1, 2), TRUE, 20.0)
    assert axes.accelerometer == (1, 0, 2)
    assert not axes.agree
    assert "in each other's place" in explained(axes, names)
