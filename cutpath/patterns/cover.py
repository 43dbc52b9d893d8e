"""Cover flashings: a strip turned into a chase, level or raking, in one length or several.

Run frame, right-handed: x along the chase up the slope, y square to it; the free lower edge lies on y = 0, the
fold on y = cover. The ends of a raking cover flashing are plumb on the wall.
"""

from __future__ import annotations

import math

from cutpath.patterns.frame import LABEL_CLEAR_MM, Shape, to_pattern
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, LabelBox, Mark, MarkKind, Station
from cutpath.values.survey import CoverFlashing


def cover_length(
    survey: CoverFlashing, start_mm: float, end_mm: float, lap_below_mm: float | None, lap_above_mm: float | None
) -> FlatPattern:
    """Develop the length between two distances along the free edge.

    Parameters
    ----------
    lap_below_mm : float or None
        Where, along the run, the next lower length ends under this one.
    lap_above_mm : float or None
        Where the next higher length begins over this one.
    """
    lean = math.tan(math.radians(survey.slope_deg))
    cover, top = survey.cover_mm, survey.cover_mm + survey.turn_in_mm

    def at(x: float, y: float) -> tuple[float, float]:
        return (x + y * lean, y)

    laps = (("lap: end of the length below", lap_below_mm), ("lap: start of the length above", lap_above_mm))
    left = lap_below_mm if lap_below_mm is not None else start_mm
    right = lap_above_mm if lap_above_mm is not None else end_mm
    if right - left < 2 * cover:
        left, right = start_mm, end_mm
    clear = LABEL_CLEAR_MM
    corner = at(left, 0.0)[0] + (cover - clear) * max(lean, 0.0) + clear
    return to_pattern(
        Shape(
            family="cover flashing",
            sides=(
                (at(start_mm, 0.0), "free edge"),
                (at(end_mm, 0.0), "upper end"),
                (at(end_mm, top), "turn-in"),
                (at(start_mm, top), "lower end"),
            ),
            folds=(Fold("turn-in", at(start_mm, cover), at(end_mm, cover), 90.0, FoldWay.BACK),),
            label=LabelBox(
                (corner, clear), 0.0, max(at(right, clear)[0] - clear - corner, 1.0), max(cover - 2 * clear, 1.0)
            ),
            length_mm=end_mm - start_mm,
            marks=tuple(Mark(name, MarkKind.LAP, (at(x, 0.0), at(x, cover))) for name, x in laps if x is not None),
            stations=(
                Station("lower end at the free edge", at(start_mm, 0.0)),
                Station("turn-in fold start", at(start_mm, cover)),
                Station("turn-in fold end", at(end_mm, cover)),
                Station("upper end at the free edge", at(end_mm, 0.0)),
            ),
        )
    )
