"""The path of a drag knife: its tip follows the line, its pivot is steered.

The tip trails behind the pivot by the blade offset d, so along a straight line the pivot runs d ahead. At a corner
of turn t the tip rests and the pivot swings round it on an arc of radius d and length d |t|. A blade keeps its heading
in the air; where it comes down anew, the pivot swings it round the start before the cut begins.
Without such arcs the heading error p fades only slowly: tan(p/2) = tan(t/2) exp(-s/d) after a way s. Derived.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cutpath import sure
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import Point, Polyline
from cutpath.values.toolpath import ToolMove

_SHALLOW_RAD = math.radians(15)  # a smaller turn is part of a curve; common practice, no source
_STRAIGHT_RAD = 1e-9  # a smaller turn moves no pivot by a micrometre


def with_overcut(line: Polyline, overcut_mm: float) -> Polyline:
    """Run a closed line (its first point repeated) on past its start by ``overcut_mm``."""
    if overcut_mm <= POINT_MM:
        return line
    points = list(line)
    left = min(overcut_mm, math.fsum(math.dist(a, b) for a, b in pairwise(line)))
    for a, b in pairwise(line):
        size = math.dist(a, b)
        if size >= left:
            points.append((a[0] + (b[0] - a[0]) * left / size, a[1] + (b[1] - a[1]) * left / size))
            break
        points.append(b)
        left -= size
    return tuple(points)


def pivot_path(tip: Sequence[Point], offset_mm: float, heading_rad: float) -> tuple[Point, tuple[ToolMove, ...], float]:
    """Return the pivot's start and moves while the tip follows a polyline.

    Parameters
    ----------
    tip : sequence of Point
        At least two points, no two alike in a row.
    offset_mm : float
    heading_rad : float
        In which the blade comes down, counter-clockwise from +x.

    Returns
    -------
    start, moves, heading_rad
        The heading at the end is that of the last straight.
    """

    def pivot(at: Point, heading: float) -> Point:
        return (at[0] + offset_mm * sure.cos(heading), at[1] + offset_mm * sure.sin(heading))

    start = pivot(tip[0], heading_rad)
    moves: list[ToolMove] = []
    for a, b in pairwise(tip):
        wanted = sure.atan2(b[1] - a[1], b[0] - a[0])
        turn = math.remainder(wanted - heading_rad, math.tau)
        if abs(turn) > _STRAIGHT_RAD:
            moves.append(ToolMove(pivot(a, wanted), a, turn > 0, shallow=abs(turn) > _SHALLOW_RAD))
        moves.append(ToolMove(pivot(b, wanted)))
        heading_rad = wanted
    return start, tuple(moves), heading_rad
