"""Corners that are worked from the whole sheet, as far as they can be shown beside the parts that are only folded.

Bossed lead has no flat parts, so that nothing of it can be proved. Shown are the wing of the sheet that lies flat on
the roof beside a corner, and in between, as `BOSSED`, the faces over which the lead has to be worked: their edges are
those of the folded parts, their form is suggested. Space as in `cutpath.values.proof`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutpath import sure
from cutpath.values.pattern import FlatPattern, Fold, FoldUse, MarkKind, Side
from cutpath.values.proof import FoldedFace, SpacePoint

BOSSED = "bossed"
"""Name of a face that is worked."""

_SOLE, _FRONT, _RIDGE = (FoldUse.SOLE, None), (FoldUse.FRONT, None), (FoldUse.RIDGE, None)
_SIDES = ((Side.LEFT, -1.0), (Side.RIGHT, 1.0))

_Key = tuple[FoldUse | None, Side | None]


def worked_parts(pattern: FlatPattern, faces: Sequence[FoldedFace]) -> list[FoldedFace]:
    """Return the wings and the worked faces of a bossed piece; none where nothing is bossed or its form is unknown."""
    if not any(mark.kind is MarkKind.BOSSING for mark in pattern.marks):
        return []
    parts: dict[_Key, FoldedFace] = {(face.fold.use, face.fold.side): face for face in faces if face.fold}
    folds: dict[_Key, Fold] = {(fold.use, fold.side): fold for fold in pattern.folds}
    if _SOLE in folds:
        return _gutter(parts, folds)
    if _FRONT in folds:
        return _apron(pattern, parts, folds)
    return _saddle(pattern, folds) if _RIDGE in folds else []


def _gutter(parts: dict[_Key, FoldedFace], folds: dict[_Key, Fold]) -> list[FoldedFace]:
    """Return wings beside the sole in the plane of the roof; worked are the ends of the sole and under the returns."""
    pitch = math.radians(folds[_SOLE].angle_deg)
    sole = max(z for _, _, z in parts[FoldUse.WALL, None].corners)
    back = (-sole * sure.sin(pitch), sole - sole * sure.cos(pitch))  # y and z where the wing ends, below the sole
    found = []
    for at, way in _SIDES:
        if (FoldUse.ARRIS, at) in parts:
            returned = parts[FoldUse.ARRIS, at].corners
            x, side = returned[0][0], -min(z for _, _, z in returned)
            edge, heel = (x, 0.0, sole), (x, *back)
            foot, end = (x, 0.0, 0.0), (x, 0.0, -side)
            out = (x + way * side, 0.0, sole), (x + way * side, *back)
            found.append(_wing(folds[_SOLE], _facing(way, edge, out[0], out[1], heel)))
            found += [_worked(t) for t in ((foot, heel, edge), (foot, end, out[1]), (foot, out[1], heel))]
    return found


def _apron(pattern: FlatPattern, parts: dict[_Key, FoldedFace], folds: dict[_Key, Fold]) -> list[FoldedFace]:
    """Return wings beside the cover; worked is what lies on the roof between the wing and the foot of the return."""
    pitch = math.radians(90.0 - folds[_FRONT].angle_deg)
    cover = folds[_FRONT].start[1]
    down = (-cover * sure.sin(pitch), cover * sure.cos(pitch))
    length = max(x for x, _ in pattern.outline)
    found = []
    for at, way in _SIDES:
        if (FoldUse.ARRIS, at) in parts:
            returned = parts[FoldUse.ARRIS, at].corners
            x, side = returned[0][0], folds[FoldUse.ARRIS, at].start[0]
            side = side if way < 0 else length - side
            reach = min(z for _, _, z in returned)
            foot, out = (x, 0.0, 0.0), (x + way * side, 0.0, 0.0)
            up = min(y for _, y, z in returned if z == reach)
            found.append(_wing(folds[_FRONT], _facing(way, foot, (x, *down), (x + way * side, *down), out)))
            found.append(_worked(_facing(way, foot, out, (x + way * side, up, reach), (x, up, reach))))
    return found


def _saddle(pattern: FlatPattern, folds: dict[_Key, Fold]) -> list[FoldedFace]:
    """Return what is worked over the ridge: between the marks the sheet stretches by twice the pitch."""
    pitch = math.radians(folds[_RIDGE].angle_deg / 2)
    up = max(y for _, y in pattern.outline) - folds[FoldUse.WALL, Side.LEFT].start[1]
    (mark, *_) = [m for m in pattern.marks if m.kind is MarkKind.BOSSING]
    reach = math.dist(*mark.points)
    far = (reach * sure.sin(2 * pitch), reach * sure.cos(2 * pitch))
    near = (up * sure.sin(pitch), up * sure.cos(pitch))
    corners = ((0.0, 0.0), far, near, (-near[0], near[1]), (-far[0], far[1]))
    return [_worked(tuple((x, y, 0.0) for x, y in corners))]


def _wing(fold: Fold, corners: tuple[SpacePoint, ...]) -> FoldedFace:
    """Return what of the part beyond a fold lies beside a corner."""
    return FoldedFace(fold.name, corners, fold=fold)


def _worked(corners: tuple[SpacePoint, ...]) -> FoldedFace:
    return FoldedFace(BOSSED, corners, worked=True)


def _facing(way: float, *corners: SpacePoint) -> tuple[SpacePoint, ...]:
    """Return corners that run counter-clockwise on the weather face at the right, turned over for the left."""
    return corners if way > 0 else corners[::-1]
