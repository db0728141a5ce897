"""Places and days for which the field's model does not hold are refused with a clear word."""

from __future__ import annotations

import re
from datetime import date

import numpy as np
import pytest

from benchrig.attitude.earth_field import Place, earth_field
from benchrig.errors import UsageError

HERE = Place(np.radians(52.0), np.radians(5.0))


@pytest.mark.parametrize(
    ("place", "day", "words"),
    [
        (HERE, date(2014, 12, 31), "--date: 2014-12-31; expected 2015-01-01 to 2029-12-31"),
        (HERE, date(2030, 1, 1), "--date: 2030-01-01; expected 2015-01-01 to 2029-12-31"),
        (Place(np.radians(95.0), 0.0), date(2026, 1, 1), "--latitude: 95°; expected 90° at most"),
        (Place(0.0, np.radians(-181.0)), date(2026, 1, 1), "--longitude: -181°; expected 180° at most"),
        (Place(0.0, 0.0, 2e5), date(2026, 1, 1), "--height-m: 200000 m; expected -1000 to 100000 m"),
    ],
)
def test_a_place_or_day_outside_of_the_model_is_refused(place, day, words):
    with pytest.raises(UsageError, match=re.escape(words)):
        earth_field(place, day)


def test_the_field_wanders_from_year_to_year_and_falls_with_height():
    now, later = (earth_field(HERE, date(year, 6, 1)) for year in (2026, 2029))
    assert 0.01e-6 < np.linalg.norm(later.vector - now.vector) < 0.5e-6
    high = earth_field(Place(HERE.latitude, HERE.longitude, 5e3), date(2026, 6, 1))
    assert 0.97 * now.size < high.size < now.size
