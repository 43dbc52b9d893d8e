"""A tangential knife that the file turns: it follows a line, and is lifted and turned in the air at sharp corners.

A blade turned in the sheet tears it. So a way is broken at every corner over the profile's angle; at smaller ones, such
as those of a curve's chords, the blade turns where it stands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cutpath import sure
from cutpath.tolerances import LEAST_STROKE_MM
from cutpath.values.pattern import Point, Polyline


def heading_deg(a: Point, b: Point) -> float:
    """Return the heading from one point to another, counter-clockwise from +x."""
    return math.degrees(sure.atan2(b[1] - a[1], b[0] - a[0]))


def turn_deg(before_deg: float, after_deg: float) -> float:
    """Return the shorter turn from one heading to another, from -180 to 180."""
    return math.remainder(after_deg - before_deg, 360.0)


def broken(way: Polyline, over_deg: float) -> list[Polyline]:
    """Break a way at every corner that turns by more than ``over_deg``; stubs that cannot be run are no edges of it."""
    way = _without_stubs(way)
    starts = [0]
    for k, ((a, b), (c, d)) in enumerate(pairwise(pairwise(way)), 1):
        if abs(turn_deg(heading_deg(a, b), heading_deg(c, d))) > over_deg:
            starts.append(k)
    return [way[a : b + 1] for a, b in pairwise([*starts, len(way) - 1])]


def _without_stubs(way: Polyline) -> Polyline:
    """Return a way without corners that stand closer to the one before than `LEAST_STROKE_MM`; its ends stay."""
    kept = [way[0]]
    for point in way[1:-1]:
        if math.dist(kept[-1], point) > LEAST_STROKE_MM:
            kept.append(point)
    while len(kept) > 1 and math.dist(kept[-1], way[-1]) <= LEAST_STROKE_MM:
        kept.pop()
    return (*kept, way[-1])


def lifted_at_corners(
    stretches: Sequence[tuple[Polyline, Polyline]], over_deg: float
) -> list[tuple[Polyline, Polyline]]:
    """Return the stretches broken at sharp corners, what is run beside what of it is the line.

    An overcut is left out where it would turn a sharp corner: there each edge is cut from end to end by itself.
    """
    return [
        pair for way, kept in stretches for pair in zip(broken(way, over_deg), broken(kept, over_deg), strict=False)
    ]
