"""Letters beside folds, along their lines, clear of all other lines: words on patterns, one letter on lead."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from cutpath import sure
from cutpath.drawing.lettering import letter, text_width_mm
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, Point, Polyline

if TYPE_CHECKING:
    from shapely import Geometry

HEIGHTS_MM = (5.0, 3.5)
_OFF_SHARE = 0.5  # clear space beside a fold, as a share of the letters' height


def way_letter(fold: Fold, *, flipped: bool = False) -> str:
    """Return F for a fold forward, to whoever looks at the sheet as it lies, and B for one back.

    An angle other than a right one stands behind it, in degrees.
    """
    forward = (fold.way is FoldWay.FORWARD) is not flipped
    angle = "" if math.isclose(fold.angle_deg, 90.0, abs_tol=0.05) else f" {round(fold.angle_deg, 1):g}"
    return ("F" if forward else "B") + angle


def lettered_folds(
    pattern: FlatPattern, words: Callable[[Fold], str], taken: Sequence[Polyline], *, flipped: bool = False
) -> list[tuple[Fold, list[Polyline]]]:
    """Letter each fold along its line, clear of every other line and of what is lettered already; else not at all.

    Parameters
    ----------
    pattern : FlatPattern
    words : callable
        What stands beside a fold.
    taken : sequence of Polyline
        What stands on the pattern besides its own lines.
    flipped : bool
        The pattern will be turned over: letters are mirrored here, so that they read right in the end.
    """
    import shapely

    sheet = shapely.Polygon(pattern.outline, pattern.holes)
    shapely.prepare(sheet)
    own = [s.points for s in pattern.snips] + [m.points for m in pattern.marks]
    lines = [shapely.LineString(p) for p in (*own, *taken)]
    folds = [shapely.LineString((f.start, f.end)) for f in pattern.folds]
    out: list[tuple[Fold, list[Polyline]]] = []
    for k, fold in enumerate(pattern.folds):
        others = [*lines, *folds[:k], *folds[k + 1 :]]
        letters = _along(fold, words(fold), sheet, others, flipped=flipped)
        lines += [shapely.LineString(p) for p in letters]
        out.append((fold, letters))
    return out


def _along(fold: Fold, text: str, sheet: Geometry, taken: Sequence[Geometry], *, flipped: bool) -> list[Polyline]:
    import shapely

    a, b = fold.start, fold.end
    turn = sure.atan2(b[1] - a[1], b[0] - a[0])
    if not -math.pi / 2 < turn <= math.pi / 2:
        turn += math.pi
    cos, sin = sure.cos(turn), sure.sin(turn)
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    for height in HEIGHTS_MM:
        wide, off = text_width_mm(text, height), _OFF_SHARE * height
        if wide > math.dist(a, b):
            continue
        for base in (off, -off - height):

            def at(x: float, y: float, wide: float = wide, base: float = base) -> Point:
                x, y = (wide - x if flipped else x) - wide / 2, y + base
                return (middle[0] + x * cos - y * sin, middle[1] + x * sin + y * cos)

            clear = off / 2
            corners = (
                (-clear, -clear),
                (wide + clear, -clear),
                (wide + clear, height + clear),
                (-clear, height + clear),
            )
            box = shapely.Polygon([at(*corner) for corner in corners])
            if shapely.contains(sheet, box) and not shapely.intersects(box, list(taken)).any():
                return [tuple(at(x, y) for x, y in line) for line in letter(text, height)]
    return []
