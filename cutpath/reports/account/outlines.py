"""Plain outlines in JSON: what the nest command reads, and the places that it gives."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cutpath.reports.account.square_cuts import square_cuts
from cutpath.values.nest import QUARTER_TURNS, Blank, Nest
from cutpath.values.piece import Piece


def outlines(pieces: Sequence[Piece]) -> dict[str, object]:
    """Return the pieces as the nest command's input: mm, the straight edge along x, all quarter turns allowed."""
    return {
        "units": "mm",
        "gap_mm": 0.0,
        "pieces": [
            {
                "id": piece.id,
                "quantity": piece.quantity,
                "outline": [list(point) for point in piece.pattern.outline],
                "holes": [[list(point) for point in hole] for hole in piece.pattern.holes],
                "turns_deg": list(QUARTER_TURNS),
                "may_flip": piece.may_flip,
            }
            for piece in pieces
        ],
    }


def nest_result(nest: Nest, blanks: Sequence[Blank]) -> dict[str, Any]:
    """Return a nest as the nest command's result: each copy is flipped if asked, turned about (0, 0), then moved.

    Straight cuts right across a roll that part no piece stand with their places along it, see `square_cuts`.
    """
    by_id = {blank.id: blank for blank in blanks}
    return {
        "units": "mm",
        "rolls": [
            {
                "width_mm": nested.roll.width_mm,
                "length_mm": nested.roll.length_mm,
                "drawn_mm": nested.drawn_mm,
                "square_cuts_mm": list(square_cuts(nested, by_id)),
                "placements": [
                    {
                        "id": p.id,
                        "copy": p.copy,
                        "turn_deg": p.turn_deg,
                        "flipped": p.flipped,
                        "x_mm": p.x_mm,
                        "y_mm": p.y_mm,
                    }
                    for p in nested.placements
                ],
                "offcuts": [
                    {"x_mm": o.x_mm, "y_mm": o.y_mm, "length_mm": o.length_mm, "width_mm": o.width_mm}
                    for o in nested.offcuts
                ],
            }
            for nested in nest.rolls
        ],
        "yield": nest.yield_ratio,
        "drawn_mm2": nest.drawn_mm2,
        "bound_mm2": nest.bound_mm2,
    }
