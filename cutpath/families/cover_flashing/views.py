"""A cover flashing in its chase, level or raking, from in front. Returns beyond the arrises are drawn unrolled."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cutpath import sure
from cutpath.families.laid import Laid
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import between
from cutpath.paper.in_place import (
    OnWall,
    clear_of_laps,
    fixings_in_place,
    lead_in_place,
    notes_on_fixings,
    notes_on_rounding,
    number_along,
    on_wall,
    rows,
    seams,
)
from cutpath.paper.ink import Ink, line
from cutpath.paper.markup import number
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import AROUND_MM, STRIP, Elevation, fitted
from cutpath.plane import to_run_frame, turned
from cutpath.values.leadwork import CoverFlashing
from cutpath.values.pattern import Point
from cutpath.values.piece import Piece
from cutpath.values.survey import Hand

_LETTERED = 2.5  # paper mm of cover that a number has room on; the rows of dimensions name every length


def views(laid: Laid[CoverFlashing]) -> Iterable[Elevation]:
    """Draw the chase with its lead; what hangs over a gutter is drawn with that."""
    if laid.job.under(laid.survey) is None:
        yield cover_elevation(laid.survey, laid.hand, laid.lengths)


def cover_elevation(survey: CoverFlashing, hand: Hand | None, pieces: Sequence[Piece]) -> Elevation:
    """Draw a cover flashing in its chase, level or raking, from in front; returns are unrolled."""
    slope = survey.slope_deg
    chase = _Chase(survey, place_cover(survey, pieces))
    rises = f", chase rising to the {hand.value} at {number(round(slope, 1))}°" if hand else ", level chase"
    return fitted(
        chase.inks,
        mirrored=hand is Hand.LEFT,
        title=f"{survey.head.label}{f', {hand.value} hand' if hand else ''}: the chase with its lead",
        words=f"facing the wall{rises}",
        notes=chase.notes(),
        smallest=STRIP,
    )


def place_cover(survey: CoverFlashing, pieces: Iterable[Piece]) -> list[OnWall]:
    """Put lengths of a cover flashing in their places; the free edge of a level one lies on y = 0."""
    return [on_wall(piece, survey.slope_deg, _on_cover(survey, piece)) for piece in pieces]


def _on_cover(survey: CoverFlashing, piece: Piece) -> Point:
    """Return a point of the wall face: the middle of the lettering, which stands on it."""
    label = piece.pattern.label
    (at,) = to_run_frame(
        piece.pattern, ((label.corner[0] + label.width_mm / 2, label.corner[1] + label.height_mm / 2),)
    )
    return turned((at,), survey.slope_deg)[0]


@dataclass(frozen=True, slots=True)
class _Chase:
    survey: CoverFlashing
    placed: Sequence[OnWall]

    def _at(self, u: float, v: float) -> Point:
        return turned(((u, v),), self.survey.slope_deg)[0]

    def inks(self, view: View) -> list[Ink]:
        s, slope = self.survey, math.radians(self.survey.slope_deg)
        start, end = min(p.start_mm for p in self.placed), max(p.end_mm for p in self.placed)
        lean = s.cover_mm * sure.tan(slope)
        chase = (self._at(start - AROUND_MM, s.cover_mm), self._at(end + lean + AROUND_MM, s.cover_mm))
        out = view.way((sure.sin(slope), -sure.cos(slope)))
        along = view.way((sure.cos(slope), sure.sin(slope)))
        inks: list[Ink] = [line("bed-joint", *view.all(chase))]
        inks += [*lead_in_place(view, self.placed), *seams(view, self.placed)]
        inks += fixings_in_place(view, self.placed, lambda at: self._at(*at))
        for i, place in enumerate(self.placed):
            middle = self._at(math.fsum(clear_of_laps(self.placed, i)) / 2 + lean / 2, s.cover_mm / 2)
            if s.cover_mm / view.scale >= _LETTERED:
                inks.append(number_along(view, place.piece, middle, s.slope_deg, s.cover_mm))
        stops = [self._at(u, 0.0) for u in sorted({start, 0.0, s.length_mm, end})]
        inks += rows(view, self.placed, stops, lambda u: self._at(u, 0.0), out)
        far = end + lean
        off = (along[0] * 5.0, along[1] * 5.0)
        inks += between(view.at(self._at(far, 0.0)), view.at(self._at(far, s.cover_mm)), off, millimetres(s.cover_mm))
        return inks

    def notes(self) -> Iterable[str]:
        s = self.survey
        yield f"thick line: fold along the chase; {millimetres(s.turn_in_mm)} mm turns into the chase"
        if len(self.placed) > 1:
            yield "hatched: laps, with the end of the length underneath dashed"
        if s.return_mm:
            yield f"beyond the arrises: returns of {millimetres(s.return_mm)} mm on the next faces, unrolled"
        yield from notes_on_rounding(self.placed)
        yield from notes_on_fixings(self.placed)
        yield "no courses were measured here: only the chase is drawn"
