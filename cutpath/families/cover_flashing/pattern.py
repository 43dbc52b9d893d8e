"""Cover flashings: a strip turned into a chase, level or raking, in one length or several.

Run frame, right-handed: x along the chase up the slope, y square to it; the free lower edge lies on y = 0, the
fold on y = cover. The ends of a raking cover flashing are plumb on the wall. A level one may go round the arris at
each end, x = 0 and x = length: a plumb fold, and turn-ins mitred there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.arrises import (
    MITRE,
    RETURN_TURN_IN,
    TURN_IN,
    arris_folds,
    arris_stations,
    arrises_of,
    turn_in_fold,
)
from cutpath.families.frame import LABEL_CLEAR_MM, Shape, between_laps, lap_marks, to_pattern
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import CoverFlashing
from cutpath.values.pattern import (
    Course,
    Edge,
    EdgeUse,
    FlatPattern,
    FoldUse,
    LabelBox,
    PartKind,
    Point,
    Station,
    StationUse,
)


def check(survey: CoverFlashing) -> tuple[Finding, ...]:
    """Find a return too short, or a face too narrow, for turn-ins that are mitred at the arris."""
    tight = min(survey.return_mm, survey.length_mm / 2)
    if survey.return_mm == 0 or tight > survey.turn_in_mm + POINT_MM:
        return ()
    return (
        Finding(
            "CP408",
            survey.head.origin.key("returns"),
            f"{tight:g} mm on one side of the arris",
            f"more than the turn-in of {survey.turn_in_mm:g} mm, so that the turn-ins can be mitred there",
            "lengthen the returns, or take a shallower turn-in",
        ),
    )


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
    lean = sure.tan(math.radians(survey.slope_deg))
    cover = survey.cover_mm

    def at(x: float, y: float) -> tuple[float, float]:
        return (x + y * lean, y)

    left, right = between_laps((lap_below_mm, lap_above_mm), (start_mm, end_mm), cover)
    arrises = arrises_of(survey.length_mm, start_mm, end_mm)
    faces = [start_mm, *(x for _, x in arrises), end_mm]
    left, right = max(left, 0.0), min(right, survey.length_mm)
    low, high = ("lower", "upper") if survey.slope_deg else ("left", "right")
    clear = LABEL_CLEAR_MM
    room, height = right - left - 2 * clear, cover - 2 * clear
    if lean:
        height = min(height, room / (2 * lean))  # the ends lean away from lettering that stands too high
    return to_pattern(
        Shape(
            family="cover flashing",
            part=PartKind.LENGTH,
            sides=(
                (at(start_mm, 0.0), Edge("free edge", EdgeUse.FREE)),
                (at(end_mm, 0.0), Edge(f"{high} end", EdgeUse.END)),
                *_top_edge(survey, start_mm, end_mm, at),
            ),
            folds=(
                *(turn_in_fold(at(a, cover), at(b, cover), on_face=_is_on_face(survey, a)) for a, b in pairwise(faces)),
                *arris_folds(arrises, lambda x: (at(x, 0.0), at(x, cover))),
            ),
            label=LabelBox(
                (left + (clear + height) * lean + clear, clear), 0.0, max(room - height * lean, 1.0), max(height, 1.0)
            ),
            length_mm=end_mm - start_mm,
            marks=tuple(
                lap_marks(lap_below_mm, lap_above_mm, lambda x: (at(x, 0.0), at(x, cover)), level=not survey.slope_deg)
            ),
            stations=(
                Station(f"{low} end at the free edge", StationUse.OPEN_EDGE_START, at(start_mm, 0.0)),
                Station(f"turn-in fold, {low} end", StationUse.START, at(start_mm, cover), FoldUse.TURN_IN),
                *arris_stations(arrises, "free edge", StationUse.START, lambda x: at(x, 0.0)),
                *arris_stations(arrises, "turn-in fold", StationUse.END, lambda x: at(x, cover)),
                Station(f"turn-in fold, {high} end", StationUse.END, at(end_mm, cover), FoldUse.TURN_IN),
                Station(f"{high} end at the free edge", StationUse.OPEN_EDGE_END, at(end_mm, 0.0)),
            ),
            course=Course.UP if survey.slope_deg else Course.LEVEL,
        )
    )


def _is_on_face(survey: CoverFlashing, start_mm: float) -> bool:
    return 0.0 <= start_mm < survey.length_mm


def _top_edge(
    survey: CoverFlashing, start_mm: float, end_mm: float, at: Callable[[float, float], Point]
) -> list[tuple[Point, Edge]]:
    """Return the outline along the turn-ins from the upper end to the lower, with a mitre at each arris."""
    cover, t, w = survey.cover_mm, survey.turn_in_mm, survey.length_mm
    top = cover + t
    edge = [(at(end_mm, top), TURN_IN if _is_on_face(survey, end_mm - t) else RETURN_TURN_IN)]
    if end_mm > w:
        edge += [(at(w + t, top), MITRE), (at(w, cover), MITRE), (at(w - t, top), TURN_IN)]
    if start_mm < 0.0:
        edge += [(at(t, top), MITRE), (at(0.0, cover), MITRE), (at(-t, top), RETURN_TURN_IN)]
    return [*edge, (at(start_mm, top), Edge("lower end" if survey.slope_deg else "left end", EdgeUse.END))]
