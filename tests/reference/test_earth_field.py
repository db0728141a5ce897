"""The earth's field: test values of the World Magnetic Model 2025.

Source: NOAA National Centers for Environmental Information and British Geological Survey, World Magnetic Model 2025,
file of test values (date, height above the WGS84 ellipsoid, latitude, longitude, X, Y, Z, H, F, I, D), as the `ahrs`
library carries it in its folder utils/WMM2025.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from benchrig.attitude.earth_field import Place, earth_field

# day, height km, latitude, longitude, X, Y, Z, F (nT), I, D (deg)
ROWS = [
    (date(2025, 1, 1), 0, 80, 0, 6521.6, 145.9, 54791.5, 55178.5, 83.21, 1.28),
    (date(2025, 1, 1), 0, 0, 120, 39677.8, -109.6, -10580.2, 41064.3, -14.93, -0.16),
    (date(2025, 1, 1), 0, -80, 240, 6117.5, 15751.9, -52022.5, 54698.2, -72.00, 68.78),
    (date(2025, 1, 1), 100, 80, 0, 6216.0, 92.4, 52598.8, 52964.9, 83.26, 0.85),
    (date(2025, 1, 1), 100, -80, 240, 5907.6, 14780.3, -49540.7, 52035.0, -72.19, 68.21),
    (date(2027, 7, 2), 0, 80, 0, 6500.8, 294.5, 54869.4, 55253.9, 83.24, 2.59),
    (date(2027, 7, 2), 0, -80, 240, 6200.7, 15730.3, -51783.7, 54474.2, -71.92, 68.49),
]


@pytest.mark.parametrize("row", ROWS)
def test_the_field_is_that_of_the_published_test_values(row):
    day, height, latitude, longitude, x, y, z, size, dip, declination = row
    east = longitude - 360 if longitude > 180 else longitude
    field = earth_field(Place(np.radians(latitude), np.radians(east), height * 1e3), day)
    assert field.vector * 1e9 == pytest.approx([x, y, z], abs=0.06)
    assert field.size * 1e9 == pytest.approx(size, abs=0.06)
    assert np.degrees(field.dip) == pytest.approx(dip, abs=0.006)
    assert np.degrees(field.declination) == pytest.approx(declination, abs=0.006)


def test_the_field_points_up_in_the_south():
    field = earth_field(Place(np.radians(-80.0), np.radians(-120.0)), date(2025, 1, 1))
    assert field.vector[2] < 0
    assert field.dip < 0
