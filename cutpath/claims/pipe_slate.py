"""Lead slates against roof and pipe; frames of `cutpath.values.proof`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from cutpath import sure
from cutpath.errors import Finding
from cutpath.folding.claim import Claims, InSpace
from cutpath.folding.due import DueMark, Points, key
from cutpath.folding.flat import Flat
from cutpath.folding.gap import Gap, boxed, cos_sin, from_to, on
from cutpath.folding.space import Array, Folded
from cutpath.recheck.second import UNLISTED, Second
from cutpath.recheck.slopes import lap_over_covering_mm
from cutpath.recheck.written import Asked
from cutpath.values.leadwork import PipeSlate
from cutpath.values.pattern import MarkKind, MarkUse, PartKind, Side, StationUse
from cutpath.values.survey import BedJoint

EIGHTHS = 8
"""Points on the foot of a sleeve to one turn round its pipe, and one more where the first comes again."""


def pipe_base_gaps(survey: PipeSlate, faces: Sequence[Folded], hole: Array) -> list[Gap]:
    """Hold the hole to where a plumb sleeve meets the roof: seen in plan it is round."""
    c, _ = cos_sin(survey.pitch_deg)
    r = survey.pipe_mm / 2 + survey.clearance_mm
    corners = np.vstack([face.corners for face in faces])
    sides = (-r - survey.side_mm, r + survey.side_mm)
    ends = (-r / c - survey.below_mm, r / c + survey.above_mm)
    return [
        *([] if len(hole) else [Gap(2 * r, "the hole is missing")]),
        *(boxed(face, "an edge of the base is not square") for face in faces),
        on(np.hypot(hole[:, 0], hole[:, 1] * c), "the hole does not fit the sleeve", r),
        from_to(corners[:, 0], *sides, "the base misses its width"),
        from_to(corners[:, 1], *ends, "the base misses its length"),
    ]


def sleeve_gaps(survey: PipeSlate, faces: Sequence[Folded]) -> list[Gap]:
    """Roll a sleeve round its pipe and hold its foot to the roof; it is drawn upside down, its level top on y = 0."""
    r, slope = survey.pipe_mm / 2 + survey.clearance_mm, sure.tan(math.radians(survey.pitch_deg))
    corners = np.vstack([face.corners for face in faces])
    round_mm, down = corners[:, 0], corners[:, 1]
    top = r * slope + survey.sleeve_mm  # above the roof at the pipe's middle
    up_roof = r * np.cos(round_mm / r)  # in plan, from the pipe's middle; the seam stands on the upper side
    foot = down > survey.sleeve_mm / 2
    return [
        on((top - down - up_roof * slope)[foot], "the sleeve's foot stands off the roof"),
        on(down[~foot], "the sleeve's top is not level"),
        *(
            from_to(round_mm[at], 0.0, 2 * math.pi * r + survey.seam_mm, "the sleeve misses its girth and seam")
            for at in (foot, ~foot)
        ),
    ]


def _gaps(survey: PipeSlate, piece: InSpace) -> list[Gap]:
    if piece.part is PartKind.SLEEVE:
        return sleeve_gaps(survey, piece.faces)
    return pipe_base_gaps(survey, piece.faces, piece.inner)


def _marks(survey: PipeSlate, flat: Flat) -> Iterator[DueMark]:
    r = survey.pipe_mm / 2 + survey.clearance_mm
    if flat.part is PartKind.SLEEVE:
        girth = 2 * math.pi * r
        yield DueMark(MarkKind.LAP, np.array([[girth, 0.0], [girth, survey.sleeve_mm]]), MarkUse.SEAM)
        return
    top = r / cos_sin(survey.pitch_deg)[0]
    yield DueMark(MarkKind.CENTRE, np.array([[0.0, top], [0.0, top + survey.above_mm]]))


def _points(survey: PipeSlate, flat: Flat, _: Sequence[BedJoint]) -> Points:
    c, s = cos_sin(survey.pitch_deg)
    r = survey.pipe_mm / 2 + survey.clearance_mm
    if flat.part is PartKind.SLEEVE:
        for eighths in range(EIGHTHS + 1):
            down = 1 - sure.cos(math.pi * eighths / 4)
            at = (math.pi * r * eighths / 4, survey.sleeve_mm + r * down * s / c)
            yield key(StationUse.SLEEVE_FOOT, number=eighths), at
        return
    yield key(StationUse.HOLE_SIDE, side=Side.LEFT), (-r, 0.0)
    yield key(StationUse.HOLE_SIDE, side=Side.RIGHT), (r, 0.0)
    yield key(StationUse.HOLE_LOW), (0.0, -r / c)
    yield key(StationUse.HOLE_HIGH), (0.0, r / c)


def check_base(asked: Asked, slate: PipeSlate) -> Iterator[Finding]:
    """Hold the base to what was written, else to the usual one, which climbs what a lap has to below and above."""
    wide = asked.fact("pipe_base_side_flat" if slate.pitch_deg <= asked.fact("pipe_base_flat") else "pipe_base_side")
    yield from asked.differs("side", slate.side_mm, float(asked.own.get("side") or wide))
    lap = lap_over_covering_mm(asked, slate.pitch_deg)
    for name, reach_mm in (("below", slate.below_mm), ("above", slate.above_mm)):
        written = asked.own.get(name)
        yield from asked.differs(name, reach_mm, float(written or max(asked.fact(f"pipe_base_{name}"), lap)))


CLAIMS = Claims(
    gaps=_gaps,
    marks=_marks,
    points=_points,
)

SECOND = Second(
    "pipe_slate",
    longest=UNLISTED,
    sizes=(
        ("pipe", "pipe_mm", ""),
        ("clearance", "clearance_mm", "pipe_clearance"),
        ("sleeve", "sleeve_mm", "pipe_sleeve"),
        ("seam", "seam_mm", "pipe_seam"),
    ),
    further=check_base,
    parts=lambda _: {PartKind.BASE: 1, PartKind.SLEEVE: 1},
)
