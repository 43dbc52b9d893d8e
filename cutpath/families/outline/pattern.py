"""Plain outlines: a shape of the user's own, checked and passed on, never altered."""

from __future__ import annotations

from itertools import pairwise

from shapely import LineString, Polygon, box, prepare
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union
from shapely.validation import explain_validity

from cutpath.errors import Finding
from cutpath.families.frame import LABEL_CLEAR_MM, Shape, to_pattern
from cutpath.plain import shape_fault
from cutpath.plane import bounds_mm, signed_area_mm2
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import PlainOutline
from cutpath.values.pattern import (
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    LabelBox,
    PartKind,
    Snip,
    SnipUse,
    Stance,
)


def check(survey: PlainOutline) -> tuple[Finding, ...]:
    """Find what makes the outline no simple shape: crossings, repeated points, holes outside, no area."""
    where = survey.head.origin.key("points")
    rings = (survey.outline, *survey.holes)
    short = [r for r in rings if len(r) < 3 or abs(signed_area_mm2(r)) <= POINT_MM]
    found = "an outline or hole encloses no area" if short else ""
    if not found:
        repeated = next(
            (a for r in rings for a, b in pairwise((*r, r[0])) if abs(a[0] - b[0]) + abs(a[1] - b[1]) <= POINT_MM), None
        )
        found = f"the point ({repeated[0]:g}, {repeated[1]:g}) stands twice in a row" if repeated else ""
    shape = None if found else Polygon(survey.outline, survey.holes)
    if shape is not None and not shape.is_valid:
        found = shape_fault(explain_validity(shape))
    if not found:
        return ()
    return (
        Finding(
            "CP409",
            where,
            found,
            "a closed outline that does not touch or cross itself, with holes inside it",
            "Correct the points; they are never repaired for you.",
        ),
    )


def outline(survey: PlainOutline) -> FlatPattern:
    """Carry the user's shape into a flat pattern; a positive fold angle comes forward, a negative one goes back."""
    ring = survey.outline if signed_area_mm2(survey.outline) > 0 else tuple(reversed(survey.outline))
    holes = tuple(h if signed_area_mm2(h) < 0 else tuple(reversed(h)) for h in survey.holes)
    x0, y0, x1, _ = bounds_mm(ring)
    return to_pattern(
        Shape(
            family="rectangle" if _is_rectangle(survey) else "plain shape",
            part=PartKind.PLAIN,
            sides=tuple((point, Edge(f"edge {i}", EdgeUse.OWN)) for i, point in enumerate(ring, 1)),
            folds=tuple(
                Fold(f"fold {i}", FoldUse.OWN, a, b, abs(angle), FoldWay.FORWARD if angle > 0 else FoldWay.BACK)
                for i, (a, b, angle) in enumerate(survey.folds, 1)
            ),
            label=_label(survey),
            length_mm=max(x1 - x0, bounds_mm(ring)[3] - y0),
            snips=tuple(Snip(f"cut {i}", points, SnipUse.CUT) for i, points in enumerate(survey.cuts, 1)),
            holes=holes,
            stance=Stance.LYING,
        )
    )


def _is_rectangle(survey: PlainOutline) -> bool:
    """Tell whether a shape is a square-cornered blank with nothing cut out of it or into it."""
    x0, y0, x1, y1 = bounds_mm(survey.outline)
    missing = (x1 - x0) * (y1 - y0) - abs(signed_area_mm2(survey.outline))
    return missing <= POINT_MM and not survey.holes and not survey.cuts


def _label(survey: PlainOutline) -> LabelBox:
    """Find a level box for lettering clear of cuts and folds: the largest of a few about inner points."""
    shape = Polygon(survey.outline, survey.holes)
    lines = [LineString(c) for c in survey.cuts] + [LineString((a, b)) for a, b, _ in survey.folds]
    free: BaseGeometry = shape.buffer(-LABEL_CLEAR_MM)
    if lines:
        free = free.difference(unary_union([line.buffer(LABEL_CLEAR_MM) for line in lines]))
    if free.is_empty:
        free = shape
    prepare(free)
    x0, y0, x1, y1 = free.bounds
    best = (0.0, (free.representative_point().x, free.representative_point().y, 1.0, 1.0))
    cells = 12
    xs = [x0 + (x1 - x0) * i / cells for i in range(cells + 1)]
    ys = [y0 + (y1 - y0) * i / cells for i in range(cells + 1)]
    for i, left in enumerate(xs):
        for right in xs[i + 1 :]:
            for j, low in enumerate(ys):
                for high in ys[j + 1 :]:
                    # Lettering is long and low, so length beyond eight heights is worth nothing more.
                    worth = min(right - left, 8 * (high - low)) * (high - low)
                    if worth > best[0] and free.covers(box(left, low, right, high)):
                        best = (worth, (left, low, right - left, high - low))
    left, low, width, height = best[1]
    return LabelBox((left, low), 0.0, width, height)
