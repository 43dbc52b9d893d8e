"""A piece on its blank as a ticket has it on paper: where everything lies, before anything is drawn.

Picture coordinates are millimetres on paper; the weather face is towards the viewer, the straight edge below.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from cutpath.reports.account.marking import MarkedPoint, Marking
from cutpath.reports.pictures.roll_picture import pattern_lines
from cutpath.values.fixing import Fixing
from cutpath.values.pattern import FlatPattern, Point, Polyline

SIDE, FOOT = 12.0, 11.0
"""Room beside the blank for the heights, and below it for the distances along it."""

Stretch = tuple[Point, Point]


def picture_tall_mm(marking: Marking, scale: float) -> float:
    """Return the height of a drawing with its dimensions, on paper."""
    return _head_mm(marking) + marking.width_mm / scale + FOOT + 2.5


def _head_mm(marking: Marking) -> float:
    return 9.0 if marking.steps else 2.0  # room for the row of heads above the blank


@dataclass(frozen=True)
class TicketSheet:
    """A piece, its marking and its fixings at a scale: millimetres of lead to one of paper."""

    pattern: FlatPattern
    marking: Marking
    fixings: Sequence[Fixing]
    scale: float

    @cached_property
    def length(self) -> float:
        """Length of the blank."""
        return self.marking.length_mm / self.scale

    @cached_property
    def tall(self) -> float:
        """Width of the blank, which stands upright here."""
        return self.bottom - self.head

    @cached_property
    def head(self) -> float:
        """Upper edge of the blank."""
        return _head_mm(self.marking)

    @cached_property
    def bottom(self) -> float:
        """Lower edge of the blank."""
        return self.head + self.marking.width_mm / self.scale

    @cached_property
    def datum(self) -> Point:
        """The corner from which all is measured."""
        return SIDE + (self.length if self.pattern.mirrored else 0.0), self.bottom

    def at(self, points: Iterable[Point]) -> Polyline:
        """Return points of the pattern as they lie on paper."""
        return tuple((SIDE + x / self.scale, self.bottom - y / self.scale) for x, y in points)

    def place_of(self, point: MarkedPoint) -> Point:
        """Return where a marked point lies on paper."""
        along, square = point.along_exact_mm, point.square_exact_mm
        x = self.marking.length_mm - along if self.pattern.mirrored else along
        return self.at(((x, square),))[0]

    @cached_property
    def signs(self) -> Sequence[Point]:
        """Where the signs of fixings stand."""
        return [self.at((fixing.at,))[0] for fixing in self.fixings]

    @cached_property
    def cuts(self) -> Sequence[Stretch]:
        """Every straight stretch of the piece's edges."""
        rings = (self.at((*ring, ring[0])) for ring in (self.pattern.outline, *self.pattern.holes))
        return [stretch for ring in rings for stretch in pairwise(ring)]

    @cached_property
    def stretches(self) -> Sequence[Stretch]:
        """Every straight stretch of the piece's edges, folds, snips and marks, and of the blank."""
        lines = (self.at(line) for _, line in pattern_lines(self.pattern))
        length, width = self.marking.length_mm, self.marking.width_mm
        blank = self.at(((0.0, 0.0), (length, 0.0), (length, width), (0.0, width), (0.0, 0.0)))
        return [*self.cuts, *(stretch for line in (*lines, blank) for stretch in pairwise(line))]
