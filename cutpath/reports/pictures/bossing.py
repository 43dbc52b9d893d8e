"""Corners that are worked from the whole sheet, as far as they can be shown beside the parts that are only folded.

Bossed lead has no flat parts, so that nothing of it can be proved. Shown are the wing of the sheet that lies flat on
the roof beside a corner, and in between, as `BOSSED`, the faces over which the lead has to be worked: their edges are
those of the folded parts, their form is suggested. Space as in `cutpath.values.proof`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutpath.values.pattern import FlatPattern, Fold, MarkKind
from cutpath.values.proof import FoldedFace, SpacePoint

BOSSED = "bossed"
"""Name of a face that is worked."""

_SIDES = (("left arris", -1.0), ("right arris", 1.0))


def worked_parts(pattern: FlatPattern, faces: Sequence[FoldedFace]) -> list[FoldedFace]:
    """Give the wings and the worked faces of a bossed piece; none where nothing is bossed or the form is not known."""
    if not any(mark.kind is MarkKind.BOSSING for mark in pattern.marks):
        return []
    parts = {face.name: face for face in faces}
    folds = {fold.name: fold for fold in pattern.folds}
    match pattern.family:
        case "back gutter":
            return _gutter(parts, folds)
        case "apron":
            return _apron(pattern, parts, folds)
        case "ridge saddle":
            return _saddle(pattern, folds)
        case _:
            return []


def _gutter(parts: dict[str, FoldedFace], folds: dict[str, Fold]) -> list[FoldedFace]:
    """Wings go on beside the sole in the plane of the roof; worked are the ends of the sole and under the returns."""
    pitch = math.radians(folds["sole"].angle_deg)
    sole = max(z for _, _, z in parts["wall"].corners)
    back = (-sole * math.sin(pitch), sole - sole * math.cos(pitch))  # y and z where the wing ends, below the sole
    found = []
    for name, way in _SIDES:
        if name in parts:
            x, side = parts[name].corners[0][0], -min(z for _, _, z in parts[name].corners)
            edge, heel = (x, 0.0, sole), (x, *back)
            foot, end = (x, 0.0, 0.0), (x, 0.0, -side)
            out = (x + way * side, 0.0, sole), (x + way * side, *back)
            found.append(FoldedFace("sole", _facing(way, edge, out[0], out[1], heel)))
            found += [FoldedFace(BOSSED, t) for t in ((foot, heel, edge), (foot, end, out[1]), (foot, out[1], heel))]
    return found


def _apron(pattern: FlatPattern, parts: dict[str, FoldedFace], folds: dict[str, Fold]) -> list[FoldedFace]:
    """Wings go on beside the cover; worked is what lies on the roof between the wing and the foot of the return."""
    pitch = math.radians(90.0 - folds["front"].angle_deg)
    cover = folds["front"].start[1]
    down = (-cover * math.sin(pitch), cover * math.cos(pitch))
    length = max(x for x, _ in pattern.outline)
    found = []
    for name, way in _SIDES:
        if name in parts:
            x, side = parts[name].corners[0][0], folds[name].start[0]
            side = side if way < 0 else length - side
            reach = min(z for _, _, z in parts[name].corners)
            foot, out = (x, 0.0, 0.0), (x + way * side, 0.0, 0.0)
            up = min(y for _, y, z in parts[name].corners if z == reach)
            found.append(FoldedFace("front", _facing(way, foot, (x, *down), (x + way * side, *down), out)))
            found.append(FoldedFace(BOSSED, _facing(way, foot, out, (x + way * side, up, reach), (x, up, reach))))
    return found


def _saddle(pattern: FlatPattern, folds: dict[str, Fold]) -> list[FoldedFace]:
    """Give what is worked over the ridge: between the marks the sheet stretches by twice the pitch."""
    pitch = math.radians(folds["ridge"].angle_deg / 2)
    up = max(y for _, y in pattern.outline) - folds["wall, left"].start[1]
    (mark, *_) = [m for m in pattern.marks if m.kind is MarkKind.BOSSING]
    reach = math.dist(*mark.points)
    far = (reach * math.sin(2 * pitch), reach * math.cos(2 * pitch))
    near = (up * math.sin(pitch), up * math.cos(pitch))
    corners = ((0.0, 0.0), far, near, (-near[0], near[1]), (-far[0], far[1]))
    return [FoldedFace(BOSSED, tuple((x, y, 0.0) for x, y in corners))]


def _facing(way: float, *corners: SpacePoint) -> tuple[SpacePoint, ...]:
    """Give corners that run counter-clockwise on the weather face at the right, turned over for the left."""
    return corners if way > 0 else corners[::-1]
