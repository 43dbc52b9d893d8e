"""One line that a head is to run along: what lies between the strokes of a drawing and the passes of a machine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cutpath.values.drawing import LETTERING, Role
from cutpath.values.pattern import FoldWay, MarkKind, Point, Polyline

_WORDS_APART_MM = 15.0  # from stroke to stroke; in a word of letters 10 mm high it is less


@dataclass(frozen=True, slots=True)
class ToolLine:
    """A line on the sheet for one head.

    Attributes
    ----------
    role, head, piece, name
    points : tuple of Point
        A closed line does not repeat its first point.
    closed : bool
    depth : int
        How many closed cuts lie round it; deeper ones are cut first.
    starts : tuple of int or None
        The corners at which a closed line may be begun, or the ends of an open one (0 as drawn, 1 from its end); None:
        any.
    waste : bool
        It runs in waste, only to bring a blade round.
    tells : FoldWay or MarkKind or None
        What a drawn line says.
    """

    role: Role
    head: str
    piece: str
    name: str
    points: Polyline
    closed: bool
    depth: int = 0
    starts: tuple[int, ...] | None = None
    waste: bool = False
    tells: FoldWay | MarkKind | None = None

    @property
    def ring(self) -> Polyline:
        """The points, with the first repeated when the line is closed."""
        return (*self.points, self.points[0]) if self.closed else self.points

    @property
    def is_lettering(self) -> bool:
        """Tell whether it is a stroke of a letter."""
        return self.name == LETTERING

    @property
    def length_mm(self) -> float:
        """Length of the line."""
        return math.fsum(math.dist(a, b) for a, b in pairwise(self.ring))


def goes_on(line: ToolLine, last: ToolLine) -> bool:
    """Tell whether a line is a stroke of the word of lettering that the last one, which stands before it, is of."""
    return (
        line.is_lettering
        and last.is_lettering
        and line.piece == last.piece
        and math.dist(last.ring[-1], line.points[0]) < _WORDS_APART_MM
    )


def rapid_mm(lines: Sequence[ToolLine], start: Point) -> float:
    """Return the travel with the head up from ``start`` to the first line, and on from the end of each to the next."""
    ends = [start, *(line.ring[-1] for line in lines)]
    return math.fsum(math.dist(at, line.points[0]) for at, line in zip(ends, lines, strict=False))


def from_corner(points: Polyline, corner: int) -> Polyline:
    """Let a closed line begin at another of its corners."""
    return (*points[corner:], *points[:corner])


def between(points: Sequence[tuple[float, float]], start_mm: float, end_mm: float) -> Polyline:
    """Cut the stretch from ``start_mm`` to ``end_mm`` out of an open polyline, measured along it."""
    kept: list[tuple[float, float]] = []
    way = 0.0
    for a, b in pairwise(points):
        size = math.dist(a, b)
        low, high = max(start_mm, way), min(end_mm, way + size)
        if high > low and size:

            def at(
                s: float,
                a: tuple[float, float] = a,
                b: tuple[float, float] = b,
                way: float = way,
                size: float = size,
            ) -> tuple[float, float]:
                t = (s - way) / size
                return (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)

            if not kept:
                kept.append(a if low == way else at(low))
            kept.append(b if high == way + size else at(high))
        way += size
    return tuple(kept)
