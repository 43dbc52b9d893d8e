"""Gutters that run with the slope, laid open: what lies on the roof is turned into one plane, every size true."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from cutpath import sure
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import between
from cutpath.paper.in_place import (
    OnWall,
    clear_of_laps,
    fixings_in_place,
    laid_open,
    lead_in_place,
    notes_on_fixings,
    notes_on_rounding,
    number_along,
    rows,
)
from cutpath.paper.ink import Ink, line
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import AROUND_MM, STRIP, Elevation, fitted
from cutpath.plane import turned
from cutpath.values.pattern import Point
from cutpath.values.piece import Piece
from cutpath.values.survey import Hand


@dataclass(frozen=True, slots=True)
class Slope:
    """A gutter as it is drawn laid open: along it u, across it v, both in mm.

    Attributes
    ----------
    turn_deg : float
        By which it is drawn rising.
    levels : tuple of float
        v of its lower edge, of what is dimensioned between, and of its upper edge.
    number_at : (float, float)
        v of the middle of a length's number, and the room about it.
    along_wall : bool
        A wall stands along v = 0.
    folds : str
        What its lines mean, for the notes.
    """

    turn_deg: float
    levels: tuple[float, ...]
    number_at: tuple[float, float]
    along_wall: bool
    folds: str


def slope_elevation(slope: Slope, hand: Hand | None, pieces: Sequence[Piece], *, title: str, words: str) -> Elevation:
    """Draw a gutter that runs with the slope, laid open with its laps."""
    drawn = _Drawn(slope, [laid_open(piece, slope.turn_deg) for piece in pieces])
    return fitted(drawn.inks, mirrored=hand is Hand.LEFT, title=title, words=words, notes=drawn.notes(), smallest=STRIP)


@dataclass(frozen=True, slots=True)
class _Drawn:
    slope: Slope
    placed: Sequence[OnWall]

    def _at(self, u: float, v: float) -> Point:
        return turned(((u, v),), self.slope.turn_deg)[0]

    def inks(self, view: View) -> list[Ink]:
        low = self.slope.levels[0]
        start, end = min(p.start_mm for p in self.placed), max(p.end_mm for p in self.placed)
        turn = math.radians(self.slope.turn_deg)
        out, along = view.way((sure.sin(turn), -sure.cos(turn))), view.way((sure.cos(turn), sure.sin(turn)))
        inks: list[Ink] = []
        if self.slope.along_wall:
            line_ends = self._at(start - AROUND_MM, 0.0), self._at(end + AROUND_MM, 0.0)
            inks.append(line("roof-line", *view.all(line_ends)))
        inks += [*lead_in_place(view, self.placed), *self._folds(view)]
        inks += fixings_in_place(view, self.placed, lambda at: self._at(*at))
        for i, place in enumerate(self.placed):
            v, room = self.slope.number_at
            middle = self._at(math.fsum(clear_of_laps(self.placed, i)) / 2, v)
            inks.append(number_along(view, place.piece, middle, self.slope.turn_deg, room))
        stops = [self._at(u, low) for u in (start, end)]
        inks += rows(view, self.placed, stops, lambda u: self._at(u, low), out)
        off = (along[0] * 6.0, along[1] * 6.0)
        for a, b in pairwise(self.slope.levels):
            inks += between(view.at(self._at(end, a)), view.at(self._at(end, b)), off, millimetres(b - a))
        return inks

    def _folds(self, view: View) -> Iterable[Ink]:
        for place in self.placed:
            for fold in place.folds:
                yield line("seam thin", *view.all((fold.start, fold.end)), fold=fold.name)

    def notes(self) -> Iterable[str]:
        if len(self.placed) > 1:
            yield "hatched: laps, with the end of the length underneath dashed; the upper length goes over the lower"
        yield self.slope.folds
        yield from notes_on_rounding(self.placed)
        yield from notes_on_fixings(self.placed)
