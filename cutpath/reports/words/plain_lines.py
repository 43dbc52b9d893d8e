"""Pieces that are a rectangle, told as a leadworker says it: its size, and how far up or along each line lies."""

from __future__ import annotations

from dataclasses import dataclass

from cutpath.paper.markup import number
from cutpath.reports.account.marking import LineKind, MarkedPoint, Marking
from cutpath.reports.account.plain_shapes import Ellipse
from cutpath.tolerances import CURVE_MARK_MM
from cutpath.values.pattern import FlatPattern, FoldUse, SnipUse

_NEARLY_MM = 0.05
"""Two ends nearer to level than this are level: far under a pencil line."""


_TOLD = 4
"""Corners of a hole that are told in a row of words."""


@dataclass(frozen=True, slots=True)
class PlainLine:
    """A line of a rectangular piece: its number in the picture, what it is, and where it lies.

    ``corners`` are those of a hole that has too many for a row of words.
    """

    number: int
    kind: LineKind
    what: str
    where: str
    corners: tuple[MarkedPoint, ...] = ()


def plain_lines(pattern: FlatPattern, marking: Marking) -> list[PlainLine]:
    """Return every hole, snip, fold and mark of a rectangular piece in the order of its lines."""
    folds = iter(pattern.folds)
    found = []
    for count, line in enumerate(marking.lines[1:], 1):
        what = line.name
        if line.kind is LineKind.FOLD:
            fold = next(folds)
            called = line.name if fold.use is FoldUse.OWN else f"{line.name}, fold"
            what = f"{called} {fold.way.value} {number(round(fold.angle_deg, 1))}°"
        elif line.kind is LineKind.MARK:
            what = f"{line.name}, marked only"
        elif line.use is SnipUse.CUT:
            what = f"snip, {line.name}"
        ends = [marking.point(key) for key in line.keys]
        corners = tuple(ends) if line.kind is LineKind.HOLE and not line.ellipse and len(ends) > _TOLD else ()
        if corners:
            where = f"its {len(corners)} corners in turn, in the table below"
        elif line.ellipse:
            where = ellipse_words(line.ellipse)
        elif line.kind is LineKind.HOLE:
            where = "corners in turn " + "; ".join(f"{p.along_mm} along, {p.square_mm} up" for p in ends)
        else:
            where = _where(ends, marking)
        found.append(PlainLine(count, line.kind, what, where, corners))
    return found


def loose_points(marking: Marking) -> list[MarkedPoint]:
    """Return the points of a rectangular piece that are the end of no line."""
    ends = {key for line in marking.lines for key in line.keys}
    return [p for p in marking.lettered if p.key not in ends]


def ellipse_words(ellipse: Ellipse) -> str:
    """Say where an ellipse stands and how large it is, in whole millimetres; a circle is called one."""
    centre = MarkedPoint("", "", ellipse.along_mm, ellipse.square_mm)
    axes = MarkedPoint("", "", ellipse.along_axis_mm, ellipse.square_axis_mm)
    place = f"about the point {centre.along_mm} along and {centre.square_mm} up"
    if is_circle(ellipse):
        return f"a circle {place}, {axes.along_mm} across"
    return f"an ellipse {place}, {axes.along_mm} wide along the edge and {axes.square_mm} high"


def is_circle(ellipse: Ellipse) -> bool:
    """Tell whether a pair of compasses draws an ellipse, as near as a curve is marked."""
    return abs(ellipse.along_axis_mm - ellipse.square_axis_mm) <= CURVE_MARK_MM


def _where(ends: list[MarkedPoint], marking: Marking) -> str:
    if len(ends) == 2:
        (a, b) = sorted(ends, key=lambda p: (p.along_exact_mm, p.square_exact_mm))
        if abs(a.square_exact_mm - b.square_exact_mm) < _NEARLY_MM:
            whole = b.along_exact_mm - a.along_exact_mm > marking.length_mm - _NEARLY_MM
            return f"{a.square_mm} up, " + ("whole length" if whole else f"from {a.along_mm} to {b.along_mm} along")
        if abs(a.along_exact_mm - b.along_exact_mm) < _NEARLY_MM:
            whole = b.square_exact_mm - a.square_exact_mm > marking.width_mm - _NEARLY_MM
            return f"{a.along_mm} along, " + ("whole width" if whole else f"from {a.square_mm} to {b.square_mm} up")
    return "from " + "; to ".join(f"{p.along_mm} along, {p.square_mm} up" for p in ends)
