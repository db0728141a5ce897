"""A size names its unit where it fits one, and is left open where it does not."""

import numpy as np
import pytest

from benchrig.measure.describe.sizes import accelerometer_unit, gyro_unit, magnetometer_unit


@pytest.mark.parametrize(
    ("size", "is_whole", "word", "count"),
    [
        (1.02, False, "g", None),
        (9.6, False, "m/s2", None),
        (1013.0, True, "g", 1000.0),
        (2051.0, True, "g", 2048.0),
        (16100.0, True, "g", 16384.0),
        (255.0, True, "g", 256.0),
    ],
)
def test_gravity_in_a_usual_unit_is_named(size, is_whole, word, count):
    found = accelerometer_unit(size, is_whole=is_whole)
    assert (found.word, found.count, found.is_sure) == (word, count, True)


@pytest.mark.parametrize(("size", "is_whole"), [(2.0, False), (0.5, False), (19.6, False), (3000.0, True), (9.0, True)])
def test_gravity_in_no_usual_unit_is_not_sure(size, is_whole):
    found = accelerometer_unit(size, is_whole=is_whole)
    assert not found.is_sure
    assert found.count == pytest.approx(size, rel=1e-2)


@pytest.mark.parametrize(
    ("to_one_degree", "is_whole", "word", "count"),
    [
        (1.0, False, "deg/s", None),
        (np.pi / 180, False, "rad/s", None),
        (16.1, True, "deg/s", 16.384),
        (66.0, True, "deg/s", 65.536),
        (133.0, True, "deg/s", 131.072),
        (14.2, True, "deg/s", 14.286),
        (1003.0, True, "deg/s", 1000.0),
    ],
)
def test_the_gyros_unit_follows_from_gravitys_turning(to_one_degree, is_whole, word, count):
    found = gyro_unit(np.radians(1 / to_one_degree), is_whole=is_whole)
    assert (found.word, found.count, found.is_sure) == (word, count, True)


@pytest.mark.parametrize(("to_one_degree", "is_whole"), [(1.31, False), (0.5, False), (20.0, True), (45.0, True)])
def test_a_gyro_of_another_size_is_not_sure(to_one_degree, is_whole):
    found = gyro_unit(np.radians(1 / to_one_degree), is_whole=is_whole)
    assert not found.is_sure
    assert "no usual unit" in found.why


@pytest.mark.parametrize(
    ("size", "word", "count"),
    [(48.0, "uT", None), (0.5, "gauss", None), (480.0, "gauss", 1000.0), (48_000.0, "uT", 1000.0)],
)
def test_the_earths_field_names_its_unit(size, word, count):
    found = magnetometer_unit(size, is_whole=False)
    assert (found.word, found.count, found.is_sure) == (word, count, True)


def test_raw_counts_of_a_compass_are_never_sure():
    found = magnetometer_unit(320.0, is_whole=True)
    assert not found.is_sure
    assert "data sheet" in magnetometer_unit(3200.0, is_whole=True).why
