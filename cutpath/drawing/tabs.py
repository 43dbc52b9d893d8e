"""Holding tabs: short bridges that hold a piece in the sheet until it is lifted out.

A tab of width w needs a gap of w and the kerf in the tool's way. Tabs keep clear of corners and of the ends of folds
and snips, where the edge has to be clean.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cutpath import sure
from cutpath.drawing.overlap import merged
from cutpath.drawing.toolline import ToolLine, between
from cutpath.errors import Finding, Severity
from cutpath.values.machine import Tabs
from cutpath.values.pattern import Point, Polyline

_CORNER_RAD = math.radians(10)  # a smaller turn is part of a curve


def tab_places(ring: Polyline, tabs: Tabs, kerf_mm: float, keep_off: Sequence[Point]) -> tuple[float, ...]:
    """Return the middles of the tabs of a closed line, in mm along it from its first point, ascending.

    Parameters
    ----------
    ring : tuple of Point
        Its first point repeated.
    tabs : Tabs
    kerf_mm : float
    keep_off : sequence of Point
        Ends of folds and snips; those near the line count.

    Returns
    -------
    tuple of float
        As many as the spacing asks for, or fewer where there is no room.
    """
    sizes = [math.dist(a, b) for a, b in pairwise(ring)]
    total = math.fsum(sizes)
    keep = (tabs.width_mm + kerf_mm) / 2 + tabs.clear_mm
    closed = _closed(ring, sizes, keep, keep_off, kerf_mm)
    free = [(a, b) for a, b in _gaps(closed, total) if b > a]
    wanted = max(tabs.least, math.ceil(total / tabs.spacing_mm))
    places: list[float] = []
    for k in range(wanted):
        ideal = (k + 0.5) * total / wanted
        best = min((min(max(ideal, a), b) for a, b in free), key=lambda s: abs(s - ideal), default=None)
        if best is None:
            break
        if not places or best - places[-1] >= tabs.width_mm + kerf_mm + 2 * tabs.clear_mm:
            places.append(best)
    return tuple(places)


def _closed(
    ring: Polyline, sizes: Sequence[float], keep: float, keep_off: Sequence[Point], kerf_mm: float
) -> list[tuple[float, float]]:
    """Return the stretches along the line where the middle of a tab may not stand; the start is one of them."""
    total = math.fsum(sizes)
    shut = [(0.0, keep), (total - keep, total)]
    way = 0.0
    near = keep + kerf_mm
    for k, (a, b) in enumerate(pairwise(ring)):
        before = ring[k - 1] if k else ring[-2]
        turn = math.remainder(
            sure.atan2(b[1] - a[1], b[0] - a[0]) - sure.atan2(a[1] - before[1], a[0] - before[0]), math.tau
        )
        if abs(turn) > _CORNER_RAD:
            shut.append((way - keep, way + keep))
        size = sizes[k]
        for p in keep_off:
            along = ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / size
            foot = min(max(along, 0.0), size)
            at = (a[0] + (b[0] - a[0]) * foot / size, a[1] + (b[1] - a[1]) * foot / size)
            if math.dist(at, p) <= near:
                shut.append((way + foot - keep, way + foot + keep))
        way += size
    return merged(shut)


def _gaps(shut: Sequence[tuple[float, float]], total: float) -> list[tuple[float, float]]:
    edges = [0.0, *(e for span in shut for e in span), total]
    return [(edges[i], edges[i + 1]) for i in range(0, len(edges), 2)]


def with_tabs(
    line: ToolLine, tabs: Tabs, kerf_mm: float, keep_off: Sequence[Point]
) -> tuple[list[Polyline], list[Finding]]:
    """Break a closed line, from its first point round to it again, into the stretches between its tabs."""
    places = tab_places(line.ring, tabs, kerf_mm, keep_off)
    findings = []
    if len(places) < tabs.least:
        findings.append(
            Finding(
                "CP608",
                line.piece,
                f"room for {len(places)} of {tabs.least} holding tabs on {line.name}",
                f"edges clear of corners and folds by {tabs.clear_mm:g} mm",
                "Hold this piece down another way until it is cut free.",
                Severity.WARNING,
            )
        )
    half = (tabs.width_mm + kerf_mm) / 2
    edges = [0.0, *(e for s in places for e in (s - half, s + half)), line.length_mm]
    return [between(line.ring, edges[i], edges[i + 1]) for i in range(0, len(edges), 2)], findings
