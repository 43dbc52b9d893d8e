"""Every wall of a job with its lead in place, in the order of the job file."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from cutpath.paper.wall_sheet import Elevation
from cutpath.reports.pictures.elevation import place_steps, step_elevation
from cutpath.reports.pictures.front import Return, cover_elevation, front_elevation, place_cover, returns_on_front
from cutpath.reports.pictures.gutters import Cover, back_elevations, saddle_elevation, slope_gutter_elevations
from cutpath.reports.pictures.section import flashing_section, pipe_section
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import PartKind
from cutpath.values.piece import Piece
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    BedJoint,
    CoverFlashing,
    Detail,
    DetailHead,
    Hand,
    Job,
    PipeSlate,
    RidgeSaddle,
    Soakers,
    StepFlashing,
    TopAbutment,
    ValleyGutter,
)


def elevations(job: Job, pieces: Sequence[Piece]) -> list[Elevation]:
    """Draw every wall of a job that carries lead: to each hand of each detail that lies on a wall or roof its pictures.

    Soakers stand behind their step flashing, flashings above a
    change of pitch over those below, and the returns of a chimney's sides go over its apron. A cover flashing over a
    back gutter is drawn with that.
    """
    own = [piece for piece in pieces if piece.job == job.name]
    return [picture for detail in job.details for picture in _of(detail, job, own)]


def _of(detail: Detail, job: Job, pieces: Sequence[Piece]) -> Iterable[Elevation]:
    beside = job.beside(detail)
    for hand in detail.head.hands or (None,):
        lengths = _lengths(detail.head, hand, pieces)
        if not lengths:
            continue
        match detail:
            case StepFlashing() if hand is not None:
                soakers = (d for d in beside if isinstance(d, Soakers) and hand in d.head.hands)
                reaches = [d for d in beside if isinstance(d, StepFlashing)]
                if detail is reaches[0]:
                    placed = [(d, _lengths(d.head, hand, pieces)) for d in reaches]
                    yield step_elevation(placed, hand, next(soakers, None))
            case Apron() | TopAbutment():
                sides = [d for d in beside if isinstance(d, StepFlashing)]
                joints = sides[0].joints if sides else ()
                returns = _returns(detail, sides, pieces) if isinstance(detail, Apron) else []
                yield front_elevation(detail, lengths, joints, returns, _gauge_mm(job.details))
                yield flashing_section(detail, lengths[0].pattern)
            case CoverFlashing() if job.under(detail) is None:
                yield cover_elevation(detail, hand, lengths)
            case BackGutter():
                yield from _back(detail, job, pieces)
            case ValleyGutter() | AbutmentGutter():
                yield from slope_gutter_elevations(detail, hand, lengths)
            case PipeSlate():
                yield pipe_section(detail, lengths)
            case RidgeSaddle():
                yield saddle_elevation(detail, lengths, _gussets(detail.head, pieces))
            case _:
                pass


def _lengths(head: DetailHead, hand: Hand | None, pieces: Sequence[Piece]) -> list[Piece]:
    """Return the lengths of a detail in fitting order, without the gussets that go with them."""
    own = (piece for piece in pieces if piece.detail == head.label and piece.hand is hand)
    return [piece for piece in own if piece.pattern.part is not PartKind.GUSSET]


def _gussets(head: DetailHead, pieces: Sequence[Piece]) -> list[Piece]:
    return [piece for piece in pieces if piece.detail == head.label and piece.pattern.part is PartKind.GUSSET]


def _back(gutter: BackGutter, job: Job, pieces: Sequence[Piece]) -> Iterable[Elevation]:
    over, cover = job.over(gutter), None
    if isinstance(over, CoverFlashing):
        cover = Cover(over, tuple(place_cover(over, _lengths(over.head, None, pieces))))
    sides = (d for d in job.beside(gutter) if isinstance(d, StepFlashing))
    joints = _behind(gutter, next(sides, None))
    yield from back_elevations(
        gutter, _lengths(gutter.head, None, pieces), _gussets(gutter.head, pieces), cover, joints
    )


def _behind(gutter: BackGutter, side: StepFlashing | None) -> list[BedJoint]:
    """Return the bed joints of a stack's back face by their heights above the gutter's sole; none where not known.

    The sole lies level with the roof where it meets it, sole x tan p above the roof line at the back arris (derived).
    """
    if side is None:
        return []
    p = math.radians(side.pitch_deg)
    depth, level = side.slope_mm * math.cos(p), side.slope_mm * math.sin(p) + gutter.sole_mm * math.tan(p)
    found = [BedJoint(j.number, j.height_mm(depth) - level) for j in side.joints if j.end_x_mm is None]
    courses = [b.y_mm - a.y_mm for a, b in pairwise(found)]
    if courses and max(courses) - min(courses) <= POINT_MM:  # a gauge, which goes on above the side's own joints
        while found[-1].y_mm < gutter.upstand_mm + courses[0]:
            found.append(BedJoint(found[-1].number + 1, found[-1].y_mm + courses[0]))
    return [joint for joint in found if joint.y_mm > 0]


def _returns(apron: Apron, sides: Iterable[StepFlashing], pieces: Sequence[Piece]) -> list[Return]:
    cheeks = [
        (hand, place_steps(side, lengths)[0])
        for side in sides
        for hand in side.head.hands
        if (lengths := _lengths(side.head, hand, pieces))
    ]
    return returns_on_front(cheeks, apron.width_mm)


def _gauge_mm(details: Iterable[Detail]) -> float:
    """Return the gauge of the job's covering where a detail has soakers; 0 else."""
    return next((detail.gauge_mm for detail in details if isinstance(detail, Soakers)), 0.0)
