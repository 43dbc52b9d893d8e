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

from cutpath.families.frame import LABEL_CLEAR_MM, Shape, lap_marks, to_pattern
from cutpath.plane import mirrored
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, LabelBox, Mark, MarkKind, Point, Station
from cutpath.values.survey import CornerWork, TopAbutment


def abutment_length(
    survey: TopAbutment, start_mm: float, end_mm: float, lap_left_mm: float | None, lap_right_mm: float | None
) -> FlatPattern:
    """Develop the length between two distances along the wall; the laps say where a neighbouring length ends."""
    w, cover, up = survey.length_mm, survey.cover_mm, survey.upstand_mm
    top = up + survey.turn_in_mm
    left_stop, right_stop = start_mm < 0.0, end_mm > w
    left, right = max(start_mm, 0.0), min(end_mm, w)
    sides: list[tuple[Point, str]] = [((start_mm, -cover), "cover edge"), ((end_mm, -cover), "right end")]
    if right_stop:
        sides += [((w + x, y), name) for (x, y), name in _stop(survey, survey.stop_right_mm)]
        sides.append(((w, up), "right end of the turn-in"))
    sides += [((right, top), "turn-in")]
    if left_stop:
        stop = _stop(survey, survey.stop_left_mm)
        ends = [name for _, name in reversed(stop)]
        points = mirrored(point for point, _ in reversed(stop))
        sides += [((0.0, top), "left end of the turn-in"), ((0.0, up), ends[0])]
        sides += list(zip(points, [*ends[1:], "left end"], strict=True))
    else:
        sides.append(((left, top), "left end"))
    stops = [("left", 0.0, -1.0)] * left_stop + [("right", w, 1.0)] * right_stop
    fold_top = 0.0 if survey.corners is CornerWork.WELDED else up
    folds = [
        Fold("front", (left, 0.0), (right, 0.0), 90.0 - survey.pitch_deg, FoldWay.FORWARD),
        Fold("turn-in", (left, up), (right, up), 90.0, FoldWay.BACK),
        *(Fold(f"{side} stop end", (x, -cover), (x, fold_top), 90.0, FoldWay.FORWARD) for side, x, _ in stops),
    ]
    marks = lap_marks(lap_left_mm, lap_right_mm, lambda x: ((x, -cover), (x, up)), level=True)
    if survey.corners is not CornerWork.WELDED:
        marks += [_plumb_mark(survey, side, x, way) for side, x, way in stops]
    clear = LABEL_CLEAR_MM
    box = (lap_left_mm if lap_left_mm is not None else left, lap_right_mm if lap_right_mm is not None else right)
    if box[1] - box[0] < 2 * cover:
        box = (left, right)
    return to_pattern(
        Shape(
            family="top-edge abutment",
            sides=tuple(sides),
            folds=tuple(folds),
            label=LabelBox(
                (box[0] + clear, -cover + clear),
                0.0,
                max(box[1] - box[0] - 2 * clear, 1.0),
                max(cover - 2 * clear, 1.0),
            ),
            length_mm=end_mm - start_mm,
            marks=tuple(marks),
            stations=(
                Station("cover edge, left end", (start_mm, -cover)),
                Station("front fold, left", (left, 0.0)),
                Station("turn-in fold, left", (left, up)),
                *(Station(f"{side} stop end at the cover edge", (x, -cover)) for side, x, _ in stops),
                Station("front fold, right", (right, 0.0)),
                Station("turn-in fold, right", (right, up)),
                Station("cover edge, right end", (end_mm, -cover)),
            ),
        )
    )


def _stop(survey: TopAbutment, height_mm: float) -> list[tuple[Point, str]]:
    """Return the upper outline of a right-hand stop end from its outer edge to the corner, counted from the corner."""
    up = survey.upstand_mm
    if survey.corners is CornerWork.BOSSED:
        return [((height_mm, up), "top of stop end")]
    p = math.radians(survey.pitch_deg)
    plumb = (up * math.cos(p), up * math.sin(p))
    if plumb[0] < height_mm:
        return [((height_mm, 0.0), "top of stop end"), (plumb, "weld to upstand"), ((0.0, 0.0), "weld to stop end")]
    return [((height_mm, height_mm * math.tan(p)), "weld to upstand"), ((0.0, 0.0), "weld to stop end")]


def _plumb_mark(survey: TopAbutment, side: str, x: float, way: float) -> Mark:
    """Mark the line of a bossed stop end that comes plumb into the corner."""
    p = math.radians(survey.pitch_deg)
    height = survey.stop_right_mm if way > 0 else survey.stop_left_mm
    reach = min(survey.upstand_mm, height / math.cos(p))
    far = (x + way * reach * math.cos(p), reach * math.sin(p))
    return Mark(f"plumb in the corner, {side}", MarkKind.BOSSING, ((x, 0.0), far))
