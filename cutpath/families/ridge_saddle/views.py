"""A ridge saddle facing the wall, and below that from above."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from cutpath import sure
from cutpath.families.laid import Laid
from cutpath.paper.brickwork import View
from cutpath.paper.dimensions import FIGURE, ROW, angle, between, hatching, width_mm
from cutpath.paper.fixing_marks import fixing_notes, fixing_signs
from cutpath.paper.in_place import number_along
from cutpath.paper.ink import Contours, Ink, Words, line
from cutpath.paper.markup import number
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import AROUND_MM, Elevation, fitted
from cutpath.plane import to_run_frame, turned
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import RidgeSaddle
from cutpath.values.piece import Piece

_HATCH = 1.3
_OFF = 5.0  # paper mm, between a roof and its dimensions
_LEAST_ARC = 8.0  # paper mm, at which an angle's figure has room between its lines


def views(laid: Laid[RidgeSaddle]) -> Iterable[Elevation]:
    """Draw the ridge with its saddle."""
    yield saddle_elevation(laid.survey, laid.lengths, laid.gussets)


def saddle_elevation(survey: RidgeSaddle, pieces: Sequence[Piece], gussets: Sequence[Piece]) -> Elevation:
    """Draw a ridge saddle facing the wall, and below that from above."""
    drawn = _Saddle(survey, pieces[0], next(iter(gussets), None))
    return fitted(
        drawn.inks,
        mirrored=False,
        title=f"{survey.head.label}: the ridge with its saddle",
        words=f"above facing the wall, below from above; both roofs at {number(round(survey.pitch_deg, 1))}°",
        notes=drawn.notes(),
    )


@dataclass(frozen=True, slots=True)
class _Saddle:
    survey: RidgeSaddle
    piece: Piece
    gusset: Piece | None

    @property
    def _down(self) -> float:
        return self.survey.length_mm - self.survey.upstand_mm

    def inks(self, view: View) -> list[Ink]:
        return [*self._facing(view), *self._from_above(view)]

    def _facing(self, view: View) -> Iterable[Ink]:
        from shapely import Polygon

        s = self.survey
        p = math.radians(s.pitch_deg)
        half, up = s.width_mm / 2, s.upstand_mm
        reach = half + AROUND_MM
        eaves = [(way * reach * sure.cos(p), -reach * sure.sin(p)) for way in (-1, 1)]
        for way in (-1, 1):
            ring = turned(((0.0, 0.0), (way * half, 0.0), (way * half, up), (0.0, up)), -way * s.pitch_deg)
            yield line("lead", *view.all(ring), closed=True, piece=self.piece.id)
            yield line("seam", *view.all(ring[:2]), fold="wall")
        wedge = ((0.0, 0.0), (up * sure.sin(p), up * sure.cos(p)), (-up * sure.sin(p), up * sure.cos(p)))
        if self.gusset:
            yield line("lead", *view.all(wedge), closed=True, piece=self.gusset.id)
            x, y = view.at((0.0, up * sure.cos(p)))
            yield Words(self.gusset.id, (x, y - 1.2), "id", FIGURE)
        else:
            yield line("lead", *view.all(wedge), closed=True, bossed="middle")
            yield Contours(tuple(hatching(Polygon(view.all(wedge)), _HATCH, 45.0)), "bossed-hatch")
        yield line("roof-line", *view.all((eaves[0], (0.0, 0.0), eaves[1])))
        end = turned(((half, 0.0), (half, up)), -s.pitch_deg)
        off = (sure.cos(p) * _OFF, sure.sin(p) * _OFF)
        yield from between(view.at(end[0]), view.at(end[1]), off, millimetres(up))
        foot = turned(((-half, 0.0), (0.0, 0.0)), s.pitch_deg)
        yield from between(
            view.at(foot[0]), view.at(foot[1]), (sure.sin(p) * _OFF, sure.cos(p) * _OFF), millimetres(half)
        )
        ridge, figure = view.at((0.0, 0.0)), f"{number(round(s.pitch_deg, 1))}°"
        inside = half / view.scale / sure.cos(p / 2) - width_mm(figure) - 2.0  # the figure ends before the lead does
        outside = math.hypot(half / view.scale + _OFF + 2.0, up / view.scale)  # past the dimension of the end
        radius = min(15.0, inside) if inside > _LEAST_ARC else outside
        yield line("guide", ridge, (ridge[0] + radius + 3.0, ridge[1]))
        yield line("guide", ridge, (ridge[0] + radius * sure.cos(p), ridge[1] + radius * sure.sin(p)))
        yield from angle(ridge, 0.0, s.pitch_deg, radius, figure)

    def _from_above(self, view: View) -> Iterable[Ink]:
        s = self.survey
        p = math.radians(s.pitch_deg)
        half = s.width_mm / 2 * sure.cos(p)
        top = -(s.width_mm / 2 + AROUND_MM) * sure.sin(p) - AROUND_MM
        wide = half + AROUND_MM * sure.cos(p)
        ring = ((-half, top), (-half, top - self._down), (half, top - self._down), (half, top))
        yield line("lead", *view.all(ring), closed=True, piece=self.piece.id)
        yield line("wall-edge", *view.all(((-wide, top), (wide, top))))
        wall = view.at((wide, top))
        yield Words("wall", (wall[0], wall[1] - 1.0), "words soft", FIGURE, "end")
        ridge = ((0.0, top), (0.0, top - self._down))
        yield line("seam", *view.all(ridge), fold="ridge")
        yield line("roof-line", *view.all(((0.0, top - self._down), (0.0, top - self._down - AROUND_MM))))
        on_roof = (replace(f, at=to_run_frame(self.piece.pattern, (f.at,))[0]) for f in self.piece.fixings)
        seen = (replace(f, at=(f.at[0] * sure.cos(p), top + f.at[1])) for f in on_roof if f.at[1] <= POINT_MM)
        yield from fixing_signs(seen, view.at)
        yield number_along(view, self.piece, (half / 2, top - self._down / 2), 0.0, 2 * half / len(self.piece.id))
        side = view.at((half, top)), view.at((half, top - self._down))
        yield from between(*side, (ROW, 0.0), millimetres(self._down))
        edge = view.at((-half, top - self._down)), view.at((half, top - self._down))
        yield from between(*edge, (0.0, ROW + AROUND_MM / view.scale), millimetres(2 * half))

    def notes(self) -> Iterable[str]:
        yield "thick lines: folds along the ridge and where roof and wall meet"
        if self.gusset:
            yield f"gusset {self.gusset.id} fills the wall's part over the ridge"
        else:
            yield "hatched: the lead over the ridge is bossed out of the whole sheet"
        yield f"on each roof the sheet reaches {millimetres(self.survey.width_mm / 2)} mm down from the ridge"
        yield from fixing_notes(self.piece.fixings)
