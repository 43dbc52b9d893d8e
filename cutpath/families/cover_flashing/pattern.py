"""Cover flashings: a strip turned into a chase, level or raking, in one length or several.

Run frame, right-handed: x along the chase up the slope, y square to it; the free lower edge lies on y = 0, the
fold on y = cover. The ends of a raking cover flashing are plumb on the wall. A level one may go round the arris at
each end, x = 0 and x = length: a plumb fold, and turn-ins mitred there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from cutpath.errors import Finding
from cutpath.families.frame import LABEL_CLEAR_MM, Shape, lap_marks, to_pattern
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, LabelBox, Point, Station
from cutpath.values.survey import CoverFlashing


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
    lean = math.tan(math.radians(survey.slope_deg))
    cover = survey.cover_mm

    def at(x: float, y: float) -> tuple[float, float]:
        return (x + y * lean, y)

    left = lap_below_mm if lap_below_mm is not None else start_mm
    right = lap_above_mm if lap_above_mm is not None else end_mm
    if right - left < 2 * cover:
        left, right = start_mm, end_mm
    arrises = [("left", 0.0)] * (start_mm < 0.0) + [("right", survey.length_mm)] * (end_mm > survey.length_mm)
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
            sides=(
                (at(start_mm, 0.0), "free edge"),
                (at(end_mm, 0.0), f"{high} end"),
                *_top_edge(survey, start_mm, end_mm, at),
            ),
            folds=(
                *(
                    Fold(_turn_in_name(survey, a), at(a, cover), at(b, cover), 90.0, FoldWay.BACK)
                    for a, b in pairwise(faces)
                ),
                *(Fold(f"{side} arris", at(x, 0.0), at(x, cover), 90.0, FoldWay.BACK) for side, x in arrises),
            ),
            label=LabelBox(
                (left + (clear + height) * lean + clear, clear), 0.0, max(room - height * lean, 1.0), max(height, 1.0)
            ),
            length_mm=end_mm - start_mm,
            marks=tuple(
                lap_marks(lap_below_mm, lap_above_mm, lambda x: (at(x, 0.0), at(x, cover)), level=not survey.slope_deg)
            ),
            stations=(
                Station(f"{low} end at the free edge", at(start_mm, 0.0)),
                Station(f"turn-in fold, {low} end", at(start_mm, cover)),
                *(Station(f"{side} arris at the free edge", at(x, 0.0)) for side, x in arrises),
                *(Station(f"{side} arris at the turn-in fold", at(x, cover)) for side, x in arrises),
                Station(f"turn-in fold, {high} end", at(end_mm, cover)),
                Station(f"{high} end at the free edge", at(end_mm, 0.0)),
            ),
        )
    )


def _turn_in_name(survey: CoverFlashing, start_mm: float) -> str:
    on_face = 0.0 <= start_mm < survey.length_mm
    return "turn-in" if on_face else "return turn-in"


def _top_edge(
    survey: CoverFlashing, start_mm: float, end_mm: float, at: Callable[[float, float], Point]
) -> list[tuple[Point, str]]:
    """Outline along the turn-ins from the upper end to the lower, with a mitre at each arris."""
    cover, t, w = survey.cover_mm, survey.turn_in_mm, survey.length_mm
    top = cover + t
    edge: list[tuple[Point, str]] = [(at(end_mm, top), _turn_in_name(survey, end_mm - t))]
    if end_mm > w:
        edge += [(at(w + t, top), "mitre"), (at(w, cover), "mitre"), (at(w - t, top), "turn-in")]
    if start_mm < 0.0:
        edge += [(at(t, top), "mitre"), (at(0.0, cover), "mitre"), (at(-t, top), "return turn-in")]
    return [*edge, (at(start_mm, top), "lower end" if survey.slope_deg else "left end")]
