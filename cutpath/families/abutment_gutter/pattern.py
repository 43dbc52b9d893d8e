"""Gutters up the slope beside a wall, in lapped lengths.

The sole lies on the roof below y = 0, the upstand above it, and the outer edge is turned up under the covering.
"""

from __future__ import annotations

from cutpath.families.strips import Bend, strip
from cutpath.values.leadwork import AbutmentGutter
from cutpath.values.pattern import FlatPattern, FoldUse, Stance


def abutment_gutter_length(
    survey: AbutmentGutter, start_mm: float, end_mm: float, lap_below_mm: float | None, lap_above_mm: float | None
) -> FlatPattern:
    """Develop the length of a gutter beside a wall, right-handed, between two distances up the slope."""
    bottom = -survey.sole_mm - survey.edge_mm
    bends = [
        Bend("outer edge", FoldUse.OUTER_EDGE, -survey.sole_mm, 90.0),
        Bend("wall", FoldUse.WALL, 0.0, 90.0),
    ]
    across, laps = (bottom, survey.upstand_mm), (lap_below_mm, lap_above_mm)
    return strip("secret gutter", across, bends, (start_mm, end_mm), laps, Stance.UPRIGHT)
