"""The key to the points of a step: one step of a piece, drawn large, with its points lettered."""

from __future__ import annotations

from cutpath.paper.markup import element, path, svg
from cutpath.plane import bounds_mm, distance_mm
from cutpath.reports.account.marking import LineKind, Marking
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import FlatPattern, FoldUse, MarkKind, Point


def step_key(marking: Marking, pattern: FlatPattern) -> str:
    """Draw one step of the piece, enlarged, with its points lettered a to e.

    The water line is level where some feet of risers stand above it; what lies on the fold at an arris is not cut.
    """
    free = [n for n in marking.steps if distance_mm(*_places(marking, n)[1:3]) > POINT_MM]
    step = free[len(free) // 2]
    a, b, c, d = _places(marking, step)
    end = marking.fold_end(step)
    e = (end.along_exact_mm, end.square_exact_mm)
    water = next(marking.point(line.keys[0]) for line in marking.lines if line.use is MarkKind.WATER_LINE)
    level = water.square_exact_mm
    back = -1.0 if pattern.mirrored else 1.0
    x0, y0, x1, y1 = bounds_mm((a, b, c, d, e, (a[0], level)))
    scale = max((x1 - x0) / 40.0, (y1 - y0) / 24.0)
    wide, tall, margin = (x1 - x0) / scale, (y1 - y0) / scale, 6.0

    def at(point: Point) -> Point:
        x = (point[0] - x0) / scale
        return (margin + (wide - x if back < 0 else x), 4.0 + tall - (point[1] - y0) / scale)

    def lines(class_: str, *points: Point) -> str:
        return element("path", d=path(tuple(at(p) for p in points)), class_=class_)

    def letter(text: str, point: Point, dx: float, dy: float) -> str:
        x, y = at(point)
        return element("text", text, x=x + dx * back, y=y + dy, class_="letter key", text_anchor="middle")

    shift = 4.0 * scale
    head = _arris_head(marking, pattern, step) or a
    return svg(
        wide + 2 * margin,
        tall + 10.0,
        lines("mark water-line", (a[0] - shift, level), (e[0] + shift, level)),
        lines("outline", b, c, d),
        lines("fold back", a, head) if head != a else "",
        lines("snip", head, b) if distance_mm(head, b) > POINT_MM else "",
        lines("snip", d, e),
        lines("fold back", b, e),
        letter("a", a, 0.0, 4.2),
        letter("b", b, -2.4, 0.6),
        letter("c", c, -1.2, -1.2),
        letter("d", d, 2.4, 0.4),
        letter("next a, or e" if len(marking.steps) > 1 else "e", e, 0.0, 4.2),
        title=f"Key to the points of a step, drawn from step {step}",
    )


def _arris_head(marking: Marking, pattern: FlatPattern, step: int) -> Point | None:
    """Return the upper end of the fold at the arris, where the first step begins there; None for any other step."""
    fold = next((i for i, fold in enumerate(pattern.folds) if fold.use is FoldUse.ARRIS), None)
    if fold is None or step != marking.steps[0]:
        return None
    keys = [line.keys for line in marking.lines if line.kind is LineKind.FOLD][fold]
    top = max(map(marking.point, keys), key=lambda point: point.square_exact_mm)
    return top.along_exact_mm, top.square_exact_mm


def _places(marking: Marking, step: int) -> tuple[Point, Point, Point, Point]:
    found = [marking.point(f"{step}{letter}") for letter in "abcd"]
    a, b, c, d = ((p.along_exact_mm, p.square_exact_mm) for p in found)
    return a, b, c, d
