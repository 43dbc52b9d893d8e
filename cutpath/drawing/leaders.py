"""Numbers of pieces too small for letters, written into the waste beside them with a line that leads to the piece.

They belong to the sheet, not to the piece: a machine that runs the roll frame by frame draws them as far as it reaches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cutpath.drawing.lettering import GRID, letter, text_width_mm
from cutpath.plane import bounds_mm
from cutpath.values.pattern import Point, Polyline

if TYPE_CHECKING:
    from shapely import Geometry

HEIGHTS_MM = (5.0, 3.5)
_CLEAR_MM = 1.0  # from every cut: more than a knife's way off its line
_AWAY_MM = (2.0, 6.0, 12.0, 25.0, 50.0)  # from the piece, tried nearest first
_ALONG = 5  # places tried along each side


@dataclass(frozen=True, slots=True)
class Bare:
    """A copy of a piece as it lies on the roll, which bears no letters, and what is to be written beside it."""

    piece: str
    text: str
    outline: Polyline


@dataclass(frozen=True, slots=True)
class Led:
    """Letters in the waste and the line from them to their piece."""

    piece: str
    letters: tuple[Polyline, ...]
    line: Polyline


def led(bare: Sequence[Bare], outlines: Sequence[Polyline], kept: Sequence[Polyline], size: Point) -> list[Led]:
    """Write beside each bare piece where the waste has room; those for which it has none are left out.

    Parameters
    ----------
    bare : sequence of Bare
    outlines : sequence of Polyline
        Of all pieces on the sheet, the bare ones too.
    kept : sequence of Polyline
        Offcuts to keep, on which nothing is written.
    size : Point
        Length and width of the sheet in mm; its lower left corner is (0, 0).
    """
    import shapely

    if not bare:
        return []
    shapes = shapely.polygons([shapely.linearrings(ring) for ring in (*outlines, *kept)])
    sheet = shapely.box(_CLEAR_MM, _CLEAR_MM, size[0] - _CLEAR_MM, size[1] - _CLEAR_MM)
    free = sheet.difference(shapely.union_all(shapely.buffer(shapes, _CLEAR_MM)))
    tree = shapely.STRtree(shapes)
    found: list[Led] = []
    for piece in bare:
        shape = shapely.Polygon(piece.outline)
        for at, upwards, height in _places(piece, free):
            wide = text_width_mm(piece.text, height)
            box = _box(at, wide, height, upwards=upwards)
            line = shapely.shortest_line(box, shape)
            crossed = [k for k in tree.query(line, predicate="intersects") if shapes[k].intersection(line).length > 0]
            if not crossed:
                x, y = at
                letters = tuple(
                    tuple((x + height - v, y + u) if upwards else (x + u, y + v) for u, v in stroke)
                    for stroke in letter(piece.text, height)
                )
                found.append(Led(piece.piece, letters, tuple((p[0], p[1]) for p in line.coords)))
                free = free.difference(shapely.union_all([box, line]).buffer(_CLEAR_MM))
                break
    return found


def _places(piece: Bare, free: Geometry) -> list[tuple[Point, bool, float]]:
    """Return clear places beside a piece, the largest letters and the nearest places first."""
    import numpy as np
    import shapely

    shapely.prepare(free)
    x0, y0, x1, y1 = bounds_mm(piece.outline)
    out = []
    for height in HEIGHTS_MM:
        wide = text_width_mm(piece.text, height)
        tries: list[tuple[Point, bool]] = []
        for away in _AWAY_MM:
            for upwards in (False, True):
                across, up = (height, wide) if upwards else (wide, height)
                for k in range(_ALONG):
                    x = x0 - across + (x1 - x0 + across) * k / (_ALONG - 1)
                    y = y0 - up + (y1 - y0 + up) * k / (_ALONG - 1)
                    beside = ((x, y1 + away), (x, y0 - away - up), (x1 + away, y), (x0 - away - across, y))
                    tries += [(at, upwards) for at in beside]
        boxes = np.asarray([_box(at, wide, height, upwards=upwards) for at, upwards in tries])
        out += [(*tries[int(k)], height) for k in np.flatnonzero(shapely.contains(free, boxes))]
    return out


def _box(at: Point, wide: float, height: float, *, upwards: bool) -> Geometry:
    """Return what letters fill: from their corner on, along x, or up the roll's width."""
    import shapely

    below = 0.16 * height  # a comma or a slash reaches below its line
    x, y = at
    if upwards:
        return shapely.box(x, y, x + height + below, y + wide)
    return shapely.box(x, y - below, x + wide, y + height * (1 + 0.6 / GRID))
