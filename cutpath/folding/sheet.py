"""A flat pattern taken apart into faces and hinges.

Terminology
-----------
Face: a part of the sheet bounded by cuts and folds; it stays flat.
Hinge: a fold between two faces.
Loose end: an end of a fold inside the sheet, on no cut. Flat lead cannot be folded about such a point: it must be
worked (bossed). The fold is drawn on from there to the nearest cut or fold, as a seam.
Seam: a line between two faces that is neither cut nor folded, across which the lead is worked; the marks of bossed
work are seams too.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from cutpath.tolerances import NODE_MM, POINT_MM
from cutpath.values.pattern import FlatPattern, Fold, MarkKind, Point

Edge = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Hinge:
    """A fold and the faces to its left and right, looking from its start to its end."""

    fold: Fold
    left: int
    right: int


@dataclass(frozen=True, slots=True)
class HingedSheet:
    """Faces of a flat pattern and how they hang together.

    ``seams`` are pairs of faces with worked lead between them, lower number first; ``loose`` names the folds that
    end inside the sheet.
    """

    faces: tuple[Polygon, ...]
    hinges: tuple[Hinge, ...]
    seams: frozenset[tuple[int, int]]
    loose: tuple[str, ...]


def open_sheet(pattern: FlatPattern) -> HingedSheet:
    """Divide a flat pattern along its cuts, folds and seams."""
    cuts = [LineString((*ring, ring[0])) for ring in (pattern.outline, *pattern.holes)]
    cuts += [LineString(snip.points) for snip in pattern.snips]
    folds = [LineString((fold.start, fold.end)) for fold in pattern.folds]
    seams, loose = _seams(pattern, shapely.MultiLineString(cuts))
    noded = shapely.union_all([*cuts, *folds, *seams], grid_size=NODE_MM)
    lead = Polygon(pattern.outline, pattern.holes)
    faces = tuple(
        orient(face)
        for face in shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
        if lead.covers(face.representative_point())
    )
    hinges, worked = _joined(faces, pattern, folds)
    return HingedSheet(faces, hinges, worked, loose)


def _seams(pattern: FlatPattern, cuts: shapely.MultiLineString) -> tuple[list[LineString], tuple[str, ...]]:
    bossing = [mark.points for mark in pattern.marks if mark.kind is MarkKind.BOSSING]
    ends = [(a, b) for fold in pattern.folds for a, b in ((fold.end, fold.start), (fold.start, fold.end))]
    apart = _apart([b for _, b in ends], cuts)
    loose = [end for end, far in zip(ends, apart, strict=True) if far > POINT_MM]
    if not loose and not bossing:
        return [], ()
    names = tuple(
        fold.name
        for fold, (start, end) in zip(pattern.folds, zip(apart[::2], apart[1::2], strict=True), strict=True)
        if max(start, end) > POINT_MM
    )
    # Bossing marks run from a loose end; their other end is drawn on like a fold's.
    corners = shapely.MultiPoint([b for _, b in loose]) if loose else shapely.MultiPoint()
    marked = [(a, b) for line in bossing for a, b in ((line[1], line[0]), (line[-2], line[-1]))]
    free = [
        (a, b)
        for (a, b), far in zip(marked, _apart([b for _, b in marked], cuts), strict=True)
        if far > POINT_MM and not shapely.distance(shapely.Point(b), corners) <= POINT_MM
    ]
    lines = shapely.union(cuts, shapely.MultiLineString([(fold.start, fold.end) for fold in pattern.folds]))
    drawn_on = (_drawn_on(a, b, lines) for a, b in (*loose, *free))
    return [*(LineString(line) for line in bossing), *(line for line in drawn_on if line is not None)], names


def _apart(points: Sequence[Point], cuts: shapely.MultiLineString) -> list[float]:
    """Return the distances of points from the nearest cut."""
    return [float(d) for d in np.atleast_1d(shapely.distance(shapely.points(np.reshape(points, (-1, 2))), cuts))]


def _drawn_on(start: Point, end: Point, lines: BaseGeometry) -> LineString | None:
    """Draw the line from ``start`` to ``end`` on from ``end`` to where it next meets another; None: it never does."""
    x0, y0, x1, y1 = lines.bounds
    far = (x1 - x0 + y1 - y0) / math.dist(start, end)
    beyond = (end[0] + (end[0] - start[0]) * far, end[1] + (end[1] - start[1]) * far)
    met = shapely.get_coordinates(LineString((end, beyond)).intersection(lines))
    away = np.hypot(*(met - end).T)
    away[away <= POINT_MM] = math.inf
    if not np.isfinite(away).any():
        return None
    return LineString((end, tuple(met[np.argmin(away)])))


def _joined(
    faces: Sequence[Polygon], pattern: FlatPattern, folds: Sequence[LineString]
) -> tuple[tuple[Hinge, ...], frozenset[tuple[int, int]]]:
    """Find what joins the faces: an edge shared by two of them lies on a snip, on a fold, or else on a seam."""
    sides: dict[Edge, dict[bool, int]] = {}
    for index, face in enumerate(faces):
        for a, b in _edges(face):
            sides.setdefault((min(a, b), max(a, b)), {})[a < b] = index
    shared = [(edge, side) for edge, side in sides.items() if len(side) == 2]
    middles = np.array([shapely.Point(*np.add(a, b) / 2) for (a, b), _ in shared], dtype=object)
    lines = [*folds, *(LineString(snip.points) for snip in pattern.snips)]
    upon = shapely.distance(middles[:, None], lines) <= POINT_MM if lines else np.zeros((len(shared), 0), dtype=bool)
    hinges: dict[tuple[Fold, int, int], Hinge] = {}
    seams = set()
    for on_line, ((a, b), side) in zip(upon, shared, strict=True):
        if on_line[len(folds) :].any():
            continue
        if not on_line.any():
            seams.add((min(side.values()), max(side.values())))
            continue
        fold = pattern.folds[int(np.argmax(on_line))]
        along = (b[0] - a[0]) * (fold.end[0] - fold.start[0]) + (b[1] - a[1]) * (fold.end[1] - fold.start[1])
        left, right = side[along > 0], side[along <= 0]  # a face lies to the left of its own edges
        hinges[fold, left, right] = Hinge(fold, left, right)
    return tuple(hinges.values()), frozenset(seams)


def _edges(face: Polygon) -> Iterable[Edge]:
    for ring in (face.exterior, *face.interiors):
        yield from pairwise(map(tuple, ring.coords))
