"""A turned compass with known truth, for all that is measured by turning it."""

from __future__ import annotations

import pytest
import turned_compass


@pytest.fixture(scope="session")
def turned():
    """Turn a compass: see `turned_compass.turn`."""
    return turned_compass.turn


@pytest.fixture(scope="session")
def two_turns(turned):
    """Give a level and a tilted turn without any error."""
    return turned()
