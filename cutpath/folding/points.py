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
from cutpath.folding.gutters import OVER_FILLET
from cutpath.folding.laps import reach_mm
from cutpath.folding.marks import lower_end
from cutpath.folding.space import Array
from cutpath.folding.steps import toe
from cutpath.folding.tongue import to_wall, tongue_end
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.pattern import MarkKind
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

_Points = Iterator[tuple[str, Sequence[float] | Array]]

ROUND_A_SLEEVE = (
    "seam",
    "1/8 round",
    "1/4 round",
    "3/8 round",
    "lower side",
    "5/8 round",
    "3/4 round",
    "7/8 round",
    "seam again",
)


def point_gaps(detail: Detail, flat: Flat, used: Sequence[BedJoint]) -> list[Gap]:
    """Hold the setting-out points of a piece to their places; ``used`` are the joints that its run turns into."""
    there: dict[str, list[Array]] = {}
    for name, at in flat.stations:
        there.setdefault(name, []).append(at)
    size = float(np.ptp(flat.ring, axis=0).max())
    found: list[Gap] = []
    for name, wanted in _wanted(detail, flat, used):
        points = there.pop(name, [])
        off = max((float(np.hypot(*(point - np.asarray(wanted)))) for point in points), default=size)
        found.append(Gap(off, f"the setting-out point '{name}' is " + ("out of its place" if points else "missing")))
    corners = flat.corners
    for name, points in there.items():
        off = max(float(np.linalg.norm(corners - point, axis=1).min()) for point in points)
        found.append(Gap(off, f"the setting-out point '{name}' lies on no corner of the pattern"))
    return found


def _wanted(detail: Detail, flat: Flat, used: Sequence[BedJoint]) -> _Points:  # noqa: C901 - one line to a kind
    match detail:
        case StepFlashing():
            yield from _steps(detail, flat, used)
            yield from _return(detail, flat)
        case Soakers():
            yield from _soaker(detail, flat)
        case Apron() if flat.family != "gusset":
            yield from _apron(flat)
        case TopAbutment():
            yield from _abutment(flat)
        case CoverFlashing():
            yield from _cover(detail, flat)
        case BackGutter() if flat.family == "gusset":
            yield from _gutter_gusset(detail, flat)
        case BackGutter():
            yield from _gutter(flat)
        case RidgeSaddle() if flat.family == "gusset":
            yield "foot on the ridge", flat.ring[np.argmax(flat.ring[:, 1])]
        case RidgeSaddle():
            yield "ridge at the lower edge", _fold(flat, "ridge")[0]
            yield "ridge at the wall", _fold(flat, "ridge")[1]
            yield "wall fold, left", _fold(flat, "wall, left")[0]
            yield "wall fold, right", _fold(flat, "wall, right")[1]
        case ValleyGutter() | AbutmentGutter():
            for name, (low, high) in flat.folds:
                yield f"{name}, lower end", low
                yield f"{name}, upper end", high
        case PipeSlate():
            yield from _pipe(detail, flat)
        case _:
            pass


def _fold(flat: Flat, *names: str) -> Array:
    """Return the ends of the folds of these names, as though they were one; none: they lie nowhere."""
    ends = [points for name, points in flat.folds if name in names]
    if not ends:
        return np.full((2, 2), math.inf)
    both = np.vstack(ends)
    both = both[np.lexsort((both[:, 1], np.round(both[:, 0], 6)))]
    return both[[0, -1]]


def _edge(flat: Flat, level: float, side: int) -> tuple[float, float]:
    return reach_mm(flat.ring, level, side), level


def _steps(survey: StepFlashing, flat: Flat, used: Sequence[BedJoint]) -> _Points:
    """Return the points of steps: a riser begins where the step before ends, and its head is where the fold begins."""
    c, s = cos_sin(survey.pitch_deg)
    carry = np.array([[c, s], [-s, c]])
    numbers = [joint.number for joint in used]
    for joint in used:
        n = joint.number
        axis = next((points for name, points in flat.folds if name == f"turn-in {n}"), None)
        part = flat.parts.get(f"turn-in {n}")
        if axis is None or part is None:
            continue
        head, end = axis
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
        yield f"riser {n} foot", foot
        yield f"fold {n} start, riser {n} head", head
        yield f"fold {n} end", end
        yield f"turn-in {n} top, start", tops[0]
        yield f"turn-in {n} top, end", tops[-1]
    edge = "roof line" if survey.cover_mm else "roof edge"
    lower = lower_end(survey, 0.0) if flat.ends[0] else _edge(flat, 0.0, -1)
    upper = _edge(flat, 0.0, 1)
    if survey.tongue is not None and flat.ends[0]:
        yield f"change of pitch at the {edge}", (0.0, 0.0)
        end = tongue_end(survey, flat)
        yield "tongue, foot of its end", (math.inf, math.inf) if end is None else _on_own_strip(survey, end.foot)
    else:
        yield f"lower end at the {edge}", lower
    yield f"upper end at the {edge}", upper
    if survey.cover_mm:
        yield "lower end at the cover edge", (lower[0], -survey.cover_mm)
        yield "upper end at the cover edge", (upper[0], -survey.cover_mm)


def _foot_on_a_tongue(survey: StepFlashing, flat: Flat, before: int | None) -> Array:
    """Return the foot of a riser where the fold ``before`` ends; the first is on the end, at the lower water line."""
    if before is not None:
        end_of_fold: Array = _fold(flat, f"turn-in {before}")[1]
        return end_of_fold
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
    folds = [name for name, _ in flat.folds if name.startswith("return turn-in ")]
    if not folds:
        return
    c, s = cos_sin(survey.pitch_deg)
    (joint,) = [j for j in survey.joints if folds[0] == f"return turn-in {j.number}"] or [BedJoint(0, math.inf)]
    corner, t = survey.corner, survey.turn_in_mm
    mitred = any(name == f"turn-in {joint.number}" for name, _ in flat.folds)
    for name, x, y in (
        ("arris foot", 0.0, corner.foot_mm),
        ("arris head", 0.0, joint.y_mm),
        ("return foot, outer", -corner.length_mm, corner.foot_mm),
        ("return fold, outer", -corner.length_mm, joint.y_mm),
        ("return turn-in top, inner", -t if mitred else 0.0, joint.y_mm + t),
        ("return turn-in top, outer", -corner.length_mm, joint.y_mm + t),
    ):
        yield name, (x * c + y * s, y * c - x * s)


def _soaker(survey: Soakers, flat: Flat) -> _Points:
    yield "upstand fold, tail", _fold(flat, "upstand")[0]
    yield "upstand fold, head", _fold(flat, "upstand")[1]
    yield "turn-down fold at the free edge", (survey.length_mm - survey.turn_down_mm, 0.0)


def _apron(flat: Flat) -> _Points:
    yield from _front(flat)
    for name in ("left arris", "right arris"):
        if any(fold == name for fold, _ in flat.folds):
            yield f"{name} at the front fold", _fold(flat, name)[0]
            yield f"{name} at the turn-in fold", _fold(flat, name)[1]


def _abutment(flat: Flat) -> _Points:
    yield from _front(flat)
    for name in ("left stop end", "right stop end"):
        if any(fold == name for fold, _ in flat.folds):
            yield f"{name} at the cover edge", _fold(flat, name)[0]


def _front(flat: Flat) -> _Points:
    low = float(flat.ring[:, 1].min())
    for at, (word, side) in enumerate((("left", -1), ("right", 1))):
        yield f"cover edge, {word} end", _edge(flat, low, side)
        yield f"front fold, {word}", _fold(flat, "front")[at]
        yield f"turn-in fold, {word}", _fold(flat, "turn-in", "return turn-in")[at]


def _cover(survey: CoverFlashing, flat: Flat) -> _Points:
    words = ("lower", "upper") if survey.slope_deg else ("left", "right")
    for at, (word, side) in enumerate(zip(words, (-1, 1), strict=True)):
        yield f"{word} end at the free edge", _edge(flat, 0.0, side)
        yield f"turn-in fold, {word} end", _fold(flat, "turn-in", "return turn-in")[at]
    for name in ("left arris", "right arris"):
        if any(fold == name for fold, _ in flat.folds):
            yield f"{name} at the free edge", _fold(flat, name)[0]
            yield f"{name} at the turn-in fold", _fold(flat, name)[1]


def _gutter(flat: Flat) -> _Points:
    low = float(flat.ring[:, 1].min())
    for at, (word, side) in enumerate((("left", -1), ("right", 1))):
        yield f"free edge, {word} end", _edge(flat, low, side)
        yield f"sole fold, {word}", _fold(flat, "sole")[at]
        yield f"wall fold, {word}", _fold(flat, "wall")[at]
        if any(name == f"{word} arris" for name, _ in flat.folds):
            yield f"{word} arris at the top of the upstand", _fold(flat, f"{word} arris")[1]
        for name in OVER_FILLET:
            if any(fold == name for fold, _ in flat.folds):
                yield f"{name}, {word} end", _fold(flat, name)[at]
    for mark, points in flat.marks:
        if mark.kind is MarkKind.ROLL:
            yield "foot of the roll", points[np.argmin(points[:, 1])]


def _gutter_gusset(survey: BackGutter, flat: Flat) -> _Points:
    c, s = cos_sin(survey.pitch_deg)
    level = survey.sole_mm + survey.side_mm
    yield "where sole and roof meet", (0.0, 0.0)
    yield "end of the wing", _fold(flat, "roof line")[0]
    yield "arris", (survey.sole_mm * c, survey.sole_mm * s)
    yield "lower end on the roof line", _fold(flat, "roof line")[1]
    yield "lower end at the return", (level * c, level * s)


def _pipe(survey: PipeSlate, flat: Flat) -> _Points:
    c, s = cos_sin(survey.pitch_deg)
    r = survey.pipe_mm / 2 + survey.clearance_mm
    if flat.family == "sleeve":
        for eighths, name in enumerate(ROUND_A_SLEEVE):
            down = 1 - math.cos(math.pi * eighths / 4)
            yield f"foot, {name}", (math.pi * r * eighths / 4, survey.sleeve_mm + r * down * s / c)
        return
    yield "hole, left", (-r, 0.0)
    yield "hole, right", (r, 0.0)
    yield "hole, lower end", (0.0, -r / c)
    yield "hole, upper end", (0.0, r / c)
