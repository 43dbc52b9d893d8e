"""Which hand a piece is of: both hands are mirror images of each other, and lettering is never mirrored."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import MultiLineString, Polygon

from cutpath import sure
from cutpath.folding.gap import Gap, with_leeway
from cutpath.folding.space import Array
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.pattern import FlatPattern, LabelBox, Point
from cutpath.values.piece import Piece
from cutpath.values.survey import Hand


def hand_gaps(piece: Piece, *, second_gusset: bool) -> list[Gap]:
    """Hold a piece to the hand it was ordered in, and its lettering to the inside of its lead.

    ``second_gusset`` tells whether it is the other of two gussets: a mirror image without being of a hand.
    """
    pattern = piece.pattern
    size = float(np.ptp(np.array(pattern.outline), axis=0).max())
    wrong = pattern.mirrored is not (second_gusset if piece.hand is None else piece.hand is Hand.LEFT)
    lead = with_leeway(Polygon(pattern.outline, pattern.holes))
    outside = Polygon(box_corners(pattern.label)).difference(lead)
    folds = MultiLineString([(fold.start, fold.end) for fold in pattern.folds])
    crossed = Polygon(box_corners(pattern.label)).buffer(-FOLD_DEVIATION_MM).intersection(folds).length
    room = min(pattern.label.width_mm, pattern.label.height_mm)
    return [
        Gap(size * wrong, "it is made for the other hand"),
        # Where there is no room, the box is a bare point of 1 mm, and a finding of the drawing says so.
        Gap(float(crossed) if room > 1.0 else 0.0, "its lettering stands on a fold"),
        Gap(math.sqrt(outside.area) if room > 1.0 else 0.0, "its lettering stands off the lead"),
    ]


def mirror_gaps(right: FlatPattern, left: FlatPattern) -> list[Gap]:
    """Hold a left hand to the mirror image of the right one, line by line; the lettering stands in the same place.

    Runs of the two hands may be divided otherwise; then their lap marks differ, and so may the place of the lettering.
    """
    width = max(x for x, _ in right.outline)
    rings = [("outline", right.outline, left.outline)]
    rings += [(f"hole {at}", *pair) for at, pair in enumerate(zip(right.holes, left.holes, strict=False), 1)]
    marks = _compared(_marks(right), _marks(left), width)
    alike = all(gap.mm <= FOLD_DEVIATION_MM for gap in marks)
    if alike:
        rings.append(("lettering", box_corners(right.label), box_corners(left.label)))
    bends = [(fold.angle_deg, fold.way) for fold in right.folds] != [(fold.angle_deg, fold.way) for fold in left.folds]
    return [
        *(Gap(_scattered(_mirrored(a, width), np.array(b)), f"its {what} is no mirror image") for what, a, b in rings),
        *_compared(_lines(right), _lines(left), width),
        Gap(width * bends, "its folds bend differently from the right hand's"),
        Gap(width * (len(right.holes) != len(left.holes)), "its holes are not those of the right hand"),
    ]


_Lines = list[tuple[str, object, Sequence[Point]]]
"""Name, what it is, and points of each line."""


def _lines(pattern: FlatPattern) -> _Lines:
    return [
        *((snip.name, None, snip.points) for snip in pattern.snips),
        *((fold.name, (fold.use, fold.joint, fold.side), (fold.start, fold.end)) for fold in pattern.folds),
        *((station.name, station.what, (station.at,)) for station in pattern.stations),
    ]


def _marks(pattern: FlatPattern) -> _Lines:
    return [(mark.name, (mark.kind, mark.use, mark.side), mark.points) for mark in pattern.marks]


def _compared(right: _Lines, left: _Lines, width_mm: float) -> list[Gap]:
    if [what for _, what, _ in right] != [what for _, what, _ in left]:
        return [Gap(width_mm, "its folds, snips and points are not those of the right hand")]
    return [
        Gap(_apart(_mirrored(a, width_mm), np.array(b)), f"its '{name}' is no mirror image")
        for (name, _, a), (_, _, b) in zip(right, left, strict=True)
    ]


def box_corners(box: LabelBox) -> tuple[Point, ...]:
    """Return the corners of a label box, counter-clockwise from the lower left as it is read."""
    turn = math.radians(box.turn_deg)
    (x, y), along, up = box.corner, (sure.cos(turn), sure.sin(turn)), (-sure.sin(turn), sure.cos(turn))
    return tuple(
        (x + along[0] * a + up[0] * b, y + along[1] * a + up[1] * b)
        for a, b in ((0.0, 0.0), (box.width_mm, 0.0), (box.width_mm, box.height_mm), (0.0, box.height_mm))
    )


def _mirrored(points: Sequence[Point], width_mm: float) -> Array:
    return np.array([(width_mm - x, y) for x, y in points])


def _scattered(one: Array, other: Array) -> float:
    """Return by how much points miss each other, whichever comes first."""
    apart = np.linalg.norm(one[:, None] - other[None], axis=2)
    return float(max(apart.min(axis=0).max(), apart.min(axis=1).max()))


def _apart(one: Array, other: Array) -> float:
    return float(np.abs(one - other).max()) if one.shape == other.shape else float(np.ptp(one, axis=0).max())
