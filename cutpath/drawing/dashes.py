"""Dash patterns drawn as strokes, so that one pen tells a fold back, a fold forward, a water line and a lap apart.

The patterns are those of the table of looks in kind, and longer, for a pen on lead.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

from cutpath.drawing.toolline import between
from cutpath.values.pattern import FoldWay, MarkKind, Polyline

_WATER: Final = (25.0, 4.0, 2.0, 4.0)
DASHES_MM: Final[dict[FoldWay | MarkKind, tuple[float, ...]]] = {
    FoldWay.BACK: (15.0, 5.0),
    FoldWay.FORWARD: (15.0, 4.0, 2.0, 4.0, 2.0, 4.0),
    MarkKind.LAP: (2.0, 4.0),
    MarkKind.WATER_LINE: _WATER,
    MarkKind.BOSSING: _WATER,
    MarkKind.ROLL: _WATER,
    MarkKind.CENTRE: _WATER,
}
"""Dash, gap, dash, ... in mm; a shop that wants others draws them itself (ours, no source)."""


def dashed(line: Polyline, tells: FoldWay | MarkKind) -> list[Polyline]:
    """Break a line into its dashes, stretched a little so that it begins and ends with a whole first one.

    A line too short for two of these stays whole, so that its ends are never in doubt.
    """
    pattern = DASHES_MM[tells]
    total = math.fsum(math.dist(a, b) for a, b in pairwise(line))
    period, first = math.fsum(pattern), pattern[0]
    count = round((total - first) / period)
    if count < 1:
        return [line]
    scale = total / (count * period + first)
    out: list[Polyline] = []
    way = 0.0
    for size, drawn in [*((size, k % 2 == 0) for _ in range(count) for k, size in enumerate(pattern)), (first, True)]:
        if drawn:
            out.append(between(line, way, min(way + size * scale, total)))
        way += size * scale
    return out
