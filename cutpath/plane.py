"""Plane geometry on bare tuples: points, lines, rigid moves and mirror images.

Coordinates are millimetres, angles degrees counter-clockwise from +x unless a name says otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cutpath import sure
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import FlatPattern, Point, Polyline


@dataclass(frozen=True, slots=True)
class Line:
    """An endless line through ``at`` in direction ``(dx, dy)``; the direction need not have unit length."""

    at: Point
    dx: float
    dy: float

    def point(self, t: float) -> Point:
        """Return ``at + t * (dx, dy)``."""
        return (self.at[0] + t * self.dx, self.at[1] + t * self.dy)

    def meet(self, other: Line) -> Point:
        """Return the point common to both lines.

        Raises
        ------
        ZeroDivisionError
            When the lines are parallel.
        """
        cross = self.dx * other.dy - self.dy * other.dx
        ex, ey = other.at[0] - self.at[0], other.at[1] - self.at[1]
        return self.point((ex * other.dy - ey * other.dx) / cross)

    def moved_left(self, distance_mm: float) -> Line:
        """Return the parallel line ``distance_mm`` to the left of the direction."""
        size = math.hypot(self.dx, self.dy)
        shift = (-self.dy / size * distance_mm, self.dx / size * distance_mm)
        return Line((self.at[0] + shift[0], self.at[1] + shift[1]), self.dx, self.dy)


def distance_mm(a: Point, b: Point) -> float:
    """Return the straight distance between two points."""
    return math.hypot(b[0] - a[0], b[1] - a[1])


def same_point(a: Point, b: Point) -> bool:
    """Tell whether two points are one within `POINT_MM`."""
    return distance_mm(a, b) <= POINT_MM


def signed_area_mm2(ring: Sequence[Point]) -> float:
    """Return the area of an open ring; positive when it runs counter-clockwise."""
    total = 0.0
    for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], ring[0]), strict=True):
        total += x0 * y1 - x1 * y0
    return total / 2


def bounds_mm(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """Return ``(min x, min y, max x, max y)``."""
    found = points if isinstance(points, list | tuple) else list(points)
    xs, ys = [x for x, _ in found], [y for _, y in found]
    return min(xs), min(ys), max(xs), max(ys)


def moved(points: Iterable[Point], dx_mm: float, dy_mm: float) -> Polyline:
    """Return the points shifted by ``(dx_mm, dy_mm)``."""
    return tuple([(x + dx_mm, y + dy_mm) for x, y in points])


def mirrored(points: Iterable[Point]) -> Polyline:
    """Return the mirror image in the y axis, x -> -x, in the same order."""
    return tuple((-x if x else 0.0, y) for x, y in points)


def turned(points: Iterable[Point], turn_deg: float) -> Polyline:
    """Return the points turned counter-clockwise about (0, 0); quarter turns are exact."""
    c, s = _cos_sin(turn_deg)
    return tuple([(x * c - y * s, x * s + y * c) for x, y in points])


@lru_cache(maxsize=256)
def _cos_sin(turn_deg: float) -> tuple[float, float]:
    quarters, rest = divmod(turn_deg % 360, 90)
    if rest == 0:
        return ((1, 0), (0, 1), (-1, 0), (0, -1))[int(quarters)]
    return sure.cos(math.radians(turn_deg)), sure.sin(math.radians(turn_deg))


def to_run_frame(pattern: FlatPattern, points: Polyline) -> Polyline:
    """Carry points of the pattern frame back into the right-handed run frame."""
    if pattern.mirrored:
        points = moved(mirrored(points), bounds_mm(pattern.outline)[2], 0.0)
    return moved(points, *pattern.run_offset)
