"""Marks against the survey and the neighbours: a line in the wrong place sends lead to the wrong place.

A water line stands at its height over the whole length; a lap mark lies where the neighbour really ends; the lines
of bossed work, of a wood-cored roll and of a seam lie where wall, roof and roll have them. Each mark must be one of
these, and none may be missing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from shapely import LineString, hausdorff_distance

from cutpath.folding.flat import Flat
from cutpath.folding.gap import Gap, cos_sin
from cutpath.folding.laps import levels, reach_mm
from cutpath.folding.space import Array
from cutpath.folding.tongue import TongueEnd, to_wall, tooth_at_change
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.pattern import Mark, MarkKind, MarkUse, PartKind, Side
from cutpath.values.survey import (
    Apron,
    BackGutter,
    CornerWork,
    Detail,
    PipeSlate,
    RidgeSaddle,
    StepFlashing,
    TopAbutment,
)

HELD = frozenset({MarkKind.WATER_LINE, MarkKind.LAP, MarkKind.BOSSING, MarkKind.ROLL, MarkKind.CENTRE})


@dataclass(frozen=True, slots=True)
class _DueMark:
    """A mark that must be there (or may, where ``needed`` is not set): its kind and points, and what tells it apart."""

    kind: MarkKind
    points: Array
    use: MarkUse | None = None
    side: Side | None = None
    needed: bool = True

    def is_of(self, mark: Mark) -> bool:
        """Tell whether it is the line of a mark, which may stand for the ends of both neighbours."""
        both = mark.use is MarkUse.BOTH_LENGTHS and self.use in {MarkUse.LENGTH_BELOW, MarkUse.LENGTH_ABOVE}
        return self.kind is mark.kind and self.side is mark.side and (both or self.use is mark.use)

    @property
    def words(self) -> str:
        """What it is, for a message."""
        side = f", {self.side.value}" if self.side else ""
        return f"{self.use.value if self.use else self.kind.value}{side}"


def mark_gaps(detail: Detail, flat: Flat, low: Flat | None, high: Flat | None, over: TongueEnd | None) -> list[Gap]:
    """Hold the marks of a piece to their places.

    Parameters
    ----------
    low, high : Flat or None
        The neighbours in its run.
    over : TongueEnd or None
        Where a tongue from above a change of pitch ends on this run.
    """
    wanted = [*_own(detail, flat), *_laps(detail, flat, low, high), *_change(detail, flat, high, over)]
    size = float(np.ptp(flat.ring, axis=0).max())
    found: list[Gap] = []
    met: set[int] = set()
    alone = isinstance(detail, StepFlashing) and detail.lapped_mm > 0 and over is None
    for mark, points in flat.marks:
        if mark.kind not in HELD or (alone and mark.use is MarkUse.TONGUE_ABOVE):
            continue  # the run above a change of pitch was refused: it says itself why
        alike = [at for at, line in enumerate(wanted) if line.is_of(mark)]
        apart = {at: _apart(points, wanted[at].points) for at in alike}
        met |= {at for at, mm in apart.items() if mm <= FOLD_DEVIATION_MM}
        found.append(Gap(min(apart.values(), default=size), f"the mark '{mark.name}' lies in the wrong place"))
    found += [
        Gap(size, f"the mark of the {line.words} is missing")
        for at, line in enumerate(wanted)
        if line.needed and at not in met
    ]
    return found


def _apart(one: Array, other: Array) -> float:
    return float(hausdorff_distance(LineString(one), LineString(other)))


def _own(detail: Detail, flat: Flat) -> Iterator[_DueMark]:
    """Yield the marks that follow from the survey alone."""
    match detail:
        case StepFlashing():
            yield _water_line(detail, flat)
        case Apron() if detail.corners is CornerWork.BOSSED:
            yield from _apron_roof_line(detail, flat)
        case TopAbutment() if detail.corners is CornerWork.BOSSED:
            yield from _plumb_in_the_corner(detail, flat)
        case BackGutter() if flat.part is not PartKind.GUSSET:
            yield from _gutter(detail, flat)
        case RidgeSaddle() if detail.corners is CornerWork.BOSSED:
            yield from _saddle(detail)
        case PipeSlate() if flat.part is PartKind.SLEEVE:
            girth = 2 * math.pi * (detail.pipe_mm / 2 + detail.clearance_mm)
            yield _DueMark(MarkKind.LAP, np.array([[girth, 0.0], [girth, detail.sleeve_mm]]), MarkUse.SEAM)
        case PipeSlate():
            top = (detail.pipe_mm / 2 + detail.clearance_mm) / cos_sin(detail.pitch_deg)[0]
            yield _DueMark(MarkKind.CENTRE, np.array([[0.0, top], [0.0, top + detail.above_mm]]))
        case _:
            pass


def lower_end(survey: StepFlashing, height_mm: float) -> tuple[float, float]:
    """Return the point of the strip frame at a height, square to the roof, on the plumb lower end of a run."""
    c, s = cos_sin(survey.pitch_deg)
    return (survey.set_back_mm + height_mm * s) / c, height_mm


def _water_line(survey: StepFlashing, flat: Flat) -> _DueMark:
    water = survey.water_line_mm
    start = lower_end(survey, water)[0] if flat.ends[0] else reach_mm(flat.ring, water, -1)
    points = [[start, water], [reach_mm(flat.ring, water, 1), water]]
    return _DueMark(MarkKind.WATER_LINE, np.array(points))


def _laps(detail: Detail, flat: Flat, low: Flat | None, high: Flat | None) -> Iterator[_DueMark]:
    """Yield the real ends of the neighbours, as far as they lie on this piece.

    A corner piece lies whole under the run, which begins at its own lower end: nothing is marked on it.
    """
    if flat.part is PartKind.CORNER_PIECE:
        return
    for other, use, end in ((low, MarkUse.LENGTH_BELOW, 1), (high, MarkUse.LENGTH_ABOVE, -1)):
        if other is None:
            continue
        lines = [[reach_mm(other.ring, height, end), height] for height in sorted(set(levels(detail)))]
        inside = all((reach_mm(flat.ring, height, end) - x) * end > FOLD_DEVIATION_MM for x, height in lines)
        yield _DueMark(MarkKind.LAP, np.array(lines), use, needed=inside)


def _change(detail: Detail, flat: Flat, high: Flat | None, over: TongueEnd | None) -> Iterator[_DueMark]:
    """Yield the marks at a change of pitch: where the tongue above ends, and where a tongue of one's own begins."""
    if not isinstance(detail, StepFlashing):
        return
    if over is not None and over.joint in flat.steps - (high.steps if high else set()):  # where it shows
        at_cover = [[over.foot[0], -detail.cover_mm]] if detail.cover_mm else []
        yield _DueMark(MarkKind.LAP, np.array([*at_cover, over.foot, over.head]), MarkUse.TONGUE_ABOVE)
    tooth = tooth_at_change(detail, flat) if detail.tongue is not None and flat.ends[0] else None
    if tooth is not None:
        points = np.array([[0.0, 0.0], [0.0, tooth.y_mm]]) @ to_wall(detail)
        yield _DueMark(MarkKind.LAP, points, MarkUse.CHANGE_OF_PITCH)


def _arrises(width_mm: float, flat: Flat) -> list[tuple[Side, float, float]]:
    """Return side, place and outward way of the arrises that a piece goes round."""
    sides = [(Side.LEFT, 0.0, -1.0, flat.ends[0]), (Side.RIGHT, width_mm, 1.0, flat.ends[1])]
    return [(side, x, out) for side, x, out, there in sides if there]


def _apron_roof_line(survey: Apron, flat: Flat) -> Iterator[_DueMark]:
    """On the side of the stack the roof rises from the foot of the arris, to the joint or the side's end."""
    if not survey.side_mm:
        return
    c, s = cos_sin(survey.pitch_deg)
    reach = min(survey.side_mm, survey.upstand_mm * c / s)
    for side, x, out in _arrises(survey.width_mm, flat):
        yield _DueMark(MarkKind.BOSSING, np.array([[x, 0.0], [x + out * reach, reach * s / c]]), side=side)


def _plumb_in_the_corner(survey: TopAbutment, flat: Flat) -> Iterator[_DueMark]:
    """Yield the plumb line seen on the stop end: it leans up the roof, as far as upstand and stop end go."""
    c, s = cos_sin(survey.pitch_deg)
    for side, x, out in _arrises(survey.length_mm, flat):
        height = survey.stop_left_mm if out < 0 else survey.stop_right_mm
        if height:
            plumb = min(survey.upstand_mm, height / c)
            far = [x + out * plumb * c, plumb * s]
            yield _DueMark(MarkKind.BOSSING, np.array([[x, 0.0], far]), side=side)


def _gutter(survey: BackGutter, flat: Flat) -> Iterator[_DueMark]:
    if survey.corners is CornerWork.BOSSED and survey.side_mm:
        for side, x, _ in _arrises(survey.width_mm, flat):
            yield _DueMark(MarkKind.BOSSING, np.array([[x, 0.0], [x, -survey.sole_mm]]), side=side)
    if flat.ends == (True, True):
        return
    half = survey.roll_core_mm / 2
    x = survey.width_mm / 2 + (-half if flat.ends[0] else half)
    use = MarkUse.UNDERCLOAK if flat.ends[0] else MarkUse.OVERCLOAK
    points = [[x, -survey.sole_mm - survey.up_roof_mm], [x, survey.upstand_mm]]
    yield _DueMark(MarkKind.ROLL, np.array(points), use)


def _saddle(survey: RidgeSaddle) -> Iterator[_DueMark]:
    """Yield the lines that come plumb over the ridge, as far off plumb in the flat as the roof is pitched."""
    c, s = cos_sin(survey.pitch_deg)
    far = min(survey.upstand_mm / c, survey.width_mm / 2 / s)
    for side, way in ((Side.LEFT, -1.0), (Side.RIGHT, 1.0)):
        points = [[0.0, 0.0], [way * far * s, far * c]]
        yield _DueMark(MarkKind.BOSSING, np.array(points), side=side)
