"""Top-edge abutments: a level wall over the top edge of a lean-to roof.

Run frame: x level along the wall, y up the sheet; the cover lies on the roof below y = 0, the upstand above it, the
turn-in beyond the upstand, as on an apron: the fold at y = 0 bends 90 - p. An end may have a stop end: where a wall
stands across it, x = 0 or x = length, the sheet goes on by the stop end's height and is turned up against that wall.

In that inner corner the two walls and the roof need only 270 + p of the sheet's 360 (derived). Bossed: what is left
over is worked in, or folded to a dog ear, from the uncut sheet. Welded: the stop end is cut to a plumb edge, which
meets the end of the upstand.
"""

from __future__ import annotations

import math

from cutpath import sure
from cutpath.families.arrises import LEFT_END, TURN_IN, Outline, round_the_left, turn_in_fold
from cutpath.families.frame import Shape, between_laps, label_in, lap_marks, to_pattern
from cutpath.values.leadwork import CornerWork, TopAbutment
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


def abutment_length(
    survey: TopAbutment, start_mm: float, end_mm: float, lap_left_mm: float | None, lap_right_mm: float | None
) -> FlatPattern:
    """Develop the length between two distances along the wall; the laps say where a neighbouring length ends."""
    w, cover, up = survey.length_mm, survey.cover_mm, survey.upstand_mm
    top = up + survey.turn_in_mm
    left_stop, right_stop = start_mm < 0.0, end_mm > w
    left, right = max(start_mm, 0.0), min(end_mm, w)
    sides: Outline = [
        ((start_mm, -cover), Edge("cover edge", EdgeUse.COVER)),
        ((end_mm, -cover), Edge("right end", EdgeUse.END)),
    ]
    sides += _stop_end(survey, Side.RIGHT) if right_stop else [((right, top), TURN_IN)]
    sides += round_the_left(_stop_end(survey, Side.LEFT), w) if left_stop else [((left, top), LEFT_END)]
    stops = [(Side.LEFT, 0.0, -1.0)] * left_stop + [(Side.RIGHT, w, 1.0)] * right_stop
    fold_top = 0.0 if survey.corners is CornerWork.WELDED else up
    folds = [
        Fold("front", FoldUse.FRONT, (left, 0.0), (right, 0.0), 90.0 - survey.pitch_deg, FoldWay.FORWARD),
        turn_in_fold((left, up), (right, up), on_face=True),
        *(
            Fold(
                f"{side.value} stop end",
                FoldUse.STOP_END,
                (x, -cover),
                (x, fold_top),
                90.0,
                FoldWay.FORWARD,
                side=side,
            )
            for side, x, _ in stops
        ),
    ]
    marks = lap_marks(lap_left_mm, lap_right_mm, lambda x: ((x, -cover), (x, up)), level=True)
    if survey.corners is not CornerWork.WELDED:
        marks += [_plumb_mark(survey, side, x, way) for side, x, way in stops]
    low, high = between_laps((lap_left_mm, lap_right_mm), (left, right), cover)
    return to_pattern(
        Shape(
            family="top-edge abutment",
            part=PartKind.LENGTH,
            sides=tuple(sides),
            folds=tuple(folds),
            label=label_in(low, -cover, high - low, cover),
            length_mm=end_mm - start_mm,
            marks=tuple(marks),
            stations=(
                Station("cover edge, left end", StationUse.OPEN_EDGE_START, (start_mm, -cover)),
                Station("front fold, left", StationUse.START, (left, 0.0), FoldUse.FRONT),
                Station("turn-in fold, left", StationUse.START, (left, up), FoldUse.TURN_IN),
                *(
                    Station(
                        f"{side.value} stop end at the cover edge",
                        StationUse.START,
                        (x, -cover),
                        FoldUse.STOP_END,
                        side=side,
                    )
                    for side, x, _ in stops
                ),
                Station("front fold, right", StationUse.END, (right, 0.0), FoldUse.FRONT),
                Station("turn-in fold, right", StationUse.END, (right, up), FoldUse.TURN_IN),
                Station("cover edge, right end", StationUse.OPEN_EDGE_END, (end_mm, -cover)),
            ),
            course=Course.LEVEL,
        )
    )


def _stop_end(survey: TopAbutment, side: Side) -> Outline:
    """Return the outline round a stop end, as it stands at the right end, from its outer edge to the turn-in."""
    w, up = survey.length_mm, survey.upstand_mm
    height_mm = survey.stop_left_mm if side is Side.LEFT else survey.stop_right_mm
    top = Edge("top of the stop end", EdgeUse.TOP)
    to_turn_in = [
        ((w, up), Edge(f"square end on the {side.value}", EdgeUse.END)),
        ((w, up + survey.turn_in_mm), TURN_IN),
    ]
    if survey.corners is CornerWork.BOSSED:
        return [((w + height_mm, up), top), *to_turn_in]
    p = math.radians(survey.pitch_deg)
    reach, rise = up * sure.cos(p), up * sure.sin(p)
    to_upstand = Edge("weld to the upstand", EdgeUse.WELD)
    to_turn_in = [((w, 0.0), Edge("weld to the stop end", EdgeUse.WELD_BESIDE)), *to_turn_in]
    if reach < height_mm:
        return [((w + height_mm, 0.0), top), ((w + reach, rise), to_upstand), *to_turn_in]
    return [((w + height_mm, height_mm * sure.tan(p)), to_upstand), *to_turn_in]


def _plumb_mark(survey: TopAbutment, side: Side, x: float, way: float) -> Mark:
    """Mark the line of a bossed stop end that comes plumb into the corner."""
    p = math.radians(survey.pitch_deg)
    height = survey.stop_right_mm if way > 0 else survey.stop_left_mm
    reach = min(survey.upstand_mm, height / sure.cos(p))
    far = (x + way * reach * sure.cos(p), reach * sure.sin(p))
    return Mark(f"plumb in the corner, {side.value}", MarkKind.BOSSING, ((x, 0.0), far), side=side)
