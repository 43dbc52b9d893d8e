"""Front aprons: turn-in, upstand and cover, with corners bossed or lead-welded.

Run frame: x level along the front face from the left arris (x = 0) to the right one (x = width), y up the sheet;
the cover lies below the front fold at y = 0, the upstand above it, the turn-in beyond the upstand. The angle
between a vertical face and the roof falling away is 90 + p, so the front fold bends 90 - p out of the flat (derived).

Turn-ins. Each face has its own, folded into the same bed joint, and at each arris a notch of 45 degrees either way
keeps the two from lying in the same place behind it: one straight fold cannot be turned round a corner. On the side
the turn-in ends where the roof has risen to the joint; there is no wall above the roof beyond that. Both are derived.

Bossed corners (common practice, no source): about the foot of the arris, face, side and roof need 90 + (90 - p) + 270
degrees of sheet that has 360, so lead is worked in along the roof line, which is marked and not cut. What lies beyond
the roof line is dressed down on the roof under the covering; the strip of the turn-in is cut off square there. For a
welded corner the side is cut to the roof line instead, and a gusset fills the roof beside it.
"""

from __future__ import annotations

import math
from itertools import pairwise

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.arrises import (
    LEFT_END,
    MITRE,
    RETURN_TURN_IN,
    TURN_IN,
    Outline,
    arris_folds,
    arris_stations,
    arrises_of,
    round_the_left,
    turn_in_fold,
)
from cutpath.families.frame import Shape, label_in, lap_marks, to_pattern
from cutpath.plane import bounds_mm
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import Apron, CornerWork
from cutpath.values.pattern import (
    Course,
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    Mark,
    MarkKind,
    PartKind,
    Side,
    Station,
    StationUse,
)


def run_ends_mm(survey: Apron) -> tuple[float, float]:
    """Return the ends of the whole apron along x."""
    return -survey.side_mm, survey.width_mm + survey.side_mm


def return_reach_mm(survey: Apron) -> float:
    """Return the level reach of a side return: to the side's end, or to where the roof line meets the joint."""
    return min(survey.side_mm, survey.upstand_mm / sure.tan(math.radians(survey.pitch_deg)))


def check(survey: Apron) -> tuple[Finding, ...]:
    """Find corners whose turn-ins have no room to be mitred at the arris."""
    reach, half = return_reach_mm(survey), survey.width_mm / 2
    if survey.side_mm == 0 or min(reach, half) > survey.turn_in_mm:
        return ()
    side = f"a side return reaches only {reach:.0f} mm along its joint before it ends"
    return (
        Finding(
            "CP408",
            survey.head.origin.key("side"),
            side if reach <= survey.turn_in_mm else f"the front is only {survey.width_mm:g} mm wide",
            f"more than the turn-in of {survey.turn_in_mm:g} mm on either side, so that the turn-ins can be mitred at "
            "the arris",
            "raise the upstand, lengthen the side, or take a shallower turn-in",
        ),
    )


def apron_length(
    survey: Apron, start_mm: float, end_mm: float, lap_left_mm: float | None, lap_right_mm: float | None
) -> FlatPattern:
    """Develop the length between two distances along the face; see the module for the frame.

    Parameters
    ----------
    lap_left_mm, lap_right_mm : float or None
        Where a neighbouring length ends under or over this one.
    """
    left_corner, right_corner = start_mm < 0.0, end_mm > survey.width_mm
    cover, up, top = survey.cover_mm, survey.upstand_mm, survey.upstand_mm + survey.turn_in_mm
    inner_left, inner_right = max(start_mm, 0.0), min(end_mm, survey.width_mm)
    sides = [
        ((start_mm, -cover), Edge("cover edge", EdgeUse.COVER)),
        ((end_mm, -cover), Edge("right end", EdgeUse.END)),
    ]
    sides += _right_corner(survey) if right_corner else [((end_mm, top), TURN_IN)]
    sides += round_the_left(_right_corner(survey), survey.width_mm) if left_corner else [((start_mm, top), LEFT_END)]
    bend = 90.0 - survey.pitch_deg
    reach = return_reach_mm(survey)
    turn_in_ends = max(start_mm, -reach), min(end_mm, survey.width_mm + reach)
    folds = [Fold("front", FoldUse.FRONT, (inner_left, 0.0), (inner_right, 0.0), bend, FoldWay.FORWARD)]
    folds += _turn_in_folds(survey, turn_in_ends)
    arrises = arrises_of(survey.width_mm, start_mm, end_mm)
    folds += arris_folds(arrises, lambda x: ((x, 0.0), (x, up)))
    marks = lap_marks(lap_left_mm, lap_right_mm, lambda x: ((x, -cover), (x, up)), level=True)
    if survey.corners is CornerWork.BOSSED:
        marks += _bossing_marks(survey, left=left_corner, right=right_corner)
    left = lap_left_mm if lap_left_mm is not None else inner_left
    right = lap_right_mm if lap_right_mm is not None else inner_right
    return to_pattern(
        Shape(
            family="apron",
            part=PartKind.LENGTH,
            sides=tuple(sides),
            folds=tuple(folds),
            label=label_in(left, -cover, right - left, cover),
            length_mm=end_mm - start_mm,
            marks=tuple(marks),
            stations=(
                Station("cover edge, left end", StationUse.OPEN_EDGE_START, (start_mm, -cover)),
                *arris_stations(arrises, "front fold", StationUse.START, lambda x: (x, 0.0)),
                *arris_stations(arrises, "turn-in fold", StationUse.END, lambda x: (x, up)),
                Station("front fold, left", StationUse.START, (inner_left, 0.0), FoldUse.FRONT),
                Station("front fold, right", StationUse.END, (inner_right, 0.0), FoldUse.FRONT),
                Station("turn-in fold, left", StationUse.START, (turn_in_ends[0], up), FoldUse.TURN_IN),
                Station("turn-in fold, right", StationUse.END, (turn_in_ends[1], up), FoldUse.TURN_IN),
                Station("cover edge, right end", StationUse.OPEN_EDGE_END, (end_mm, -cover)),
            ),
            course=Course.LEVEL,
        )
    )


def _turn_in_folds(survey: Apron, ends: tuple[float, float]) -> list[Fold]:
    """Return the turn-in folds, one to each face."""
    up = survey.upstand_mm
    cuts = [ends[0], *(x for x in (0.0, survey.width_mm) if ends[0] < x < ends[1]), ends[1]]
    return [turn_in_fold((a, up), (b, up), on_face=a >= 0.0 and b <= survey.width_mm) for a, b in pairwise(cuts)]


def _right_corner(survey: Apron) -> Outline:
    """Return the outline from the cover's right end round the return to the front turn-in's right end."""
    w, side, up, t = survey.width_mm, survey.side_mm, survey.upstand_mm, survey.turn_in_mm
    reach = return_reach_mm(survey)
    rise = reach * sure.tan(math.radians(survey.pitch_deg))
    to_joint: Outline = []
    if survey.corners is CornerWork.WELDED:
        to_joint = [
            ((w + side, 0.0), Edge("weld to the gusset", EdgeUse.WELD_BESIDE)),
            ((w, 0.0), Edge("weld of the return", EdgeUse.WELD_BESIDE)),
        ]
        end = Edge("return end", EdgeUse.RETURN_END)
        to_joint += [((w + reach, rise), end)] if rise < up - POINT_MM else []
        to_joint.append(((w + reach, up), end))
    elif reach < side - POINT_MM:
        to_joint = [
            ((w + side, up), Edge("top of the side", EdgeUse.TOP)),
            ((w + reach, up), Edge("square end", EdgeUse.END)),
        ]
    return [
        *to_joint,
        ((w + reach, up + t), RETURN_TURN_IN),
        ((w + t, up + t), MITRE),
        ((w, up), MITRE),
        ((w - t, up + t), TURN_IN),
    ]


def _bossing_marks(survey: Apron, *, left: bool, right: bool) -> list[Mark]:
    """Return the marks where the bossed side return meets the roof: a line rising at the pitch from the arris."""
    reach = return_reach_mm(survey)
    rise = reach * sure.tan(math.radians(survey.pitch_deg))
    marks = []
    if left:
        marks.append(Mark("roof line, left", MarkKind.BOSSING, ((0.0, 0.0), (-reach, rise)), side=Side.LEFT))
    if right:
        w = survey.width_mm
        marks.append(Mark("roof line, right", MarkKind.BOSSING, ((w, 0.0), (w + reach, rise)), side=Side.RIGHT))
    return marks


def gusset(survey: Apron) -> FlatPattern | None:
    """Develop the gusset of a welded corner: it lies on the roof beside the return; None where none is needed.

    One side is welded to the cover (the side's length), the other to the foot of the return (its reach up the
    slope). Edges butt: the leadwelder adds laps for a lapped seam. It serves either hand.
    """
    if survey.corners is not CornerWork.WELDED or survey.side_mm == 0:
        return None
    up_slope = return_reach_mm(survey) / sure.cos(math.radians(survey.pitch_deg))
    long, short = max(up_slope, survey.side_mm), min(up_slope, survey.side_mm)
    welds = [Edge("weld to the return", EdgeUse.WELD), Edge("weld to the cover", EdgeUse.WELD)]
    first, last = welds[::-1] if long is survey.side_mm and long is not up_slope else welds
    free = Edge("free edge", EdgeUse.COVERED)
    corners = ((0.0, 0.0), (long, 0.0), (long, short), (0.0, short))
    _, _, width, height = bounds_mm(corners)
    return to_pattern(
        Shape(
            family="gusset",
            part=PartKind.GUSSET,
            sides=tuple(zip(corners, (first, free, free, last), strict=True)),
            folds=(),
            label=label_in(0.0, 0.0, width, height),
            length_mm=long,
        )
    )
