"""Plates under posts against the square that was ordered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cutpath.folding.claim import Claims, InSpace
from cutpath.folding.gap import Gap, corners_at
from cutpath.recheck.second import UNLISTED, Second
from cutpath.values.pattern import PartKind

if TYPE_CHECKING:
    from cutpath.families.plinth import Plinth


def _gaps(plinth: Plinth, piece: InSpace) -> list[Gap]:
    a = plinth.side_mm
    square = [(0.0, 0.0), (a, 0.0), (a, a), (0.0, a)]
    return [corners_at(face, square, "the plate misses its size") for face in piece.faces]


CLAIMS = Claims(gaps=_gaps)
SECOND = Second(
    "plinth",
    longest=UNLISTED,
    sizes=(("side", "side_mm", "plinth_side"),),
    parts=lambda _: {PartKind.BASE: 1},
)
