"""Setting-out points against what they name: the ends of folds, the corners of the sheet, the feet of risers.

Folds and corners themselves are proved elsewhere; here every point must lie where its name says, each that the family
has must be there, and a point of any other name must lie on some corner of the pattern.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from cutpath.folding.flat import Flat
from cutpath.folding.gap import Gap, cos_sin
from cutpath.folding.laps import reach_mm
from cutpath.folding.marks import lower_end
from cutpath.folding.space import Array
from cutpath.folding.steps import toe
from cutpath.folding.tongue import to_wall, tongue_end
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.pattern import OVER_FILLET, FoldUse, MarkKind, PartKind, Side, Station, StationKey, StationUse
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    BedJoint,
    CoverFlashing,
    Detail,
    PipeSlate,
    RidgeSaddle,
    Soakers,
    StepFlashing,
    TopAbutment,
    ValleyGutter,
)

_Points = Iterator[tuple[StationKey, Sequence[float] | Array]]

EIGHTHS = 8
"""Points on the foot of a sleeve to one turn round its pipe, and one more where the first comes again."""


def point_gaps(detail: Detail, flat: Flat, used: Sequence[BedJoint]) -> list[Gap]:
    """Hold the setting-out points of a piece to their places; ``used`` are the joints that its run turns into."""
    there: dict[StationKey, list[tuple[Station, Array]]] = {}
    for station, at in flat.stations:
        there.setdefault(station.what, []).append((station, at))
    size = float(np.ptp(flat.ring, axis=0).max())
    found: list[Gap] = []
    for key, wanted in _wanted(detail, flat, used):
        points = there.pop(key, [])
        off = max((float(np.hypot(*(at - np.asarray(wanted)))) for _, at in points), default=size)
        lies = f"'{points[0][0].name}' is out of its place" if points else f"'{_words(key)}' is missing"
        found.append(Gap(off, f"the setting-out point {lies}"))
    corners = flat.corners
    for points in there.values():
        off = max(float(np.linalg.norm(corners - at, axis=1).min()) for _, at in points)
        found.append(Gap(off, f"the setting-out point '{points[0][0].name}' lies on no corner of the pattern"))
    return found


def _words(key: StationKey) -> str:
    """Say in words which point is meant."""
    use, fold, number, side = key
    return ", ".join(str(part) for part in (use.value, fold.value if fold else "", number, side) if part)


def _key(
    use: StationUse, fold: FoldUse | None = None, number: int | None = None, side: Side | None = None
) -> StationKey:
    return use, fold, number, side


def _wanted(detail: Detail, flat: Flat, used: Sequence[BedJoint]) -> _Points:  # noqa: C901 - one line to a kind
    match detail:
        case StepFlashing():
            yield from _steps(detail, flat, used)
            yield from _return(detail, flat)
        case Soakers():
            yield from _ends(flat, FoldUse.UPSTAND)
            at = (detail.length_mm - detail.turn_down_mm, 0.0)
            yield _key(StationUse.START, FoldUse.TURN_DOWN), at
        case Apron() if flat.part is not PartKind.GUSSET:
            yield from _open_edge(flat, float(flat.ring[:, 1].min()))
            yield from _ends(flat, FoldUse.FRONT)
            yield from _turned_in(flat)
            yield from _of_folds(flat, FoldUse.ARRIS)
        case TopAbutment():
            yield from _open_edge(flat, float(flat.ring[:, 1].min()))
            yield from _ends(flat, FoldUse.FRONT)
            yield from _turned_in(flat)
            yield from _of_folds(flat, FoldUse.STOP_END, ends=(StationUse.START,))
        case CoverFlashing():
            yield from _open_edge(flat, 0.0)
            yield from _turned_in(flat)
            yield from _of_folds(flat, FoldUse.ARRIS)
        case BackGutter() if flat.part is PartKind.GUSSET:
            yield from _gutter_gusset(detail, flat)
        case BackGutter():
            yield from _gutter(flat)
        case RidgeSaddle() if flat.part is PartKind.GUSSET:
            yield _key(StationUse.GUSSET_TIP), flat.ring[np.argmax(flat.ring[:, 1])]
        case RidgeSaddle():
            yield from _ends(flat, FoldUse.RIDGE)
            yield _key(StationUse.START, FoldUse.WALL, side=Side.LEFT), _fold(flat, FoldUse.WALL, side=Side.LEFT)[0]
            yield _key(StationUse.END, FoldUse.WALL, side=Side.RIGHT), _fold(flat, FoldUse.WALL, side=Side.RIGHT)[1]
        case ValleyGutter() | AbutmentGutter():
            for use in dict.fromkeys(fold.use for fold, _ in flat.folds):
                yield from _of_folds(flat, use)
        case PipeSlate():
            yield from _pipe(detail, flat)
        case _:
            pass


def _fold(flat: Flat, *uses: FoldUse, side: Side | None = None) -> Array:
    """Return the ends of the folds of these uses, as though they were one; none: they lie nowhere."""
    ends = [points for fold, points in flat.folds if fold.use in uses and fold.side is side]
    if not ends:
        return np.full((2, 2), math.inf)
    both = np.vstack(ends)
    both = both[np.lexsort((both[:, 1], np.round(both[:, 0], 6)))]
    return both[[0, -1]]


def _ends(flat: Flat, use: FoldUse) -> _Points:
    """Return both ends of a fold that must be there."""
    start, end = _fold(flat, use)
    yield _key(StationUse.START, use), start
    yield _key(StationUse.END, use), end


def _turned_in(flat: Flat) -> _Points:
    """Return both ends of a turn-in, its returns included."""
    start, end = _fold(flat, FoldUse.TURN_IN, FoldUse.RETURN_TURN_IN)
    yield _key(StationUse.START, FoldUse.TURN_IN), start
    yield _key(StationUse.END, FoldUse.TURN_IN), end


def _of_folds(flat: Flat, use: FoldUse, ends: tuple[StationUse, ...] = (StationUse.START, StationUse.END)) -> _Points:
    """Return the ends of all folds of one use, on either side."""
    for fold, (start, end) in flat.folds:
        if fold.use is use:
            for which in ends:
                yield _key(which, use, side=fold.side), start if which is StationUse.START else end


def _open_edge(flat: Flat, level: float) -> _Points:
    yield _key(StationUse.OPEN_EDGE_START), _edge(flat, level, -1)
    yield _key(StationUse.OPEN_EDGE_END), _edge(flat, level, 1)


def _edge(flat: Flat, level: float, side: int) -> tuple[float, float]:
    return reach_mm(flat.ring, level, side), level


def _steps(survey: StepFlashing, flat: Flat, used: Sequence[BedJoint]) -> _Points:
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
        yield _key(StationUse.RISER_FOOT, number=n), foot
        yield _key(StationUse.START, turned, n), head
        yield _key(StationUse.END, turned, n), end
        yield _key(StationUse.TOP_START, turned, n), tops[0]
        yield _key(StationUse.TOP_END, turned, n), tops[-1]
    lower = lower_end(survey, 0.0) if flat.ends[0] else _edge(flat, 0.0, -1)
    upper = _edge(flat, 0.0, 1)
    if survey.tongue is not None and flat.ends[0]:
        yield _key(StationUse.CHANGE_OF_PITCH), (0.0, 0.0)
        end = tongue_end(survey, flat)
        foot = (math.inf, math.inf) if end is None else _on_own_strip(survey, end.foot)
        yield _key(StationUse.TONGUE_FOOT), foot
    else:
        yield _key(StationUse.LOWER_END), lower
    yield _key(StationUse.UPPER_END), upper
    if survey.cover_mm:
        yield _key(StationUse.OPEN_EDGE_START), (lower[0], -survey.cover_mm)
        yield _key(StationUse.OPEN_EDGE_END), (upper[0], -survey.cover_mm)


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


def _return(survey: StepFlashing, flat: Flat) -> _Points:
    """Return the points of a return, beyond the arris in the unrolled wall; a mitre begins as far out as it is deep."""
    joints = [fold.joint for fold, _ in flat.folds if fold.use is FoldUse.RETURN_TURN_IN]
    if not joints:
        return
    c, s = cos_sin(survey.pitch_deg)
    (joint,) = [j for j in survey.joints if j.number == joints[0]] or [BedJoint(0, math.inf)]
    corner, t = survey.corner, survey.turn_in_mm
    mitred = joint.number in flat.steps
    turned = FoldUse.RETURN_TURN_IN
    for key, x, y in (
        (_key(StationUse.START, FoldUse.ARRIS), 0.0, corner.foot_mm),
        (_key(StationUse.END, FoldUse.ARRIS), 0.0, joint.y_mm),
        (_key(StationUse.RETURN_FOOT), -corner.length_mm, corner.foot_mm),
        (_key(StationUse.START, turned), -corner.length_mm, joint.y_mm),
        (_key(StationUse.TOP_END, turned), -t if mitred else 0.0, joint.y_mm + t),
        (_key(StationUse.TOP_START, turned), -corner.length_mm, joint.y_mm + t),
    ):
        yield key, (x * c + y * s, y * c - x * s)


def _gutter(flat: Flat) -> _Points:
    yield from _open_edge(flat, float(flat.ring[:, 1].min()))
    yield from _ends(flat, FoldUse.SOLE)
    yield from _ends(flat, FoldUse.WALL)
    yield from _of_folds(flat, FoldUse.ARRIS, ends=(StationUse.END,))
    for use in OVER_FILLET:
        yield from _of_folds(flat, use)
    for mark, points in flat.marks:
        if mark.kind is MarkKind.ROLL:
            yield _key(StationUse.ROLL_FOOT), points[np.argmin(points[:, 1])]


def _gutter_gusset(survey: BackGutter, flat: Flat) -> _Points:
    c, s = cos_sin(survey.pitch_deg)
    level = survey.sole_mm + survey.side_mm
    yield _key(StationUse.GUSSET_TIP), (0.0, 0.0)
    yield from _ends(flat, FoldUse.ROOF_LINE)
    yield _key(StationUse.GUSSET_ARRIS), (survey.sole_mm * c, survey.sole_mm * s)
    yield _key(StationUse.GUSSET_HEEL), (level * c, level * s)


def _pipe(survey: PipeSlate, flat: Flat) -> _Points:
    c, s = cos_sin(survey.pitch_deg)
    r = survey.pipe_mm / 2 + survey.clearance_mm
    if flat.part is PartKind.SLEEVE:
        for eighths in range(EIGHTHS + 1):
            down = 1 - math.cos(math.pi * eighths / 4)
            at = (math.pi * r * eighths / 4, survey.sleeve_mm + r * down * s / c)
            yield _key(StationUse.SLEEVE_FOOT, number=eighths), at
        return
    yield _key(StationUse.HOLE_SIDE, side=Side.LEFT), (-r, 0.0)
    yield _key(StationUse.HOLE_SIDE, side=Side.RIGHT), (r, 0.0)
    yield _key(StationUse.HOLE_LOW), (0.0, -r / c)
    yield _key(StationUse.HOLE_HIGH), (0.0, r / c)
