"""Plain shapes that are told shorter than by lettered points: a rectangle, an ellipse, a curve by its offsets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, fsum, sqrt

from cutpath import sure
from cutpath.plane import distance_mm
from cutpath.tolerances import CURVE_MARK_MM, CURVE_TURN_DEG, ONE_MARK_MM, STRAIGHT_DEG
from cutpath.values.pattern import Point

_FEWEST = 3
"""Points in a row that bend like a curve before they are called one."""

_ROUND = 8
"""Points of a ring before it can be called an ellipse."""


@dataclass(frozen=True, slots=True)
class Ellipse:
    """An ellipse whose axes lie along the straight edge and square to it: its centre, and the two axes whole."""

    along_mm: float
    square_mm: float
    along_axis_mm: float
    square_axis_mm: float


def is_rectangle(ring: Sequence[Point], length_mm: float, width_mm: float) -> bool:
    """Tell whether a ring is the square-cornered blank itself."""
    count = len(ring)
    bent = [at for i, at in enumerate(ring) if abs(turn_deg(ring[i - 1], at, ring[(i + 1) % count])) > STRAIGHT_DEG]
    corners = ((0.0, 0.0), (length_mm, 0.0), (length_mm, width_mm), (0.0, width_mm))
    return len(bent) == len(corners) and all(
        any(distance_mm(at, corner) < ONE_MARK_MM for at in bent) for corner in corners
    )


def ellipse_of(ring: Sequence[Point]) -> Ellipse | None:
    """Return the ellipse on which all points of a ring lie, as near as a curve is marked; None where there is none.

    Its axes are found by least squares on x^2 / a^2 + y^2 / b^2 = 1 about the middle of the points.
    """
    if len(ring) < _ROUND:
        return None
    x0, y0 = fsum(x for x, _ in ring) / len(ring), fsum(y for _, y in ring) / len(ring)
    squares = [((x - x0) * (x - x0), (y - y0) * (y - y0)) for x, y in ring]
    uu, vv = fsum(u * u for u, _ in squares), fsum(v * v for _, v in squares)
    uv, u1, v1 = fsum(u * v for u, v in squares), fsum(u for u, _ in squares), fsum(v for _, v in squares)
    det = uu * vv - uv * uv
    if det <= 0.0:
        return None
    p, q = (u1 * vv - v1 * uv) / det, (v1 * uu - u1 * uv) / det
    if p <= 0.0 or q <= 0.0:
        return None
    off = max(abs(sqrt(u + v) * (1.0 - 1.0 / sqrt(p * u + q * v))) for u, v in squares)
    return Ellipse(x0, y0, 2.0 / sqrt(p), 2.0 / sqrt(q)) if off <= CURVE_MARK_MM else None


def curve_runs(ring: Sequence[Point], kept: frozenset[Point]) -> list[list[Point]]:
    """Return the stretches of a ring that bend as curves do, each as its marked points in the order of the ring."""
    count = len(ring)
    turns = [abs(turn_deg(ring[i - 1], ring[i], ring[(i + 1) % count])) for i in range(count)]
    bends = [STRAIGHT_DEG < turn < CURVE_TURN_DEG for turn in turns]
    # Where a curve changes from one way to the other it is straight for a moment.
    for i in range(count):
        bends[i] = bends[i] or (
            turns[i] <= STRAIGHT_DEG and bends[i - 1] and any(bends[(i + k) % count] for k in (1, 2))
        )
    first = next((i for i in range(count) if not bends[i]), 0)
    runs: list[list[Point]] = [[]]
    for i in (*range(first, count), *range(first)):
        if not bends[i]:
            runs.append([])
        elif ring[i] in kept:
            runs[-1].append(ring[i])
    return [run for run in runs if len(run) >= _FEWEST]


def turn_deg(a: Point, b: Point, c: Point) -> float:
    """Return by how much a line from ``a`` by ``b`` to ``c`` turns at ``b``, to the left positive."""
    (ux, uy), (vx, vy) = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
    return degrees(sure.atan2(ux * vy - uy * vx, ux * vx + uy * vy))
