"""The field of one long straight wire, B = µ₀ I / (2π r): Ampère's law, any textbook; numbers by arithmetic."""

from __future__ import annotations

import pytest

from benchrig.measure.compass.clearance import wire_field


@pytest.mark.parametrize(
    ("current", "distance", "microtesla"),
    [(10.0, 0.10, 20.0), (30.0, 0.10, 60.0), (30.0, 0.38, 15.8), (10.0, 0.38, 5.26)],
)
def test_a_current_at_a_distance_makes_the_field_of_a_long_wire(current, distance, microtesla):
    assert wire_field(current, distance) * 1e6 == pytest.approx(microtesla, rel=2e-3)
