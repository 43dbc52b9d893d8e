"""Lead cut square across: what every section is drawn with."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from cutpath import sure
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import hatching
from cutpath.paper.ink import Contours, Ink, line
from cutpath.paper.wall_sheet import Elevation, fitted
from cutpath.plane import bounds_mm, to_run_frame
from cutpath.tolerances import FILE_DECIMALS, POINT_MM
from cutpath.values.leadwork import TiltingFillet
from cutpath.values.pattern import FlatPattern, FoldWay, Point, Polyline

WALL_MM, BEYOND_MM, BELOW_MM = 75.0, 60.0, 25.0
"""Wall shown, roof beyond the lead, and wall below it, in mm of the wall."""

_ROOM = (150.0, 110.0)  # on paper
_HATCH = 1.6


def section(
    draw: Callable[[View], Sequence[Ink]], *, title: str, words: str, notes: Iterable[str], smallest: float = 5.0
) -> Elevation:
    """Draw a section at the largest scale at which it fits.

    Parameters
    ----------
    smallest : float
        Scale at which it is still made narrow enough to stand beside another picture.
    """
    return fitted(draw, mirrored=False, title=title, words=words, notes=notes, room=_ROOM, smallest=smallest)


def profile(pattern: FlatPattern, from_deg: float) -> tuple[Point, ...]:
    """Walk down a sheet from its upper edge over its level folds, as it lies when they are folded.

    Parameters
    ----------
    from_deg : float
        Direction of the first part, from x; -90 runs down a wall. A fold forward turns to the left of the way.

    Returns
    -------
    tuple of Point
        From (0, 0) on: the upper edge, each fold, the lower edge.
    """
    _, low, _, top = bounds_mm(to_run_frame(pattern, pattern.outline))
    folds: dict[float, float] = {}  # several folds may lie on one level, as turn-ins on three faces
    for fold in pattern.folds:
        (_, y0), (_, y1) = to_run_frame(pattern, (fold.start, fold.end))
        if abs(y0 - y1) <= POINT_MM:
            folds[round(y0, FILE_DECIMALS)] = fold.angle_deg if fold.way is FoldWay.FORWARD else -fold.angle_deg
    corners, way = [(0.0, 0.0)], from_deg
    for (above, _), (below, bend) in pairwise([(top, 0.0), *sorted(folds.items(), reverse=True), (low, 0.0)]):
        x, y = corners[-1]
        reach = above - below
        corners.append((x + reach * sure.cos(math.radians(way)), y + reach * sure.sin(math.radians(way))))
        way += bend
    return tuple(corners)


def levels(pattern: FlatPattern, low: float, top: float) -> list[float]:
    """Return the levels at which a sheet is folded, from its upper edge ``top`` down to its lower edge ``low``."""
    ends = [to_run_frame(pattern, (f.start, f.end)) for f in pattern.folds]
    return [top, *sorted((a[1] for a, b in ends if abs(a[1] - b[1]) <= POINT_MM), reverse=True), low]


def cut_wall(view: View, low: float, high: float) -> Iterable[Ink]:
    """Hatch the wall where it is cut."""
    from shapely import Polygon

    ring: Polyline = ((-WALL_MM, low), (0.0, low), (0.0, high), (-WALL_MM, high))
    on_paper = view.all(ring)
    yield Contours(tuple(hatching(Polygon(on_paper), _HATCH, 45.0)), "brick")
    yield line("wall-edge", on_paper[1], on_paper[2])


def fillet_in_section(
    view: View, fillet: TiltingFillet | None, foot: Point, slope_deg: float, side: int = 1
) -> Iterable[Ink]:
    """Draw a fillet's section on a roof that rises from ``foot``, to the right or (``side`` -1) to the left."""
    if fillet is None:
        return
    c, s = sure.cos(math.radians(slope_deg)), sure.sin(math.radians(slope_deg))
    run = fillet.height_mm / sure.tan(math.radians(fillet.face_deg))
    corners = ((0.0, 0.0), (run, fillet.height_mm), (fillet.width_mm, 0.0))
    placed = [(fillet.foot_mm + a, b) for a, b in corners]
    ring = [(foot[0] + side * (a * c - b * s), foot[1] + a * s + b * c) for a, b in placed]
    yield line("wood", *view.all(ring), closed=True)


def up_slope(length_mm: float, pitch_deg: float) -> Point:
    """Return how far a length up a slope goes level and plumb."""
    return length_mm * sure.cos(math.radians(pitch_deg)), length_mm * sure.sin(math.radians(pitch_deg))
