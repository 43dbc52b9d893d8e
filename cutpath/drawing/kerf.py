"""Kerf: the head runs half its width outside the piece, so that the piece and not the waste has its size.

Outer cuts grow and holes shrink by half the kerf with mitred corners; apexes under 23.07 deg, 2 asin(1/5), are
bevelled. A hole or notch narrower than the kerf would vanish without a word, so holes are counted and the outline
is closed back again: what does not return is a finding. Nothing is repaired.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from cutpath.drawing.toolline import ToolLine, between
from cutpath.errors import Finding
from cutpath.tolerances import POINT_MM
from cutpath.values.drawing import Role
from cutpath.values.pattern import Polyline

if TYPE_CHECKING:
    from shapely import Polygon

MITRE_LIMIT = 5.0
"""Longest mitre in half kerfs; apexes under 2 asin(1/5) = 23.07 deg are bevelled."""

_LOST_RATIO = 0.05
"""Area that closing may lose, in squares of the kerf: a bevel within `MITRE_LIMIT` stays far under it."""


def widened(outline: Polyline, holes: Sequence[Polyline], kerf_mm: float) -> tuple[Polyline, tuple[Polyline, ...]]:
    """Return the tool's way round a piece: outline grown, holes shrunk, each by half the kerf.

    Directions stay: outlines counter-clockwise, holes clockwise.

    Raises
    ------
    ValueError
        When a hole or notch is narrower than the kerf; the text says which.
    """
    import shapely

    half = kerf_mm / 2
    piece = shapely.Polygon(outline, holes)
    grown = _offset(shapely.Polygon(outline), half)
    back = _offset(grown, -half) if grown is not None else None
    lost = piece.area if back is None else _excess(back, shapely.Polygon(outline))
    if grown is None or grown.interiors or lost > _LOST_RATIO * kerf_mm * kerf_mm:
        raise ValueError("a notch of the outline")
    shrunk: list[Polyline] = []
    for number, hole in enumerate(holes, 1):
        inside = _offset(shapely.Polygon(hole), -half)
        if inside is None or inside.interiors:
            raise ValueError(f"hole {number}")
        back = _offset(inside, half)
        if back is None or _excess(shapely.Polygon(hole), back) > _LOST_RATIO * kerf_mm * kerf_mm:
            raise ValueError(f"a corner of hole {number}")
        shrunk.append(_ring(inside, ccw=False))
    if len(shrunk) != len(holes):
        raise ValueError("the number of holes")
    return _ring(grown, ccw=True), tuple(shrunk)


def _offset(shape: Polygon, by_mm: float) -> Polygon | None:
    from shapely import Polygon

    moved = shape.buffer(by_mm, join_style="mitre", mitre_limit=MITRE_LIMIT)
    return moved if isinstance(moved, Polygon) and not moved.is_empty else None


def _excess(larger: Polygon, smaller: Polygon) -> float:
    """Return the area of the largest part of ``larger`` outside ``smaller`` that is no mere sliver along the edge."""
    from shapely import get_parts

    parts = get_parts(larger.difference(smaller.buffer(POINT_MM)))
    return max((float(p.area) for p in parts), default=0.0)


def _ring(shape: Polygon, *, ccw: bool) -> Polyline:
    from shapely.geometry.polygon import orient

    turned = orient(shape, 1.0 if ccw else -1.0)
    return tuple((float(x), float(y)) for x, y in turned.exterior.coords[:-1])


def offset_lines(lines: Sequence[ToolLine], kerf_mm: float) -> tuple[list[ToolLine], list[Finding]]:
    """Move the cuts of one head to their waste side.

    Snips are cut from the outer line's side and end half a kerf short, so that the cut ends where it should.
    """
    out: list[ToolLine] = []
    findings: list[Finding] = []
    by_piece: dict[str, list[ToolLine]] = {}
    for line in lines:
        by_piece.setdefault(line.piece, []).append(line)
    for piece, own in by_piece.items():
        outer = [n for n in own if n.closed and n.role is Role.OUTER]
        holes = [n for n in own if n.closed and n.role is Role.INNER]
        try:
            moved = [_around(n, holes if k == 0 else [], kerf_mm) for k, n in enumerate(outer)]
        except ValueError as error:
            findings.append(
                Finding(
                    "CP605",
                    piece,
                    f"{error} is narrower than the kerf of {kerf_mm:g} mm",
                    "every opening wider than the kerf",
                    "Cut this piece with a knife or shears, or widen the opening; nothing is left out for you.",
                )
            )
            continue
        for ring, shrunk in moved:
            out += [ring, *shrunk]
        out += [_shortened(n, kerf_mm / 2) for n in own if not n.closed and n.length_mm > kerf_mm]
    return out, findings


def _around(outer: ToolLine, holes: Sequence[ToolLine], kerf_mm: float) -> tuple[ToolLine, list[ToolLine]]:
    ring, shrunk = widened(outer.points, [h.points for h in holes], kerf_mm)
    return replace(outer, points=ring), [replace(h, points=p) for h, p in zip(holes, shrunk, strict=True)]


def _shortened(line: ToolLine, by_mm: float) -> ToolLine:
    return replace(line, points=between(line.points, 0.0, line.length_mm - by_mm))


def kerf_findings(lines: Sequence[ToolLine], outlines: Sequence[tuple[str, Polygon]], kerf_mm: float) -> list[Finding]:
    """Find outer cuts whose kerf reaches into another piece."""
    import shapely

    out = []
    shapes = [shape for _, shape in outlines]
    tree = shapely.STRtree(shapes)
    for line in lines:
        if line.role is not Role.OUTER:
            continue
        path = shapely.LineString(line.ring)
        for k in tree.query(path, predicate="dwithin", distance=kerf_mm / 2):
            name, shape = outlines[int(k)]
            depth = kerf_mm / 2 - float(path.distance(shape))
            if name != line.piece and depth > POINT_MM:
                out.append(
                    Finding(
                        "CP606",
                        line.piece,
                        f"its cut of {kerf_mm:g} mm reaches {depth:.2f} mm into {name}",
                        f"pieces at least {kerf_mm:g} mm apart",
                        "Nest again with the gap of this machine's profile.",
                    )
                )
    return out
