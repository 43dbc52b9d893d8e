"""Where registration marks stand: in sheet that is still whole when they are read, as far apart as it allows.

A roll that was fed on is set to two marks drawn before. A mark in a piece that was cut out meanwhile, or on a cut,
shows nothing, since that lead has moved. So marks keep off every piece of which something was cut; they stand in waste
where that leaves them about as far apart, else in pieces that are still to be cut.

Two marks b apart, each met within e, turn the sheet by up to 2 e / b, which is 2 e r / b at a reach of r. Derived.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations
from typing import TYPE_CHECKING

from cutpath.tolerances import FILE_DECIMALS, POINT_MM
from cutpath.values.machine import MARK_MM
from cutpath.values.pattern import Point, Polyline

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

MARK_WITHIN_MM = 0.25
"""How well a mark is met by eye; common practice, no source."""

_CLEAR_MM = 2.0  # from the end of a mark's arm to a cut; common practice, no source
_LEAST_APART = 1 / 3  # of the roll's width; nearer marks would set nothing
_WASTE_WORTH = 0.8  # marks in waste are taken where they stand so far apart, against those anywhere


def error_mm(apart_mm: float, each_mm: float, reach_mm: float) -> float:
    """Return how far a line ``reach_mm`` away may miss: two marks ``apart_mm`` apart, each met within ``each_mm``."""
    return 2 * each_mm * reach_mm / apart_mm


def cross(middle: Point) -> tuple[Polyline, Polyline]:
    """Return the two strokes of a mark, along the roll and across it."""
    (x, y), arm = middle, MARK_MM / 2
    return ((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))


def placed(
    band: tuple[float, float], width_mm: float, inset_mm: float, cut: Iterable[Polygon], whole: Iterable[Polygon]
) -> tuple[Point, ...]:
    """Return the middles of the two marks of a seam; none where there is no place for two of them.

    Parameters
    ----------
    band : (float, float)
        The stretch of the roll that both settings reach, in mm along it.
    width_mm : float
        Of the roll.
    inset_mm : float
        From the roll's edges to a mark's middle, at least.
    cut : iterable of Polygon
        Pieces of which something is cut before the marks are read.
    whole : iterable of Polygon
        Pieces still to be cut then.
    """
    import shapely

    arm = MARK_MM / 2
    low, high = band[0] + arm + POINT_MM, band[1] - arm - POINT_MM
    if high <= low or width_mm <= 2 * inset_mm:
        return ()
    room: BaseGeometry = shapely.box(low, inset_mm, high, width_mm - inset_mm)
    anywhere = room.difference(_kept_off(cut))
    waste = anywhere.difference(_kept_off(whole))
    best, in_waste = _farthest(anywhere), _farthest(waste)
    chosen = in_waste if _apart(in_waste) >= _WASTE_WORTH * _apart(best) else best
    return chosen if _apart(chosen) >= _LEAST_APART * width_mm else ()


def _kept_off(pieces: Iterable[Polygon]) -> BaseGeometry:
    import shapely

    by = MARK_MM / 2 + _CLEAR_MM
    return shapely.union_all([shapely.Polygon(p.exterior).buffer(by, join_style="mitre") for p in pieces])


def _farthest(region: BaseGeometry) -> tuple[Point, ...]:
    """Return the two points of a region that are farthest apart: corners of its hull."""
    import shapely

    corners = sorted({(float(x), float(y)) for x, y in shapely.get_coordinates(region.convex_hull)})
    return max(combinations(corners, 2), key=lambda pair: round(math.dist(*pair), FILE_DECIMALS), default=())


def _apart(marks: tuple[Point, ...]) -> float:
    return math.dist(*marks) if marks else 0.0
