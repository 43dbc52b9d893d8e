"""Lengths of strips that run with the slope: every fold runs the whole length.

Run frame: x up along the strip, y across the sheet.
"""

from __future__ import annotations

from itertools import pairwise

from cutpath.families.frame import LABEL_CLEAR_MM, Shape, lap_marks, to_pattern
from cutpath.values.pattern import FlatPattern, Fold, FoldWay, LabelBox, Station

Bend = tuple[str, float, float]


def strip(
    family: str,
    across: tuple[float, float],
    bends: list[Bend],
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
