"""Lengths of strips that run with the slope: every fold runs the whole length.

Run frame: x up along the strip, y across the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from cutpath.families.frame import Shape, between_laps, label_in, lap_marks, to_pattern
from cutpath.values.pattern import (
    Course,
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    PartKind,
    Point,
    Side,
    Stance,
    Station,
    StationUse,
)


@dataclass(frozen=True, slots=True)
class Bend:
    """A fold along a strip: its place across the sheet, and how far it bends, above 0 forward."""

    name: str
    use: FoldUse
    at_mm: float
    bend_deg: float
    side: Side | None = None

    def fold(self, start: Point, end: Point) -> Fold:
        """Return the fold between two points."""
        way = FoldWay.FORWARD if self.bend_deg > 0 else FoldWay.BACK
        return Fold(self.name, self.use, start, end, abs(self.bend_deg), way, side=self.side)

    def station(self, word: str, use: StationUse, at: Point) -> Station:
        """Return the station at an end of the fold."""
        return Station(f"{self.name}, {word}", use, at, self.use, side=self.side)


def strip(
    family: str,
    across: tuple[float, float],
    bends: list[Bend],
    ends: tuple[float, float],
    laps: tuple[float | None, float | None],
    stance: Stance,
) -> FlatPattern:
    """Draw a rectangle with folds along it. Lettering goes between the widest folds."""
    (bottom, top), (start, end) = across, ends
    levels = [bottom, *(bend.at_mm for bend in bends), top]
    low, high = max(pairwise(levels), key=lambda pair: pair[1] - pair[0])
    left, right = between_laps(laps, ends, high - low)
    return to_pattern(
        Shape(
            family=family,
            part=PartKind.LENGTH,
            sides=(
                ((start, bottom), Edge("lower edge", EdgeUse.COVERED)),
                ((end, bottom), Edge("upper end", EdgeUse.HEAD)),
                ((end, top), Edge("upper edge", EdgeUse.COVERED)),
                ((start, top), Edge("lower end", EdgeUse.FREE)),
            ),
            folds=tuple(bend.fold((start, bend.at_mm), (end, bend.at_mm)) for bend in bends),
            label=label_in(left, low, right - left, high - low),
            length_mm=end - start,
            marks=tuple(lap_marks(*laps, lambda x: ((x, bottom), (x, top)))),
            stations=tuple(
                bend.station(word, use, (x, bend.at_mm))
                for bend in bends
                for word, use, x in (("lower end", StationUse.START, start), ("upper end", StationUse.END, end))
            ),
            stance=stance,
            course=Course.UP,
        )
    )
