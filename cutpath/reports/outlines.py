"""Pieces as plain outlines in JSON: what the nest command reads."""

from __future__ import annotations

from collections.abc import Sequence

from cutpath.values.piece import Piece


def outlines(pieces: Sequence[Piece], gap_mm: float = 0.0) -> dict[str, object]:
    """Give the pieces as the nest command's input: mm, the straight edge along x, half turns allowed."""
    return {
        "units": "mm",
        "gap_mm": gap_mm,
        "pieces": [
            {
                "id": piece.id,
                "quantity": piece.quantity,
                "outline": [list(point) for point in piece.pattern.outline],
                "holes": [[list(point) for point in hole] for hole in piece.pattern.holes],
                "turns_deg": [0, 180],
                "may_flip": piece.may_flip,
            }
            for piece in pieces
        ],
    }
