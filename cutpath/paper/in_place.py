"""Lengths of lead in their places on an unrolled wall: what shows of them, their laps, folds and numbers."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath import sure
from cutpath.paper.brickwork import View, points_of
from cutpath.paper.dimensions import ROW, between, hatching, readable_deg, width_mm
from cutpath.paper.fixing_marks import fixing_notes, fixing_signs
from cutpath.paper.ink import Contours, Ink, Words, line
from cutpath.paper.lettering import CAPITAL_HEIGHT, best_place
from cutpath.paper.text import millimetres
from cutpath.plane import Line, bounds_mm, moved, to_run_frame, turned
from cutpath.tolerances import POINT_MM
from cutpath.values.fixing import Fixing
from cutpath.values.pattern import Fold, Point, Polyline
from cutpath.values.piece import Piece

if TYPE_CHECKING:
    from shapely import LineString, Polygon
    from shapely.geometry.base import BaseGeometry

EDGE_MM = 0.05
"""Points nearer than this to a line of the wall count as on it, far below what a picture shows."""

_OVERSHOOT_MM = 0.01  # folds are drawn out this far so that they part the sheet where they end on its edge
_HATCH = 1.3
_SMALLEST, _READABLE, _LARGEST = 1.9, 2.4, 3.2  # letters of a number on paper
_TO_HEIGHTS, _BOLD = 3.9, 1.14  # from a return to the joints' heights, in mm; by how much bold letters are wider


@dataclass(frozen=True, slots=True)
class OnWall:
    """One length in its place: what of it shows on the unrolled wall, and its reach along the edge at the bottom."""

    piece: Piece
    shown: Polygon
    folds: tuple[Fold, ...]
    start_mm: float
    end_mm: float


def on_wall(piece: Piece, turn_deg: float, inside: Point) -> OnWall:
    """Put a length in its place.

    Parameters
    ----------
    turn_deg : float
        From the run frame to the wall frame: the pitch of the roof or the slope of the chase.
    inside : Point
        A point of the wall frame on the part that lies on the wall.
    """
    from shapely import LineString

    pattern = piece.pattern

    def wall(points: Polyline) -> Polyline:
        return turned(to_run_frame(pattern, points), turn_deg)

    folds = tuple(replace(f, start=ends[0], end=ends[1]) for f in pattern.folds for ends in [wall((f.start, f.end))])
    shown = _face(wall(pattern.outline), folds, [wall(s.points) for s in pattern.snips], inside)
    along = [u for u, v in turned(points_of(shown.exterior), -turn_deg) if abs(v) <= EDGE_MM]
    near = shown.buffer(EDGE_MM)  # a fold across a cover lies on the roof and is not seen on the wall
    folds = tuple(fold for fold in folds if near.covers(LineString((fold.start, fold.end))))
    return OnWall(piece, shown, folds, min(along), max(along))


def laid_open(piece: Piece, turn_deg: float = 0.0) -> OnWall:
    """Put a whole sheet in its place, turned into one plane; ``turn_deg`` as on a wall."""
    from shapely import Polygon

    pattern = piece.pattern
    outline = to_run_frame(pattern, pattern.outline)
    folds = tuple(
        replace(f, start=ends[0], end=ends[1])
        for f in pattern.folds
        for ends in [turned(to_run_frame(pattern, (f.start, f.end)), turn_deg)]
    )
    along = [x for x, _ in outline]
    return OnWall(piece, Polygon(turned(outline, turn_deg)), folds, min(along), max(along))


def carried(place: OnWall, dx_mm: float, dy_mm: float) -> OnWall:
    """Return a length moved on the wall; its reach along the edge stays as it was counted."""
    from shapely.affinity import translate

    folds = tuple(replace(f, start=a, end=b) for f in place.folds for a, b in [moved((f.start, f.end), dx_mm, dy_mm)])
    return replace(place, shown=translate(place.shown, dx_mm, dy_mm), folds=folds)


def _face(outline: Polyline, folds: Sequence[Fold], cuts: Sequence[Polyline], inside: Point) -> Polygon:
    """Return the part of a sheet that lies on the wall about a point of it, and on the next face over plumb folds."""
    from shapely import LineString, Point, Polygon, unary_union
    from shapely.ops import polygonize

    lines = [LineString((*outline, outline[0]))]
    lines += [_drawn_out((f.start, f.end)) for f in folds] + [_drawn_out(cut) for cut in cuts]
    parts = list(polygonize(unary_union(lines, grid_size=POINT_MM)))
    shown = [next(part for part in parts if part.covers(Point(inside)))]
    for fold in folds:
        (x0, y0), (x1, y1) = fold.start, fold.end
        if abs(x1 - x0) <= POINT_MM:
            beside = [Point(x0 + dx, (y0 + y1) / 2) for dx in (-EDGE_MM, EDGE_MM)]
            shown += [part for part in parts if part not in shown and any(part.covers(at) for at in beside)]
    whole = unary_union(shown)
    assert isinstance(whole, Polygon)  # noqa: S101 - faces that share a fold are one shape
    return whole


def _drawn_out(points: Polyline) -> LineString:
    from shapely import LineString

    first, last = points[:2], points[-2:]

    def beyond(a: Point, b: Point) -> Point:
        size = math.hypot(b[0] - a[0], b[1] - a[1])
        return Line(b, (b[0] - a[0]) / size, (b[1] - a[1]) / size).point(_OVERSHOOT_MM)

    return LineString((beyond(first[1], first[0]), *points[1:-1], beyond(last[0], last[1])))


def beyond_arris(shape: Polygon) -> Polygon:
    """Return the part of a shape on the face beyond the lower arris, x < 0."""
    from shapely import box

    x0, y0, _, y1 = shape.bounds
    return largest(shape.intersection(box(x0, y0, 0.0, y1)))


def largest(shape: BaseGeometry) -> Polygon:
    """Return the largest polygon among the parts of a shape; lines and points that cutting has left do not count."""
    from shapely import Polygon

    return max((part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon)), key=lambda p: p.area)


def lead_in_place(view: View, placed: Sequence[OnWall]) -> Iterable[Ink]:
    """Draw lengths in fitting order, each over the one before, with their laps hatched."""
    below = None
    for place in placed:
        known = (("piece", place.piece.id),)
        yield Contours((view.all(points_of(place.shown.exterior)[:-1]),), "lead", closed=True, data=known)
        if below is not None:
            lap = below.shown.intersection(place.shown)
            lines = tuple(view.all(ends) for ends in hatching(lap, _HATCH * view.scale, -45.0))
            hidden = below.shown.boundary.intersection(place.shown.buffer(-EDGE_MM))
            edges = tuple(view.all(points_of(part)) for part in getattr(hidden, "geoms", [hidden]) if part.length)
            yield Contours(lines, "lap-hatch")
            if edges:
                yield Contours(edges, "hidden")
        below = place


def fixings_in_place(view: View, placed: Sequence[OnWall], seen: Callable[[Point], Point]) -> list[Ink]:
    """Draw what holds the lengths, as far as its place shows; what holds two lengths at a lap is drawn once.

    Parameters
    ----------
    seen : callable
        Place on the wall of a point of the run frame.
    """
    from shapely import Point as Spot

    shown: dict[tuple[str, int, int], Fixing] = {}
    for place in placed:
        near = place.shown.buffer(EDGE_MM)
        for fixing in place.piece.fixings:
            at = seen(to_run_frame(place.piece.pattern, (fixing.at,))[0])
            if near.covers(Spot(at)):
                shown.setdefault((fixing.kind.value, round(at[0]), round(at[1])), replace(fixing, at=at))
    return list(fixing_signs(shown.values(), view.at))


def notes_on_fixings(placed: Sequence[OnWall]) -> list[str]:
    """Return the notes that say what the signs of fixings mean, if there are any."""
    return fixing_notes(fixing for place in placed for fixing in place.piece.fixings)


def notes_on_rounding(placed: Sequence[OnWall]) -> list[str]:
    """Return a note where lengths and laps of a run, as they are written, do not come to the run."""
    laps = [low.end_mm - high.start_mm for low, high in pairwise(placed)]
    if not laps:
        return []
    lengths = [place.end_mm - place.start_mm for place in placed]
    written = [math.fsum(float(millimetres(size)) for size in sizes) for sizes in (lengths, laps)]
    adds_up = written[0] - written[1] == float(millimetres(placed[-1].end_mm - placed[0].start_mm))
    return [] if adds_up else ["each length and each lap is rounded by itself"]


def seams(view: View, placed: Sequence[OnWall]) -> Iterable[Ink]:
    """Draw every fold once: plumb ones as an arris, all others thick."""
    seen = set()
    for place in placed:
        for fold in place.folds:
            ends = view.all((fold.start, fold.end))
            class_ = "arris" if abs(fold.start[0] - fold.end[0]) <= POINT_MM else "seam"
            key = (class_, tuple((round(x, 3), round(y, 3)) for x, y in ends))
            if key not in seen:
                seen.add(key)
                yield line(class_, *ends, fold=fold.name)


def number_along(view: View, piece: Piece, middle: Point, slope_deg: float, room_mm: float) -> Words:
    """Letter a piece's number about a point of the wall, along a slope, no higher than ``room_mm`` of wall allows."""
    way = view.way((sure.cos(math.radians(slope_deg)), sure.sin(math.radians(slope_deg))))
    turn = readable_deg(math.degrees(sure.atan2(way[1], way[0])))
    size = max(_SMALLEST, min(_LARGEST, 0.6 * room_mm / view.scale))
    down, (x, y) = 0.35 * size, view.at(middle)
    spot = (x - sure.sin(math.radians(turn)) * down, y + sure.cos(math.radians(turn)) * down)
    return Words(piece.id, spot, "id", size, "middle", turn)


def clear_of_laps(placed: Sequence[OnWall], index: int) -> tuple[float, float]:
    """Return the stretch of a length that is no lap; all of it where nothing is left."""
    place = placed[index]
    start = max([place.start_mm, *(p.end_mm for p in placed[:index])])
    end = min([place.end_mm, *(p.start_mm for p in placed[index + 1 :])])
    return (start, end) if end > start else (place.start_mm, place.end_mm)


def number_on(view: View, piece: Piece, shape: Polygon, arris: float, room: float | None = None) -> Iterable[Ink]:
    """Letter a piece's number where it stands best on a shape of the wall; above it where it would be too small.

    Above it the number keeps to the shape's side of ``arris``, a place across the paper, and is smaller where it would
    be longer than ``room``; without it, where it would reach the heights of the joints beyond.
    """
    outline = view.all(points_of(shape.exterior)[:-1])
    left, top, right, _ = bounds_mm(outline)
    at = best_place(piece.id, outline, (), (), (left, right), always=False)
    if at is None or at.size_mm < _READABLE:
        middle = (left + right) / 2
        yield line("guide", (middle, top - 2.6), (middle, top + 1.2))
        room = room or right - left + _TO_HEIGHTS
        size = max(_SMALLEST, min(_READABLE, _READABLE * room / (_BOLD * width_mm(piece.id, _READABLE))))
        if middle < arris:
            yield Words(piece.id, (right - 0.6, top - 3.0), "id", size, "end")
        else:
            yield Words(piece.id, (left + 0.6, top - 3.0), "id", size, "start")
        return
    x, y = at.centre
    shift = at.size_mm * CAPITAL_HEIGHT / 2
    spot = (x + shift, y) if at.upwards else (x, y + shift)
    yield Words(piece.id, spot, "id", at.size_mm, "middle", -90.0 if at.upwards else 0.0)


def rows(
    view: View, placed: Sequence[OnWall], stops: Sequence[Point], edge: Callable[[float], Point], out: Point
) -> Iterable[Ink]:
    """Dimension laps, lengths with their numbers, and the faces between arrises, shorter ones nearer to the lead.

    Parameters
    ----------
    stops : sequence of Point
        Ends and arrises on the wall.
    edge : callable
        Place on the wall of a distance along the edge at the bottom.
    out : Point
        Unit vector on paper, away from the lead.
    """

    def off(row: int) -> Point:
        return out[0] * row * ROW, out[1] * row * ROW

    def faces(row: int) -> Iterable[Ink]:
        for a, b in pairwise(stops):
            if math.dist(a, b) > POINT_MM:
                yield from between(view.at(a), view.at(b), off(row), millimetres(math.dist(a, b)))

    single = len(placed) == 1
    chain = len(stops) > 2 and math.dist(stops[0], stops[-1]) > math.dist(*stops[1:3]) + POINT_MM
    if single and chain:
        yield from faces(1)
    for low, high in pairwise(placed):
        lap = f"lap {millimetres(low.end_mm - high.start_mm)}"
        yield from between(view.at(edge(high.start_mm)), view.at(edge(low.end_mm)), off(1), lap)
    for i, place in enumerate(placed):
        figure = f"{place.piece.id}: {millimetres(place.end_mm - place.start_mm)}"
        ends = view.at(edge(place.start_mm)), view.at(edge(place.end_mm))
        yield from between(*ends, off(1 + chain if single else 2 + i % 2), figure)
    if not single:
        yield from faces(4 if placed else 2)
