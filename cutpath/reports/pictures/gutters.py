"""Gutters and saddles in their places: the back of a stack, gutters that run with the slope, saddles on a ridge.

Gutters are drawn laid open: what lies on roof and sole is turned into the plane of the wall, every size true. A
section stands beside each (`section`). Saddles are drawn facing the wall and from above.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from cutpath.paper.brickwork import View, bricks, joint_lines, points_of
from cutpath.paper.dimensions import FIGURE, ROW, angle, between, hatching, running
from cutpath.paper.fixing_marks import fixing_key, fixing_signs
from cutpath.paper.in_place import (
    OnWall,
    carried,
    clear_of_laps,
    fixing_note,
    fixings_in_place,
    largest,
    lead_in_place,
    number_along,
    rows,
    seams,
)
from cutpath.paper.ink import Ink, Line, Words, line
from cutpath.paper.markup import number
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import Elevation, fitted
from cutpath.plane import to_run_frame, turned
from cutpath.reports.pictures.section import abutment_section, back_section, valley_section
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import MarkKind, MarkUse, Point
from cutpath.values.piece import Piece
from cutpath.values.survey import (
    AbutmentGutter,
    BackGutter,
    BedJoint,
    CornerWork,
    CoverFlashing,
    Hand,
    RidgeSaddle,
    ValleyGutter,
)

_ABOVE_MM, _AROUND_MM = 110.0, 90.0  # wall above the lead, roof about it
_HATCH = 1.3
_STRIP = 25.0  # smallest scale for a plain strip


@dataclass(frozen=True, slots=True)
class Cover:
    """A cover flashing over a back gutter: its survey and its lengths, x and y in its own run frame."""

    survey: CoverFlashing
    placed: tuple[OnWall, ...]


def laid_open(piece: Piece, turn_deg: float = 0.0) -> OnWall:
    """Put a whole sheet in its place, turned into one plane; ``turn_deg`` as on a wall."""
    from shapely import Polygon

    pattern = piece.pattern
    outline = to_run_frame(pattern, pattern.outline)
    folds = tuple(
        replace(f, start=ends[0], end=ends[1])
        for f in pattern.folds
        for ends in [turned(to_run_frame(pattern, (f.start, f.end)), turn_deg)]
    )
    along = [x for x, _ in outline]
    return OnWall(piece, Polygon(turned(outline, turn_deg)), folds, min(along), max(along))


def back_elevations(
    survey: BackGutter,
    pieces: Sequence[Piece],
    gussets: Sequence[Piece],
    cover: Cover | None,
    joints: Sequence[BedJoint],
) -> list[Elevation]:
    """Draw the back of a stack with its gutter laid open and the cover flashing over it, and a section.

    Parameters
    ----------
    joints : sequence of BedJoint
        Of the back face, heights from the gutter's sole; empty where they were not measured.
    """
    chase = next((j.y_mm for j in joints if j.y_mm >= survey.upstand_mm - POINT_MM), None)
    hangs = chase is not None and cover is not None and chase - cover.survey.cover_mm < survey.upstand_mm
    measured = hangs or (chase is not None and cover is None)
    chase_mm = chase if chase is not None and measured else survey.upstand_mm
    back = _Back(survey, [_to_roll(piece) for piece in pieces], cover, chase_mm, joints if measured else ())
    face = fitted(
        back.inks,
        mirrored=False,
        title=f"{survey.head.label}: the back of the stack with its lead",
        words=f"facing the stack from up the roof, {number(round(survey.pitch_deg, 1))}°; sole and roof laid open",
        notes=back.notes(gussets),
    )
    over = cover.survey if cover else None
    return [face, back_section(survey, pieces[0].pattern, over, chase_mm, measured=measured)]


def _to_roll(piece: Piece) -> OnWall:
    """Put a length of a back gutter in its place, as far as the foot of its roll: beyond that it stands up."""
    from shapely import box

    whole = laid_open(piece)
    for mark in piece.pattern.marks:
        if mark.kind is MarkKind.ROLL:
            ((x, low), (_, high)) = to_run_frame(piece.pattern, mark.points)
            ends = (whole.start_mm, x) if mark.use is MarkUse.UNDERCLOAK else (x, whole.end_mm)
            window = box(ends[0], low, ends[1], high)
            shown = largest(whole.shown.intersection(window))
            folds = []
            for fold in whole.folds:
                a, b = (min(max(x, ends[0]), ends[1]) for x in (fold.start[0], fold.end[0]))
                folds.append(replace(fold, start=(a, fold.start[1]), end=(b, fold.end[1])))
            whole = replace(whole, shown=shown, folds=tuple(folds), start_mm=ends[0], end_mm=ends[1])
    return whole


@dataclass(frozen=True, slots=True)
class _Back:
    survey: BackGutter
    placed: Sequence[OnWall]
    cover: Cover | None
    chase_mm: float
    joints: Sequence[BedJoint]

    @property
    def _bottom(self) -> float:
        return -self.survey.sole_mm - self.survey.up_roof_mm

    @property
    def _top(self) -> float:
        return max(self.chase_mm, self.survey.upstand_mm) + _ABOVE_MM

    @property
    def _over(self) -> list[OnWall]:
        """The cover's lengths, hung from their joint."""
        if self.cover is None:
            return []
        by = self.chase_mm - self.cover.survey.cover_mm
        return [carried(place, 0.0, by) for place in self.cover.placed]

    def inks(self, view: View) -> list[Ink]:
        return [*self._ground(view), *self._lead(view), *self._sizes(view)]

    def _ground(self, view: View) -> Iterable[Ink]:
        from shapely import box

        wall = box(0.0, 0.0, self.survey.width_mm, self._top)
        yield from bricks(view, self.joints, wall)
        yield from joint_lines(view, self.joints, wall)
        for x in (0.0, self.survey.width_mm):
            yield line("wall-edge", *view.all(((x, 0.0), (x, self._top))))
        if self.cover and not self.joints:
            ends = ((0.0, self.chase_mm), (self.survey.width_mm, self.chase_mm))
            yield line("bed-joint", *view.all(ends), height=millimetres(self.chase_mm))

    def _lead(self, view: View) -> Iterable[Ink]:
        for place in self.placed:
            known = (("piece", place.piece.id),)
            yield Line((view.all(points_of(place.shown.exterior)[:-1]),), "lead", closed=True, data=known)
        yield from seams(view, self.placed)
        yield from self._corners(view)
        yield from self._roll(view)
        over = self._over
        yield from lead_in_place(view, over)
        yield from seams(view, over)
        top = self.survey.upstand_mm
        if over and self.chase_mm - top < self.cover.survey.cover_mm:  # type: ignore[union-attr]
            ends = min(p.start_mm for p in self.placed), max(p.end_mm for p in self.placed)
            yield line("hidden", *view.all(((ends[0], top), (ends[1], top))))
        for place in self.placed:
            sole = (-self.survey.sole_mm / 2, self.survey.sole_mm)
            middle = (max(place.start_mm, 0.0) + min(place.end_mm, self.survey.width_mm)) / 2
            yield number_along(view, place.piece, (middle, sole[0]), 0.0, sole[1])
        yield from fixings_in_place(view, self.placed, lambda at: at)
        hung = self.chase_mm - self.cover.survey.cover_mm if self.cover else 0.0
        yield from fixings_in_place(view, over, lambda at: (at[0], at[1] + hung))
        for i, place in enumerate(over):
            low, high = clear_of_laps(over, i)
            middle = (max(low, 0.0) + min(high, self.survey.width_mm)) / 2
            hang = self.cover.survey.cover_mm if self.cover else 0.0
            yield number_along(view, place.piece, (middle, self.chase_mm - hang / 2), 0.0, hang)

    def _corners(self, view: View) -> Iterable[Ink]:
        """Draw where corners are cut to be welded, or marked to be bossed."""
        for pattern in (place.piece.pattern for place in self.placed):
            for snip in pattern.snips:
                yield line("snip", *view.all(to_run_frame(pattern, snip.points)))
            for mark in pattern.marks:
                if mark.kind is MarkKind.BOSSING:
                    yield line("mark bossing", *view.all(to_run_frame(pattern, mark.points)))

    def _roll(self, view: View) -> Iterable[Ink]:
        from shapely import box

        if len(self.placed) < 2:
            return
        low, high = self.placed[0].end_mm, self.placed[1].start_mm
        band = box(low, self._bottom, high, self.survey.upstand_mm)
        ring = view.all(points_of(band.exterior)[:-1])
        yield line("roll-band", *ring, closed=True)
        at = view.at(((low + high) / 2, self._bottom))
        yield Words("wood-cored roll", (at[0], at[1] + FIGURE + 1.5), "figure", FIGURE)

    def _sizes(self, view: View) -> Iterable[Ink]:
        s = self.survey
        left, right = min(p.start_mm for p in self.placed), max(p.end_mm for p in self.placed)
        bottom = self._bottom
        if len(self.placed) == 1:
            stops = [(x, bottom) for x in sorted({left, 0.0, s.width_mm, right})]
            yield from rows(view, self.placed, stops, lambda x: (x, bottom), (0.0, 1.0))
        else:
            low, high = self.placed[0].end_mm, self.placed[1].start_mm
            stops = [(x, bottom) for x in sorted({left, 0.0, low, high, s.width_mm, right})]
            yield from rows(view, (), stops, lambda x: (x, bottom), (0.0, 1.0))
        heights = [(0.0, s.upstand_mm), (-s.sole_mm, 0.0), (bottom, -s.sole_mm)]
        for low, high in heights:
            yield from between(view.at((right, low)), view.at((right, high)), (6.0, 0.0), millimetres(high - low))
        over = self._over
        if self.cover and over:
            hang = self.chase_mm - self.cover.survey.cover_mm
            start, end = min(p.start_mm for p in over), max(p.end_mm for p in over)
            stops = [(x, self._top) for x in sorted({start, 0.0, s.width_mm, end})]
            yield from rows(view, over, stops, lambda x: (x, self._top), (0.0, -1.0))
            off = (6.0 + (right - end) / view.scale + 8.0, 0.0)
            ends = view.at((end, hang)), view.at((end, self.chase_mm))
            yield from between(*ends, off, millimetres(self.chase_mm - hang))
        marks = [
            (view.at((left, j.y_mm)), f"{j.number}: {millimetres(j.y_mm)}") for j in self.joints if j.y_mm < self._top
        ]
        if marks:
            foot = view.at((left, 0.0))
            yield from running((foot[0] - 4.0, foot[1]), (0.0, -1.0), (-1.0, 0.0), marks)

    def notes(self, gussets: Sequence[Piece]) -> Iterable[str]:
        s = self.survey
        yield "from the top down: upstand, level sole, up the roof; thick lines are folds"
        if self.cover:
            yield (
                f"the cover flashing hangs over the upstand, whose top is dashed behind it, and is turned "
                f"{millimetres(self.cover.survey.turn_in_mm)} mm into the joint; its returns are drawn unrolled"
            )
            if len(self.cover.placed) > 1:
                yield "hatched: laps, with the end of the length underneath dashed"
        if s.side_mm:
            yield (
                f"beyond the arrises: the upstand's returns on the sides, unrolled, and {millimetres(s.side_mm)} mm of "
                "the sheet flat on the roof"
            )
        if gussets:
            yield f"gussets {', '.join(g.id for g in gussets)} close the corners between sole, return and roof"
        elif s.corners is CornerWork.BOSSED and s.side_mm:
            yield "the corners between sole, return and roof are bossed from the whole sheet"
        if len(self.placed) > 1:
            lengths = ", ".join(f"{p.piece.id} {millimetres(p.piece.pattern.length_mm)}" for p in self.placed)
            yield (
                f"each length goes on beyond its foot of the roll: undercloak {millimetres(s.roll_under_mm)} mm, "
                f"overcloak {millimetres(s.roll_over_mm)} mm; whole lengths {lengths}"
            )
        if self.joints:
            yield "figures beside the joints: height above the sole"
        elif self.cover:
            yield "no courses were measured here: the cover's joint is drawn at the top of the upstand"
        yield from fixing_note([*self.placed, *self._over])


def slope_gutter_elevations(
    survey: ValleyGutter | AbutmentGutter, hand: Hand | None, pieces: Sequence[Piece]
) -> list[Elevation]:
    """Draw a gutter that runs with the slope, laid open with its laps; beside that of the first hand, a section."""
    pitch = survey.pitch_deg if isinstance(survey, AbutmentGutter) else 0.0
    gutter = _Slope(survey, pitch, [laid_open(piece, pitch) for piece in pieces])
    label = f"{survey.head.label}{f', {hand.value} hand' if hand else ''}"
    if isinstance(survey, ValleyGutter):
        title = f"{label}: the valley with its lead"
        fall = number(round(survey.true_pitch_deg, 1))
        words = f"laid open, lower end at the left; the valley rises at {fall}°"
        section = valley_section(survey, pieces[0].pattern)
    else:
        title = f"{label}: the gutter beside the wall"
        words = f"facing the wall, roof rising to the {hand.value if hand else 'right'} at {number(round(pitch, 1))}°; "
        words += "sole laid open"
        section = abutment_section(survey, pieces[0].pattern)
    whole = fitted(
        gutter.inks, mirrored=hand is Hand.LEFT, title=title, words=words, notes=gutter.notes(), smallest=_STRIP
    )
    return [whole, section] if hand is next(iter(survey.head.hands), None) else [whole]


@dataclass(frozen=True, slots=True)
class _Slope:
    survey: ValleyGutter | AbutmentGutter
    turn_deg: float
    placed: Sequence[OnWall]

    def _at(self, u: float, v: float) -> Point:
        return turned(((u, v),), self.turn_deg)[0]

    @property
    def _across(self) -> tuple[float, float]:
        """The sheet's lower and upper edge."""
        s = self.survey
        if isinstance(s, ValleyGutter):
            return -s.width_mm / 2, s.width_mm / 2
        return -s.sole_mm - s.edge_mm, s.upstand_mm

    def inks(self, view: View) -> list[Ink]:
        low, high = self._across
        start, end = min(p.start_mm for p in self.placed), max(p.end_mm for p in self.placed)
        turn = math.radians(self.turn_deg)
        out, along = view.way((math.sin(turn), -math.cos(turn))), view.way((math.cos(turn), math.sin(turn)))
        inks: list[Ink] = []
        if isinstance(self.survey, AbutmentGutter):
            line_ends = self._at(start - _AROUND_MM, 0.0), self._at(end + _AROUND_MM, 0.0)
            inks.append(line("roof-line", *view.all(line_ends)))
        inks += [*lead_in_place(view, self.placed), *self._folds(view)]
        inks += fixings_in_place(view, self.placed, lambda at: self._at(*at))
        for i, place in enumerate(self.placed):
            room = self.survey.sole_mm if isinstance(self.survey, AbutmentGutter) else high / 2
            v = -room / 2 if isinstance(self.survey, AbutmentGutter) else high / 4
            middle = self._at(sum(clear_of_laps(self.placed, i)) / 2, v)
            inks.append(number_along(view, place.piece, middle, self.turn_deg, room))
        stops = [self._at(u, low) for u in (start, end)]
        inks += rows(view, self.placed, stops, lambda u: self._at(u, low), out)
        off = (along[0] * 6.0, along[1] * 6.0)
        levels = [low, 0.0, high] if isinstance(self.survey, ValleyGutter) else [low, high]
        for a, b in pairwise(levels):
            inks += between(view.at(self._at(end, a)), view.at(self._at(end, b)), off, millimetres(b - a))
        return inks

    def _folds(self, view: View) -> Iterable[Ink]:
        for place in self.placed:
            for fold in place.folds:
                yield line("seam thin", *view.all((fold.start, fold.end)), fold=fold.name)

    def notes(self) -> Iterable[str]:
        if len(self.placed) > 1:
            yield "hatched: laps, with the end of the length underneath dashed; the upper length goes over the lower"
        if isinstance(self.survey, ValleyGutter):
            folds = "the middle and the feet, crests and backs of the fillets" if self.survey.fillet else "the middle"
            yield f"blue lines: folds along {folds}; one roof lies above, the other below"
        else:
            yield "black line: where wall and roof meet; upstand above it, sole and the turned-up edge below"
        yield from fixing_note(self.placed)


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
        reach = half + _AROUND_MM
        eaves = [(way * reach * math.cos(p), -reach * math.sin(p)) for way in (-1, 1)]
        for way in (-1, 1):
            ring = turned(((0.0, 0.0), (way * half, 0.0), (way * half, up), (0.0, up)), -way * s.pitch_deg)
            yield line("lead", *view.all(ring), closed=True, piece=self.piece.id)
            yield line("seam", *view.all(ring[:2]), fold="wall")
        wedge = ((0.0, 0.0), (up * math.sin(p), up * math.cos(p)), (-up * math.sin(p), up * math.cos(p)))
        if self.gusset:
            yield line("lead", *view.all(wedge), closed=True, piece=self.gusset.id)
            x, y = view.at((0.0, up * math.cos(p)))
            yield Words(self.gusset.id, (x, y - 1.2), "id", FIGURE)
        else:
            yield line("lead", *view.all(wedge), closed=True, bossed="middle")
            yield Line(tuple(hatching(Polygon(view.all(wedge)), _HATCH, 45.0)), "bossed-hatch")
        yield line("roof-line", *view.all((eaves[0], (0.0, 0.0), eaves[1])))
        end = turned(((half, 0.0), (half, up)), -s.pitch_deg)
        off = (math.cos(p) * 5.0, math.sin(p) * 5.0)
        yield from between(view.at(end[0]), view.at(end[1]), off, millimetres(up))
        foot = turned(((-half, 0.0), (0.0, 0.0)), s.pitch_deg)
        yield from between(
            view.at(foot[0]), view.at(foot[1]), (math.sin(p) * 5.0, math.cos(p) * 5.0), millimetres(half)
        )
        ridge = view.at((0.0, 0.0))
        yield line("guide", ridge, (ridge[0] + 18.0, ridge[1]))
        yield from angle(ridge, 0.0, s.pitch_deg, 15.0, f"{number(round(s.pitch_deg, 1))}°")

    def _from_above(self, view: View) -> Iterable[Ink]:
        s = self.survey
        p = math.radians(s.pitch_deg)
        half = s.width_mm / 2 * math.cos(p)
        top = -(s.width_mm / 2 + _AROUND_MM) * math.sin(p) - _AROUND_MM
        wide = half + _AROUND_MM * math.cos(p)
        ring = ((-half, top), (-half, top - self._down), (half, top - self._down), (half, top))
        yield line("lead", *view.all(ring), closed=True, piece=self.piece.id)
        yield line("wall-edge", *view.all(((-wide, top), (wide, top))))
        wall = view.at((wide, top))
        yield Words("wall", (wall[0], wall[1] - 1.0), "words soft", FIGURE, "end")
        ridge = ((0.0, top), (0.0, top - self._down))
        yield line("seam", *view.all(ridge), fold="ridge")
        yield line("roof-line", *view.all(((0.0, top - self._down), (0.0, top - self._down - _AROUND_MM))))
        on_roof = (replace(f, at=to_run_frame(self.piece.pattern, (f.at,))[0]) for f in self.piece.fixings)
        seen = (replace(f, at=(f.at[0] * math.cos(p), top + f.at[1])) for f in on_roof if f.at[1] <= POINT_MM)
        yield from fixing_signs(seen, view.at)
        yield number_along(view, self.piece, (half / 2, top - self._down / 2), 0.0, 2 * half / len(self.piece.id))
        side = view.at((half, top)), view.at((half, top - self._down))
        yield from between(*side, (ROW, 0.0), millimetres(self._down))
        edge = view.at((-half, top - self._down)), view.at((half, top - self._down))
        yield from between(*edge, (0.0, ROW + _AROUND_MM / view.scale), millimetres(2 * half))

    def notes(self) -> Iterable[str]:
        yield "thick lines: folds along the ridge and where roof and wall meet"
        if self.gusset:
            yield f"gusset {self.gusset.id} fills the wall's part over the ridge"
        else:
            yield "hatched: the lead over the ridge is bossed out of the whole sheet"
        yield f"on each roof the sheet reaches {millimetres(self.survey.width_mm / 2)} mm down from the ridge"
        if key := fixing_key(self.piece.fixings):
            yield f"{key}; places by the rules that the ticket names"
