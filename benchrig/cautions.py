"""The cautions shown before the first output of a check and in every report."""

from __future__ import annotations

from typing import Final

CAUTIONS: Final = (
    "Take the blades or propellers off, or disconnect the motor, before the unit gets power.",
    "Keep hands, sleeves and tools clear of links, horns and the plate: they move by themselves.",
    "This is bench evidence only: it does not show that the airframe is safe to fly.",
    "Local rules, licensed practice and the makers' manuals come first.",
)
"""Common practice (MIT Unified memo of 2004 on propellers, 14 CFR 107.49, EASA open category before-flight checks)."""
