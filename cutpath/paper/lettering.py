"""Where a short text stands best on an odd-shaped piece, and how large it may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from cutpath.paper.markup import element, number
from cutpath.plane import bounds_mm
from cutpath.values.pattern import Point, Polyline

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SIZES_MM = (3.4, 3.0, 2.6, 2.2, 1.9)
"""Letter sizes on paper, the best first; 1.9 mm is about 5 1/2 points, the least that reads well."""

LETTER_WIDTH = 0.76
"""Width of a capital or digit as a share of the letter size, in the widest usual bold sans serif."""

CAPITAL_HEIGHT = 0.7
"""Height of a capital as a share of the letter size."""

_STEPS = (24, 12)


@dataclass(frozen=True, slots=True)
class Place:
    """Centre of a text, its size, and whether it reads upwards (turned by 90 degrees) instead of level."""

    centre: Point
    size_mm: float
    upwards: bool


def best_place(
    text: str,
    outline: Polyline,
    holes: Sequence[Polyline],
    lines: Sequence[Polyline],
    window: tuple[float, float],
    *,
    always: bool,
) -> Place | None:
    """Find the largest size and the roomiest place for ``text`` inside a shape and clear of its lines.

    Parameters
    ----------
    outline, holes, lines
        In mm on paper.
    window : tuple of float
        Only the part of the shape between these x counts.
    always : bool
        Where the text does not fit, give the least size about the middle of the shape none the less, inside the window.

    Returns
    -------
    Place or None
        None when the text does not fit, clear of the lines or across them.
    """
    import numpy as np
    import shapely

    x0, y0, x1, y1 = bounds_mm(outline)
    shape: BaseGeometry = shapely.Polygon(outline, holes)
    if x0 < window[0] or x1 > window[1]:
        shape = shape.intersection(shapely.box(window[0], y0, window[1], y1))
    if shape.is_empty:
        return None
    x0, y0, x1, y1 = shape.bounds
    across, down = ((np.arange(n) + 0.5) / n for n in _STEPS)
    grid = np.meshgrid(x0 + across * (x1 - x0), y0 + down * (y1 - y0))
    cx, cy = grid[0].ravel(), grid[1].ravel()
    cut = shapely.MultiLineString([line for line in lines if len(line) > 1])
    shapely.prepare(shape)
    edges: BaseGeometry | None = None  # of shape and lines together; many a text needs only a few places looked at
    for obstacles in (cut, None):
        for size in SIZES_MM:
            along, square = LETTER_WIDTH * size * len(text) / 2, size / 2
            for upwards, (half_x, half_y) in ((False, (along, square)), (True, (square, along))):
                # Only boxes inside that of the shape; where lines count, half a letter away from all of them.
                inside = (x0 < cx - half_x) & (cx + half_x < x1) & (y0 < cy - half_y) & (cy + half_y < y1)
                fit = np.flatnonzero(inside)
                if not fit.size:
                    continue
                x, y = cx[fit], cy[fit]
                boxes = shapely.box(x - half_x, y - half_y, x + half_x, y + half_y)
                held = shapely.contains_properly(shape, boxes)
                if obstacles is not None:
                    held[held] = ~shapely.intersects(obstacles, boxes[held])
                fit = fit[held]
                if not fit.size:
                    continue
                edges = shapely.union(shape.boundary, cut) if edges is None else edges
                room = np.asarray(shapely.distance(shapely.points(cx[fit], cy[fit]), edges))
                best = int(np.argmax(room))
                if obstacles is None or room[best] >= size / 2:
                    return Place((float(cx[fit[best]]), float(cy[fit[best]])), size, upwards)
    if not always:
        return None
    middle, half = shape.representative_point(), LETTER_WIDTH * SIZES_MM[-1] * len(text) / 2
    first, last = window[0] + half, window[1] - half
    within = min(max(middle.x, first), last) if first <= last else middle.x
    return Place((within, middle.y), SIZES_MM[-1], upwards=False)


def lettering(text: str, place: Place, class_: str) -> str:
    """Return the SVG text element for ``text`` at ``place``, centred on its capitals."""
    x, y = place.centre
    shift = place.size_mm * CAPITAL_HEIGHT / 2
    x, y = (x + shift, y) if place.upwards else (x, y + shift)
    return element(
        "text",
        escape(text),
        x=x,
        y=y,
        transform=f"rotate(-90 {number(x)} {number(y)})" if place.upwards else None,
        font_size=place.size_mm,
        text_anchor="middle",
        class_=class_,
    )
