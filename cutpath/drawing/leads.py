"""Ways into and out of a closed cut, through waste only.

A lead leaves its corner on the waste side, a little to either hand of the line that halves the angle there, so that
the way in and the way out are not the same line. It is taken only where the whole kerf of the lead stays off every
piece, its own and its neighbours', and on the sheet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from cutpath import sure
from cutpath.drawing.toolline import ToolLine
from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.values.drawing import Role
from cutpath.values.machine import Leads
from cutpath.values.pattern import Point

if TYPE_CHECKING:
    from shapely import Geometry

_ASIDE_RAD = math.radians(20)
_LONG_EDGE = 4.0  # an edge longer than so many leads also offers its middle


@dataclass(frozen=True, slots=True)
class Waste:
    """Where leads may run: off the pieces, on a sheet so long and wide in mm."""

    pieces: Sequence[Geometry]
    length_mm: float
    width_mm: float


def lead_points(line: ToolLine, corner: int, leads: Leads) -> tuple[Point, Point]:
    """Return where a closed line's way in begins and its way out ends, for a start at ``corner``.

    Waste lies to the right of an outer cut (counter-clockwise) and of a hole (clockwise) alike.
    """
    points = line.points
    before, here, after = points[corner - 1], points[corner], points[(corner + 1) % len(points)]
    come = sure.atan2(here[1] - before[1], here[0] - before[0])
    go = sure.atan2(after[1] - here[1], after[0] - here[0])
    right = come + math.remainder(go - come, math.tau) / 2 - math.pi / 2

    def off(angle: float, by_mm: float) -> Point:
        return (here[0] + by_mm * sure.cos(angle), here[1] + by_mm * sure.sin(angle))

    return off(right - _ASIDE_RAD, leads.in_mm), off(right + _ASIDE_RAD, leads.out_mm)


def with_middles(line: ToolLine, leads: Leads) -> ToolLine:
    """Add the middle of each long edge as a corner, so that there are more places to begin."""
    points: list[Point] = []
    for a, b in zip(line.points, (*line.points[1:], line.points[0]), strict=True):
        points.append(a)
        if math.dist(a, b) > _LONG_EDGE * (leads.in_mm + leads.out_mm):
            points.append(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
    return replace(line, points=tuple(points))


def lead_starts(
    lines: Sequence[ToolLine], leads: Leads, kerf_mm: float, sheet: Waste
) -> tuple[list[ToolLine], list[Finding]]:
    """Return the lines with the corners at which their leads lie in waste; none is left at all where none is clear.

    Returns
    -------
    lines, findings
        A closed line without a clear corner has ``starts`` (), begins on its own line, and is reported.
    """
    import numpy as np
    import shapely

    out: list[ToolLine] = []
    findings: list[Finding] = []
    tree = shapely.STRtree(sheet.pieces)
    room = shapely.box(-POINT_MM, -POINT_MM, sheet.length_mm + POINT_MM, sheet.width_mm + POINT_MM)
    shapely.prepare(room)
    for line in lines:
        if not line.closed or line.role not in (Role.INNER, Role.OUTER):
            out.append(line)
            continue
        line = with_middles(line, leads)
        ways = []
        for corner, here in enumerate(line.points):
            start, end = lead_points(line, corner, leads)
            ways.append([start, here, end])
        shapes = shapely.linestrings(np.asarray(ways))
        hit = {int(k) for k in tree.query(shapes, predicate="dwithin", distance=kerf_mm / 2 - POINT_MM)[0]}
        on = np.atleast_1d(shapely.contains(room, shapes))
        starts = tuple(k for k in range(len(ways)) if on[k] and k not in hit)
        if not starts:
            findings.append(
                Finding(
                    "CP607",
                    line.piece,
                    f"no waste beside {line.name} for a lead of {leads.in_mm:g} mm",
                    "a clear place in waste beside the cut",
                    "The cut begins on the line itself, with a mark in the edge; widen the gap of the nest for a lead.",
                    Severity.WARNING,
                )
            )
        out.append(replace(line, starts=starts))
    return out, findings
