"""Step flashings: what they are held to besides their steps, in the strip frame; frames of `cutpath.values.proof`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from cutpath.folding.claim import Claims
from cutpath.folding.due import DueMark, Points, edge_at, key
from cutpath.folding.flat import Flat, reach_mm
from cutpath.folding.gap import cos_sin
from cutpath.folding.sides import side_of
from cutpath.folding.space import Array, axes
from cutpath.folding.steps import levels, lower_end, step_gaps, toe
from cutpath.folding.tongue import TongueEnd, to_wall, tongue_end, tooth_at_change
from cutpath.folding.used import passed_over, spare_lap
from cutpath.recheck.counts import step_lengths
from cutpath.recheck.joints import check_joints
from cutpath.recheck.second import Second, always
from cutpath.recheck.sizes import check_steps, depth_of_stack
from cutpath.recheck.slopes import check_change, cover_rise
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import CornerKind, StepFlashing
from cutpath.values.pattern import FoldUse, MarkKind, MarkUse, PartKind, StationUse
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, Chimney, Hand


def _marks(survey: StepFlashing, flat: Flat) -> Iterator[DueMark]:
    water = survey.water_line_mm
    start = lower_end(survey, water)[0] if flat.ends[0] else reach_mm(flat.ring, water, -1)
    points = [[start, water], [reach_mm(flat.ring, water, 1), water]]
    yield DueMark(MarkKind.WATER_LINE, np.array(points))


def _change(survey: StepFlashing, flat: Flat, high: Flat | None, over: TongueEnd | None) -> Iterator[DueMark]:
    """Yield the marks at a change of pitch: where the tongue above ends, and where a tongue of one's own begins."""
    if over is not None and over.joint in flat.steps - (high.steps if high else set()):  # where it shows
        at_cover = [[over.foot[0], -survey.cover_mm]] if survey.cover_mm else []
        yield DueMark(MarkKind.LAP, np.array([*at_cover, over.foot, over.head]), MarkUse.TONGUE_ABOVE)
    tooth = tooth_at_change(survey, flat) if survey.tongue is not None and flat.ends[0] else None
    if tooth is not None:
        points = np.array([[0.0, 0.0], [0.0, tooth.y_mm]]) @ to_wall(survey)
        yield DueMark(MarkKind.LAP, points, MarkUse.CHANGE_OF_PITCH)


def _points(survey: StepFlashing, flat: Flat, used: Sequence[BedJoint]) -> Points:
    yield from _steps(survey, flat, used)
    yield from _return(survey, flat)


def _steps(survey: StepFlashing, flat: Flat, used: Sequence[BedJoint]) -> Points:
    """Return the points of steps: a riser begins where the step before ends, and its head is where the fold begins."""
    c, s = cos_sin(survey.pitch_deg)
    carry = np.array([[c, s], [-s, c]])
    numbers = [joint.number for joint in used]
    turned = FoldUse.STEP_TURN_IN
    for joint in used:
        n = joint.number
        step = flat.step(n)
        part = flat.parts.get(step[0]) if step else None
        if step is None or part is None:
            continue
        head, end = step[1]
        way = (end - head) / np.hypot(*(end - head))
        off = part - head
        tops = part[np.abs(off @ [-way[1], way[0]]) > FOLD_DEVIATION_MM]
        tops = tops[np.argsort(tops @ way)]
        before = numbers.index(n) - 1
        first = before < 0
        foot: Sequence[float] | Array = carry @ toe(survey, used[before])
        if survey.tongue is not None and flat.ends[0]:
            foot = _foot_on_a_tongue(survey, flat, numbers[before] if not first else None)
        elif first:
            foot = lower_end(survey, survey.water_line_mm)
        yield key(StationUse.RISER_FOOT, number=n), foot
        yield key(StationUse.START, turned, n), head
        yield key(StationUse.END, turned, n), end
        yield key(StationUse.TOP_START, turned, n), tops[0]
        yield key(StationUse.TOP_END, turned, n), tops[-1]
    lower = lower_end(survey, 0.0) if flat.ends[0] else edge_at(flat, 0.0, -1)
    upper = edge_at(flat, 0.0, 1)
    if survey.tongue is not None and flat.ends[0]:
        yield key(StationUse.CHANGE_OF_PITCH), (0.0, 0.0)
        end = tongue_end(survey, flat)
        foot = (math.inf, math.inf) if end is None else _on_own_strip(survey, end.foot)
        yield key(StationUse.TONGUE_FOOT), foot
    else:
        yield key(StationUse.LOWER_END), lower
    yield key(StationUse.UPPER_END), upper
    if survey.cover_mm:
        yield key(StationUse.OPEN_EDGE_START), (lower[0], -survey.cover_mm)
        yield key(StationUse.OPEN_EDGE_END), (upper[0], -survey.cover_mm)


def _foot_on_a_tongue(survey: StepFlashing, flat: Flat, before: int | None) -> Array:
    """Return the foot of a riser where the fold ``before`` ends; the first is on the end, at the lower water line."""
    if before is not None:
        step = flat.step(before)
        return step[1][1] if step else np.full(2, math.inf)
    end = tongue_end(survey, flat)
    if survey.tongue is None or end is None:
        return np.full(2, math.inf)
    share = survey.tongue.below.water_line_mm / float(end.head[1])
    return _on_own_strip(survey, end.foot + (end.head - end.foot) * share)


def _on_own_strip(survey: StepFlashing, at: Array) -> Array:
    """Carry a point from the strip frame of the run below a change of pitch into that of the run above it."""
    assert survey.tongue is not None  # noqa: S101 - asked for only where there is one
    below = survey.tongue.below
    placed: Array = to_wall(survey).T @ to_wall(below) @ (at - np.array([below.slope_mm, 0.0]))
    return placed


def _return(survey: StepFlashing, flat: Flat) -> Points:
    """Return the points of a return, beyond the arris in the unrolled wall; a mitre begins as far out as it is deep."""
    joints = [fold.joint for fold, _ in flat.folds if fold.use is FoldUse.RETURN_TURN_IN]
    if not joints:
        return
    c, s = cos_sin(survey.pitch_deg)
    (joint,) = [j for j in survey.joints if j.number == joints[0]] or [BedJoint(0, math.inf)]
    corner, t = survey.corner, survey.turn_in_mm
    mitred = joint.number in flat.steps
    turned = FoldUse.RETURN_TURN_IN
    for what, x, y in (
        (key(StationUse.START, FoldUse.ARRIS), 0.0, corner.foot_mm),
        (key(StationUse.END, FoldUse.ARRIS), 0.0, joint.y_mm),
        (key(StationUse.RETURN_FOOT), -corner.length_mm, corner.foot_mm),
        (key(StationUse.START, turned), -corner.length_mm, joint.y_mm),
        (key(StationUse.TOP_END, turned), -t if mitred else 0.0, joint.y_mm + t),
        (key(StationUse.TOP_START, turned), -corner.length_mm, joint.y_mm + t),
    ):
        yield what, (x * c + y * s, y * c - x * s)


def _places(_: StepFlashing, chimney: Chimney, piece: Piece) -> list[Array]:
    x0, out = side_of(chimney, right=piece.hand is not Hand.LEFT)
    return [axes((0, 0, -1), (0, 1, 0), (out, 0, 0), (x0, 0, 0))]


CLAIMS = Claims(
    gaps=lambda survey, piece: step_gaps(survey, piece.faces, piece.inner, piece.ends),
    tilt_deg=lambda survey: survey.pitch_deg,
    window=lambda _: (0.0, math.inf),
    levels=levels,
    foot_mm=0.0,  # a tongue may hang lower than the roof line of its strip
    marks=_marks,
    points=_points,
    joints=lambda survey: survey.joints,
    passed_over=passed_over,
    spare_lap=spare_lap,
    tongue=lambda survey: survey.tongue,
    tongue_end=tongue_end,
    lapped_mm=lambda survey: survey.lapped_mm,
    change=_change,
    places=_places,
)

SECOND = Second(
    "step_flashing",
    sizes=(("length", "slope_mm", ""), ("turn_in", "turn_in_mm", "turn_in")),
    handed=always,
    parts=lambda steps: {PartKind.CORNER_PIECE: int(steps.corner.kind is CornerKind.SEPARATE)},
    lengths=step_lengths,
    further=check_steps,
    survey=lambda asked, steps: (*check_joints(asked, steps), *check_change(asked, steps)),
    on_stack=depth_of_stack,
    on_wall=True,
    rise=cover_rise,
)
