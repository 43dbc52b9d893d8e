"""Blanks made ready for the search: every allowed way to lay each of them, cut into trapezoids.

Terminology
-----------
Form: a blank in one allowed turn, flipped or not; its lower left corner is at (0, 0).
Allowance: half the gap, added all round each form, so that forms may touch. The room on a roll grows by the
same half gap on each side (`Room`).
Trapezoid: a part of a form between two level lines, with one straight side on the left and one on the right.
Tick: the grid on which forms are placed, in mm; file decimals are exact on it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath import sure
from cutpath.errors import Finding, Refused
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.plain import shape_fault
from cutpath.tolerances import FILE_DECIMALS, POINT_MM
from cutpath.values.nest import Blank, NestProblem, Roll
from cutpath.values.pattern import Point, Polyline

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from shapely import Polygon

_Rings = tuple[Polyline, ...]
Way = tuple[float, bool]
"""A turn in degrees, and whether the blank is flipped."""
_ALIKE_DECIMALS = 9  # of mm
_ARC_SEGMENTS = 4  # per quarter turn round a corner
_ARC_SPAN = 1.5  # a chord may span so many segments, since GEOS rounds their number for each corner


@dataclass(frozen=True, slots=True)
class Form:
    """A blank in one allowed position.

    Attributes
    ----------
    blank : int
        Index in the problem.
    turn_deg : float
    flipped : bool
    corner : Point
        Lower left corner of the blank's box once flipped and turned about (0, 0), in mm.
    length, width : int
        Box along x and y with the allowance, in ticks, rounded up.
    trapezoids : array of float, shape (n, 6)
        y0, y1, left x at y0, left x at y1, right x at y0, right x at y1 in mm, with the allowance. Forms that are
        alike share one array.
    """

    blank: int
    turn_deg: float
    flipped: bool
    corner: Point
    length: int
    width: int
    trapezoids: NDArray[np.float64]

    @property
    def area_mm2(self) -> float:
        """Area with the allowance."""
        t = self.trapezoids
        return float(((t[:, 1] - t[:, 0]) * (t[:, 4] + t[:, 5] - t[:, 2] - t[:, 3]) / 2).sum())


@dataclass(frozen=True, slots=True)
class Room:
    """What a kind of roll offers to forms with their allowance, in ticks."""

    roll: Roll
    width: int
    length: int

    @property
    def tick_mm2(self) -> float:
        """Lead in a tick of the roll's length, in mm2."""
        return self.roll.width_mm / TICKS_PER_MM


def ticks_up(mm: float) -> int:
    """Return whole ticks that hold ``mm``, with the slack of `POINT_MM` so that exact sizes stay exact."""
    return math.ceil((mm - POINT_MM) * TICKS_PER_MM)


def ticks_down(mm: float) -> int:
    """Return whole ticks within ``mm``, with the slack of `POINT_MM`."""
    return math.floor((mm + POINT_MM) * TICKS_PER_MM)


def rooms(problem: NestProblem) -> tuple[Room, ...]:
    """Return the room on each kind of roll, in the order of the list."""
    spare = problem.gap_mm - 2 * problem.edge_trim_mm
    return tuple(
        Room(roll, ticks_down(roll.width_mm + spare), ticks_down(roll.length_mm + spare)) for roll in problem.rolls
    )


def place_mm(form: Form, x: int, y: int, problem: NestProblem) -> Point:
    """Return where the blank's origin goes when its form's corner is at (x, y) ticks in a room."""
    return (
        round(x / TICKS_PER_MM + problem.edge_trim_mm - form.corner[0], FILE_DECIMALS + 2),
        round(y / TICKS_PER_MM + problem.edge_trim_mm - form.corner[1], FILE_DECIMALS + 2),
    )


def drawn_mm(extent: int, problem: NestProblem) -> float:
    """Return the length drawn, in mm, when forms reach to ``extent`` ticks along a room."""
    return round(extent / TICKS_PER_MM - problem.gap_mm + 2 * problem.edge_trim_mm, FILE_DECIMALS + 2)


def ways_that_serve(blank: Blank, gap_mm: float, spaces: Sequence[Room]) -> list[Way]:
    """Return the allowed turns, with flips, in which a blank lies inside some room; all of them where none does.

    Long pieces go on no roll crosswise, and what cannot serve would only cost the search its time.
    """
    flips = (False, True) if blank.may_flip else (False,)
    ways = [(turn % 360.0, flipped) for flipped in flips for turn in blank.turns_deg]
    serves: dict[Way, bool] = {}
    for half, flipped in {(turn % 180.0, flipped) for turn, flipped in ways}:
        xs, ys = zip(*turned(blank.outline, half, flipped=flipped), strict=True)
        length, width = (ticks_up(max(along) - min(along) + gap_mm) for along in (xs, ys))
        serves[half, flipped] = any(length <= room.length and width <= room.width for room in spaces)
    return [(turn, flipped) for turn, flipped in ways if serves[turn % 180.0, flipped]] or ways


def forms(problem: NestProblem) -> tuple[Form, ...]:
    """Return every distinct form of every blank that may serve, in the order of blanks and of their turns.

    Raises
    ------
    Refused
        CP409 for an outline that is not a simple shape.
    """
    out: list[Form] = []
    broken: list[Finding] = []
    known: dict[_Rings, _Halves] = {}
    spaces = rooms(problem)
    for index, blank in enumerate(problem.shapes):
        try:
            out += _blank_forms(index, blank, ways_that_serve(blank, problem.gap_mm, spaces), problem.gap_mm / 2, known)
        except ValueError as error:
            broken.append(
                Finding(
                    "CP409", blank.id, str(error),
                    "a closed line that does not cross itself and holds area",
                    "Draw the outline again; holes must lie inside it and apart.",
                )
            )  # fmt: skip
    if broken:
        raise Refused(broken)
    return tuple(out)


@dataclass(frozen=True, slots=True)
class _FormBody:
    """What forms that are alike have in common: the box with the allowance, in mm and in ticks, and trapezoids."""

    box: Point
    length: int
    width: int
    trapezoids: NDArray[np.float64]

    def turned_over(self) -> _FormBody:
        """Return the shape turned by 180 deg."""
        import numpy as np

        long, wide = self.box
        y0, y1, left0, left1, right0, right1 = self.trapezoids.T
        turned = np.column_stack([wide - y1, wide - y0, long - right1, long - right0, long - left1, long - left0])
        return _FormBody(
            self.box, self.length, self.width, turned[np.lexsort((turned[:, 2], turned[:, 1], turned[:, 0]))]
        )

    def like(self, other: _FormBody) -> bool:
        """Tell whether two shapes are the same to within `POINT_MM`."""
        import numpy as np

        return self is other or (
            self.trapezoids.shape == other.trapezoids.shape
            and float(np.abs(self.trapezoids - other.trapezoids).max()) <= POINT_MM
        )


_Halves = tuple[_FormBody, _FormBody]  # as laid, and turned over


def _blank_forms(
    index: int, blank: Blank, ways: Sequence[Way], allowance_mm: float, known: dict[_Rings, _Halves]
) -> list[Form]:
    found: list[Form] = []
    seen: list[_FormBody] = []
    over: dict[Way, tuple[_FormBody, Point]] = {}
    for turn, flipped in ways:
        if (turn, flipped) in over:
            shape, corner = over[turn, flipped]
        else:
            rings, corner, (x1, y1) = _laid(blank, turn, flipped=flipped)
            if rings not in known:
                made = _shape(rings, allowance_mm)
                known[rings] = made, made.turned_over()
            shape, half = known[rings]
            over[turn + 180.0, flipped] = half, (-x1, -y1)
        if not any(shape.like(other) for other in seen):
            seen.append(shape)
            found.append(Form(index, turn, flipped, corner, shape.length, shape.width, shape.trapezoids))
    return found


def _shape(rings: _Rings, allowance_mm: float) -> _FormBody:
    """Make ready what was laid with its corner at (0, 0).

    Raises
    ------
    ValueError
        The outline is not valid.
    """
    from shapely import Polygon, is_valid_reason

    shape = Polygon(rings[0], rings[1:])
    if not shape.is_valid or shape.is_empty:
        raise ValueError(shape_fault(is_valid_reason(shape)))
    grown = _grown(shape, allowance_mm)
    box = grown.bounds[2], grown.bounds[3]
    return _FormBody(box, ticks_up(box[0]), ticks_up(box[1]), trapezoids(grown))


def turned(line: Iterable[Point], turn_deg: float, *, flipped: bool) -> list[Point]:
    """Flip points (x -> -x) if asked and turn them about (0, 0) counter-clockwise, quarter turns exactly."""
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    angle = math.radians(turn_deg)
    cos, sin = exact.get(turn_deg % 360.0, (sure.cos(angle), sure.sin(angle)))
    hand = -1.0 if flipped else 1.0
    return [(hand * x * cos - y * sin, hand * x * sin + y * cos) for x, y in line]


def _laid(blank: Blank, turn_deg: float, *, flipped: bool) -> tuple[_Rings, Point, Point]:
    """Flip and turn the blank and move it to its corner; return its rings, and where that corner was and the far one.

    Rings are rounded so far below `POINT_MM` that it matters to nothing but telling what is alike.
    """
    outline = turned(blank.outline, turn_deg, flipped=flipped)
    xs, ys = zip(*outline, strict=True)
    x0, y0 = min(xs), min(ys)

    def home(line: Sequence[Point]) -> Polyline:
        return tuple((round(x - x0, _ALIKE_DECIMALS), round(y - y0, _ALIKE_DECIMALS)) for x, y in line)

    holes = (home(turned(hole, turn_deg, flipped=flipped)) for hole in blank.holes)
    return (home(outline), *holes), (x0, y0), (max(xs), max(ys))


def _grown(shape: Polygon, allowance_mm: float) -> Polygon:
    """``shape`` with at least the allowance all round, exact at its box; corner at (0, 0)."""
    from shapely import Polygon, affinity, box

    if allowance_mm <= 0.0:
        return shape
    x0, y0, x1, y1 = shape.bounds
    outside = allowance_mm / sure.cos(_ARC_SPAN * math.pi / (4 * _ARC_SEGMENTS))
    grown = shape.buffer(outside, quad_segs=_ARC_SEGMENTS)
    limit = box(x0 - allowance_mm, y0 - allowance_mm, x1 + allowance_mm, y1 + allowance_mm)
    within = grown.intersection(limit)
    assert isinstance(within, Polygon)  # noqa: S101 - an outline grown is in one piece, and so within its box
    return affinity.translate(within, allowance_mm - x0, allowance_mm - y0)


def trapezoids(shape: Polygon) -> NDArray[np.float64]:
    """Cut a shape into trapezoids between level lines.

    Each row is y0, y1, left x at y0, left x at y1, right x at y0, right x at y1. A trapezoid ends only where
    one of its own sides ends, so that far corners do not cut it.
    """
    import numpy as np

    sides: list[tuple[float, float, float, float]] = []
    for ring in (shape.exterior, *shape.interiors):
        points = list(ring.coords)
        for (xa, ya), (xb, yb) in pairwise(points):
            if ya != yb:
                sides.append((xa, ya, xb, yb) if ya < yb else (xb, yb, xa, ya))
    levels = _levels(sorted({y for side in sides for y in (side[1], side[3])}))

    def at(side: int, y: float) -> float:
        xa, ya, xb, yb = sides[side]
        return xa + (xb - xa) * (y - ya) / (yb - ya)

    out: list[tuple[float, float, float, float, float, float]] = []
    standing: dict[tuple[int, int], float] = {}
    for low, high in pairwise(levels):
        middle = (low + high) / 2
        crossed = sorted((at(i, middle), i) for i, side in enumerate(sides) if side[1] < middle < side[3])
        here = {(a[1], b[1]) for a, b in zip(crossed[::2], crossed[1::2], strict=True)}
        ended = [key for key in standing if key not in here]
        out += [_trapezoid(at, key, standing.pop(key), low) for key in ended]
        for key in here:
            standing.setdefault(key, low)
    out += [_trapezoid(at, key, low, levels[-1]) for key, low in standing.items()]
    return np.array(sorted(out), dtype=np.float64)


def _levels(values: list[float]) -> list[float]:
    kept = values[:1]
    for value in values[1:]:
        if value - kept[-1] > POINT_MM:
            kept.append(value)
    return kept


def _trapezoid(
    at: Callable[[int, float], float], key: tuple[int, int], low: float, high: float
) -> tuple[float, float, float, float, float, float]:
    left, right = key
    return low, high, at(left, low), at(left, high), at(right, low), at(right, high)
