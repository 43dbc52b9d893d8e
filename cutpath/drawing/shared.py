"""Lines that neighbours share: run once, by whoever comes first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from cutpath.drawing.overlap import merged, overlaps, segments_of
from cutpath.drawing.toolline import ToolLine, between
from cutpath.tolerances import LEAST_STROKE_MM, OVERLAP_DEPTH_MM


def without_shared(lines: Sequence[ToolLine]) -> list[ToolLine]:
    """Leave out of each line what an earlier one runs along already; a closed line that loses a stretch is open.

    What is left over shorter than `LEAST_STROKE_MM` is dropped.
    """
    segments = []
    owner: list[tuple[int, float]] = []  # the line of each segment, and how far along it the segment begins
    for k, line in enumerate(lines):
        way = 0.0
        for a, b in segments_of(line.points, closed=line.closed):
            segments.append((a, b))
            owner.append((k, way))
            way += math.dist(a, b)
    run: dict[int, list[tuple[float, float]]] = {}
    for o in overlaps(segments, OVERLAP_DEPTH_MM):
        (first, _), (k, way) = owner[o.first], owner[o.second]
        if first != k:
            run.setdefault(k, []).append((way + o.start_mm, way + o.end_mm))
    out: list[ToolLine] = []
    for k, line in enumerate(lines):
        out += _parts(line, run[k]) if k in run else [line]
    return out


def _parts(line: ToolLine, run: Sequence[tuple[float, float]]) -> list[ToolLine]:
    total = line.length_mm
    spans = merged((a - LEAST_STROKE_MM / 2, b + LEAST_STROKE_MM / 2) for a, b in run)
    edges = [0.0, *(e for a, b in spans for e in (a + LEAST_STROKE_MM / 2, b - LEAST_STROKE_MM / 2)), total]
    left = [(a, b) for a, b in pairwise(edges)][::2]
    kept = [between(line.ring, a, b) for a, b in left if b - a > LEAST_STROKE_MM]
    if line.closed and len(kept) > 1 and kept[0][0] == kept[-1][-1]:
        kept[0] = (*kept.pop(), *kept[0][1:])
    return [replace(line, points=points, closed=False, starts=None) for points in kept]
