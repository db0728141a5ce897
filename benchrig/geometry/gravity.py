"""The size of gravity that everything is reckoned with."""

from __future__ import annotations

from typing import Final

STANDARD_GRAVITY: Final = 9.80665
"""m/s², exact by the 3rd General Conference on Weights and Measures (1901)."""
