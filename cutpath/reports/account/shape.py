"""Sizes and places of patterns and blanks, as the reports need them."""

from __future__ import annotations

from collections.abc import Iterable
from math import fsum

from cutpath.paper.text import millimetres
from cutpath.plane import bounds_mm, mirrored, moved, signed_area_mm2, turned
from cutpath.profiles import lead_facts
from cutpath.tolerances import FILE_DECIMALS
from cutpath.trade.physics import thermal_movement_mm
from cutpath.units import MM2_PER_M2
from cutpath.values.nest import Blank, Placement
from cutpath.values.pattern import FlatPattern, Point, Polyline
from cutpath.values.piece import Piece
from cutpath.values.survey import Lead


def area_mm2(shape: Blank | FlatPattern) -> float:
    """Return the area inside an outline less its holes; snips take nothing away."""
    return abs(signed_area_mm2(shape.outline)) - fsum(abs(signed_area_mm2(h)) for h in shape.holes)


def mass_kg(area: float, lead: Lead) -> float:
    """Return the mass of an area in mm2 of a lead."""
    return area / MM2_PER_M2 * lead.mass_kg_m2


def pattern_kg(pattern: FlatPattern, lead: Lead) -> float:
    """Return the mass of one copy of a flat pattern."""
    return mass_kg(area_mm2(pattern), lead)


def called(piece: Piece) -> str:
    """Say what a piece is, and of which hand where it has one."""
    return piece.pattern.family + (f", {piece.hand.value} hand" if piece.hand else "")


def size_words(pattern: FlatPattern) -> str:
    """Return the sides of the rectangle that a flat pattern is cut from, as a tape gives them."""
    x0, y0, x1, y1 = bounds_mm(pattern.outline)
    return f"{millimetres(x1 - x0)} x {millimetres(y1 - y0)}"


def placed(points: Polyline, placement: Placement) -> Polyline:
    """Carry points of a blank to the roll: flipped if asked, turned about (0, 0), then moved."""
    shape = mirrored(points) if placement.flipped else points
    return moved(turned(shape, placement.turn_deg), placement.x_mm, placement.y_mm)


def movement_mm(pattern: FlatPattern) -> float:
    """Return by how much the length of a piece grows from its coldest to its warmest.

    Notes
    -----
    Expansion and temperatures are those of the worked example in Building Construction Handbook, 8th ed.
    """
    facts = lead_facts()
    return thermal_movement_mm(
        pattern.length_mm,
        facts["movement_from"].value,
        facts["movement_to"].value,
        facts["linear_expansion"].value,
    )


def movement_span() -> str:
    """Say between which temperatures the movement of a length is told."""
    low, high = lead_facts()["movement_from"], lead_facts()["movement_to"]
    return f"between {low.value:g} and {high.value:g} °C"


def same_cut(pattern: FlatPattern) -> object:
    """Return what two patterns must share to be drawn once: cuts, folds and marks, within the files' decimals."""

    def near(points: Iterable[Point]) -> tuple[Point, ...]:
        return tuple((round(x, FILE_DECIMALS) + 0.0, round(y, FILE_DECIMALS) + 0.0) for x, y in points)

    return (
        pattern.family,
        near(pattern.outline),
        tuple(near(hole) for hole in pattern.holes),
        tuple(near(snip.points) for snip in pattern.snips),
        tuple((near((f.start, f.end)), round(f.angle_deg, FILE_DECIMALS), f.way) for f in pattern.folds),
        tuple((m.kind, near(m.points)) for m in pattern.marks),
    )


def alike(pieces: Iterable[Piece]) -> list[list[Piece]]:
    """Gather the pieces of a job that are cut, folded and marked alike from the same lead."""
    groups: dict[object, list[Piece]] = {}
    for piece in pieces:
        groups.setdefault((piece.job, piece.lead, piece.hand, same_cut(piece.pattern)), []).append(piece)
    return list(groups.values())
