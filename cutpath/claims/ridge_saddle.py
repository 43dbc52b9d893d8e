"""Ridge saddles against wall and roofs; frames of `cutpath.values.proof`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from shapely import box
from shapely.geometry.base import BaseGeometry

from cutpath.folding.claim import Claims, InSpace
from cutpath.folding.due import DueMark, Points, both_ends, fold_ends, key
from cutpath.folding.flat import Flat
from cutpath.folding.gap import Gap, Wanted, corners_at, cos_sin, from_to, missing, on, unknown, within
from cutpath.folding.space import Folded
from cutpath.recheck.second import Second
from cutpath.values.leadwork import CornerWork, RidgeSaddle
from cutpath.values.pattern import FoldUse, MarkKind, PartKind, Side, StationUse
from cutpath.values.survey import BedJoint


def saddle_gaps(survey: RidgeSaddle, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a saddle to the wall (z = 0) and to both slopes, which run out from it (+z) and fall from the ridge."""
    c, s = cos_sin(survey.pitch_deg)
    half, up, down = survey.width_mm / 2, survey.upstand_mm, survey.length_mm - survey.upstand_mm
    roofs: dict[tuple[FoldUse | None, Side | None], float] = {
        (FoldUse.WALL, Side.RIGHT): 1.0,
        (FoldUse.RIDGE, None): -1.0,
    }
    walls: dict[tuple[FoldUse | None, Side | None], float] = {(None, None): 1.0, (FoldUse.WALL, Side.LEFT): -1.0}
    found: list[Gap] = []
    for face in faces:
        x, y, z = face.corners.T
        key = face.use, face.side
        x = x * (roofs | walls).get(key, 1.0)  # both slopes as though they fell to the right
        off_roof, along = x * s + y * c, x * c - y * s
        if key in roofs:
            found += [
                on(off_roof, "a slope of the saddle stands off its roof"),
                from_to(z, 0.0, down, f"the saddle does not reach {down:g} mm along the ridge"),
                from_to(along, 0.0, half, f"the saddle does not reach {half:g} mm down the slope"),
            ]
        elif key in walls:
            found += [
                on(z, "the upstand stands off the wall"),
                within(off_roof, 0.0, up, f"the upstand is higher than {up:g} mm"),
            ]
        else:
            found.append(unknown(face))
    wanted: Wanted = {
        (FoldUse.RIDGE, None): half,
        (FoldUse.WALL, Side.RIGHT): half,
        (FoldUse.WALL, Side.LEFT): half,
    }
    return [*found, *missing(faces, wanted)]


def saddle_gusset_gaps(survey: RidgeSaddle, faces: Sequence[Folded]) -> list[Gap]:
    """Hold a gusset to the opening over the ridge: as high as the upstand's edges beside it, opening by 2 p."""
    c, s = cos_sin(survey.pitch_deg)
    up = survey.upstand_mm
    opening = [(-up * s, 0.0), (up * s, 0.0), (0.0, up * c)]
    return [corners_at(face, opening, "the gusset misses its opening") for face in faces]


def _gaps(survey: RidgeSaddle, piece: InSpace) -> list[Gap]:
    held = saddle_gusset_gaps if piece.part is PartKind.GUSSET else saddle_gaps
    return held(survey, piece.faces)


def _marks(survey: RidgeSaddle, _: Flat) -> Iterator[DueMark]:
    """Yield the lines that come plumb over the ridge, as far off plumb in the flat as the roof is pitched."""
    if survey.corners is not CornerWork.BOSSED:
        return
    c, s = cos_sin(survey.pitch_deg)
    far = min(survey.upstand_mm / c, survey.width_mm / 2 / s)
    for side, way in ((Side.LEFT, -1.0), (Side.RIGHT, 1.0)):
        points = [[0.0, 0.0], [way * far * s, far * c]]
        yield DueMark(MarkKind.BOSSING, np.array(points), side=side)


def _points(_: RidgeSaddle, flat: Flat, __: Sequence[BedJoint]) -> Points:
    if flat.part is PartKind.GUSSET:
        yield key(StationUse.GUSSET_TIP), flat.ring[np.argmax(flat.ring[:, 1])]
        return
    yield from both_ends(flat, FoldUse.RIDGE)
    yield key(StationUse.START, FoldUse.WALL, side=Side.LEFT), fold_ends(flat, FoldUse.WALL, side=Side.LEFT)[0]
    yield key(StationUse.END, FoldUse.WALL, side=Side.RIGHT), fold_ends(flat, FoldUse.WALL, side=Side.RIGHT)[1]


def _sheet(survey: RidgeSaddle, _: Flat) -> BaseGeometry:
    half = survey.width_mm / 2
    return box(-half, survey.upstand_mm - survey.length_mm, half, survey.upstand_mm)


CLAIMS = Claims(
    gaps=_gaps,
    tilt_deg=lambda survey: -survey.pitch_deg,
    window=lambda _: (0.0, math.inf),
    marks=_marks,
    points=_points,
    sheet=_sheet,
)

SECOND = Second(
    "saddle",
    sizes=(
        ("width", "width_mm", "saddle_size"),
        ("length", "length_mm", "saddle_size"),
        ("upstand", "upstand_mm", "saddle_upstand"),
    ),
    parts=lambda saddle: {PartKind.GUSSET: int(saddle.corners is CornerWork.WELDED), PartKind.SADDLE: 1},
)
