"""Gutters that run with the slope, in lapped lengths: valley gutters, and gutters beside a wall.

Run frame: x up along the gutter, y across the sheet; every fold runs the whole length. The valley's middle fold lies
on y = 0. Between two roofs that meet square in plan it bends by the angle between them, whose cosine is
cos p x cos q (derived); the folds over the tilting fillets follow on either side. Beside a wall the sole lies on the
roof below y = 0, the upstand above it, and the outer edge is turned up under the covering.
"""

from __future__ import annotations

import math
from itertools import pairwise

from cutpath.errors import Finding
from cutpath.patterns.frame import LABEL_CLEAR_MM, Shape, lap_marks, to_pattern
from cutpath.patterns.gutter import bad_fillet, fillet_bends
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, LabelBox, Station
from cutpath.values.survey import AbutmentGutter, ValleyGutter

_Bend = tuple[str, float, float]


def valley_bend_deg(survey: ValleyGutter) -> float:
    """Give the bend of the valley's middle fold out of the flat."""
    one, other = math.radians(survey.pitch_deg), math.radians(survey.other_pitch_deg)
    return math.degrees(math.acos(math.cos(one) * math.cos(other)))


def check_valley(survey: ValleyGutter) -> tuple[Finding, ...]:
    """Find fillets over which the sheet does not reach."""
    return tuple(bad_fillet(survey.head, survey.fillet, survey.width_mm / 2, "width"))


def valley_length(
    survey: ValleyGutter, start_mm: float, end_mm: float, lap_below_mm: float | None, lap_above_mm: float | None
) -> FlatPattern:
    """Develop the length of a valley gutter between two distances up the valley."""
    half = survey.width_mm / 2
    over = fillet_bends(survey.fillet, half) if survey.fillet else []
    bends: list[_Bend] = [
        *((f"{name}, first roof", -at, bend) for name, at, bend in reversed(over)),
        ("middle", 0.0, valley_bend_deg(survey)),
        *((f"{name}, second roof", at, bend) for name, at, bend in over),
    ]
    return _strip("valley gutter", (-half, half), bends, (start_mm, end_mm), (lap_below_mm, lap_above_mm))


def abutment_gutter_length(
    survey: AbutmentGutter, start_mm: float, end_mm: float, lap_below_mm: float | None, lap_above_mm: float | None
) -> FlatPattern:
    """Develop the length of a gutter beside a wall, right-handed, between two distances up the slope."""
    bottom = -survey.sole_mm - survey.edge_mm
    bends: list[_Bend] = [("outer edge", -survey.sole_mm, 90.0), ("wall", 0.0, 90.0)]
    return _strip(
        "abutment gutter", (bottom, survey.upstand_mm), bends, (start_mm, end_mm), (lap_below_mm, lap_above_mm)
    )


def _strip(
    family: str,
    across: tuple[float, float],
    bends: list[_Bend],
    ends: tuple[float, float],
    laps: tuple[float | None, float | None],
) -> FlatPattern:
    """Draw a rectangle with folds along it; a bend above 0 comes forward. Lettering goes between the widest folds."""
    (bottom, top), (start, end) = across, ends
    levels = [bottom, *(at for _, at, _ in bends), top]
    low, high = max(pairwise(levels), key=lambda pair: pair[1] - pair[0])
    left, right = laps[0] if laps[0] is not None else start, laps[1] if laps[1] is not None else end
    if right - left < 2 * (high - low):
        left, right = start, end
    clear = LABEL_CLEAR_MM
    return to_pattern(
        Shape(
            family=family,
            sides=(
                ((start, bottom), "lower edge"),
                ((end, bottom), "upper end"),
                ((end, top), "upper edge"),
                ((start, top), "lower end"),
            ),
            folds=tuple(
                Fold(name, (start, at), (end, at), abs(bend), FoldWay.FORWARD if bend > 0 else FoldWay.BACK)
                for name, at, bend in bends
            ),
            label=LabelBox(
                (left + clear, low + clear), 0.0, max(right - left - 2 * clear, 1.0), max(high - low - 2 * clear, 1.0)
            ),
            length_mm=end - start,
            marks=tuple(lap_marks(*laps, lambda x: ((x, bottom), (x, top)))),
            stations=tuple(
                Station(f"{name}, {word}", (x, at))
                for name, at, _ in bends
                for word, x in (("lower end", start), ("upper end", end))
            ),
        )
    )
