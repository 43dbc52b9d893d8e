"""Sizes and places of patterns and blanks, as the reports need them."""

from __future__ import annotations

from math import fsum

from cutpath.plane import mirrored, moved, signed_area_mm2, turned
from cutpath.units import MM2_PER_M2
from cutpath.values.nest import Blank, Placement
from cutpath.values.pattern import FlatPattern, Polyline
from cutpath.values.survey import Lead


def area_mm2(shape: Blank | FlatPattern) -> float:
    """Give the area inside an outline less its holes; snips take nothing away."""
    return abs(signed_area_mm2(shape.outline)) - fsum(abs(signed_area_mm2(h)) for h in shape.holes)


def mass_kg(area: float, lead: Lead) -> float:
    """Give the mass of an area in mm2 of a lead."""
    return area / MM2_PER_M2 * lead.mass_kg_m2


def pattern_kg(pattern: FlatPattern, lead: Lead) -> float:
    """Give the mass of one copy of a flat pattern."""
    return mass_kg(area_mm2(pattern), lead)


def placed(points: Polyline, placement: Placement) -> Polyline:
    """Carry points of a blank to the roll: flipped if asked, turned about (0, 0), then moved."""
    shape = mirrored(points) if placement.flipped else points
    return moved(turned(shape, placement.turn_deg), placement.x_mm, placement.y_mm)
