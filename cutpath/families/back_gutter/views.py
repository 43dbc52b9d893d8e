"""A back gutter in its place: the back of the stack, laid open, with the cover flashing over it, and a section.

What lies on roof and sole is turned into the plane of the wall, every size true. Section: x out of the wall, y plumb
from the sole.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from cutpath import sure
from cutpath.families.cover_flashing.views import place_cover
from cutpath.families.laid import Laid
from cutpath.paper.brickwork import View, bricks, joint_lines, points_of
from cutpath.paper.dimensions import FIGURE, angle, between, running
from cutpath.paper.in_place import (
    OnWall,
    carried,
    clear_of_laps,
    fixings_in_place,
    laid_open,
    largest,
    lead_in_place,
    notes_on_fixings,
    notes_on_rounding,
    number_along,
    rows,
    seams,
)
from cutpath.paper.ink import Contours, Ink, Words, line
from cutpath.paper.markup import number
from cutpath.paper.section import BELOW_MM, BEYOND_MM, WALL_MM, cut_wall, fillet_in_section, profile, section, up_slope
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import Elevation, fitted
from cutpath.plane import moved, to_run_frame
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import BackGutter, CornerWork, CoverFlashing, StepFlashing
from cutpath.values.pattern import FlatPattern, MarkKind, MarkUse, Point
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint

_ABOVE_MM = 110.0  # wall above the lead
_NOT_MEASURED = "no courses were measured here: the cover's joint is drawn at the top of the upstand"
_OVER = 0.9  # on paper, between a cover and the upstand behind it


def views(laid: Laid[BackGutter]) -> Iterable[Elevation]:
    """Draw the gutter with the cover flashing that lies over it, and the joints of the back face where known."""
    gutter, over, cover = laid.survey, laid.over(CoverFlashing), None
    if over is not None:
        cover = Cover(over, tuple(place_cover(over, laid.lengths_of(over, None))))
    side = next(iter(laid.beside(StepFlashing)), None)
    yield from back_elevations(gutter, laid.lengths, laid.gussets, cover, _behind(gutter, side))


def _behind(gutter: BackGutter, side: StepFlashing | None) -> list[BedJoint]:
    """Return the bed joints of a stack's back face by their heights above the gutter's sole; none where not known.

    The sole lies level with the roof where it meets it, sole x tan p above the roof line at the back arris (derived).
    """
    if side is None:
        return []
    p = math.radians(side.pitch_deg)
    depth, level = side.slope_mm * sure.cos(p), side.slope_mm * sure.sin(p) + gutter.sole_mm * sure.tan(p)
    found = [BedJoint(j.number, j.height_mm(depth) - level) for j in side.joints if j.end_x_mm is None]
    courses = [b.y_mm - a.y_mm for a, b in pairwise(found)]
    if courses and max(courses) - min(courses) <= POINT_MM:  # a gauge, which goes on above the side's own joints
        while found[-1].y_mm < gutter.upstand_mm + courses[0]:
            found.append(BedJoint(found[-1].number + 1, found[-1].y_mm + courses[0]))
    return [joint for joint in found if joint.y_mm > 0]


@dataclass(frozen=True, slots=True)
class Cover:
    """A cover flashing over a back gutter: its survey and its lengths, x and y in its own run frame."""

    survey: CoverFlashing
    placed: tuple[OnWall, ...]


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
            yield Contours((view.all(points_of(place.shown.exterior)[:-1]),), "lead", closed=True, data=known)
        yield from seams(view, self.placed)
        yield from self._corners(view)
        yield from self._roll(view)
        over = self._over
        yield from lead_in_place(view, over)
        yield from seams(view, over)
        top = self.survey.upstand_mm
        if over and self.cover and self.chase_mm - top < self.cover.survey.cover_mm:
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
        at = view.at((high, self._bottom))  # beside the extension lines of its width
        yield Words("wood-cored roll", (at[0] + 1.0, at[1] + FIGURE + 1.5), "figure", FIGURE, "start")

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
            yield _NOT_MEASURED
        yield from notes_on_rounding(self._over)
        yield from notes_on_fixings([*self.placed, *self._over])


def back_section(
    survey: BackGutter, pattern: FlatPattern, cover: CoverFlashing | None, chase_mm: float, *, measured: bool
) -> Elevation:
    """Cut a back gutter and the cover flashing over it.

    Parameters
    ----------
    chase_mm : float
        Height of the cover's joint or chase above the sole.
    measured : bool
        The height is that of a measured joint.
    """
    lead = moved(profile(pattern, -90.0), 0.0, survey.upstand_mm)
    sole, pitch = survey.sole_mm, survey.pitch_deg
    slope = sure.tan(math.radians(pitch))
    top = (chase_mm if cover else survey.upstand_mm) + BEYOND_MM
    far = lead[-1][0] + BEYOND_MM
    foot = -sole * slope

    def draw(view: View) -> list[Ink]:
        inks: list[Ink] = [*cut_wall(view, foot - BELOW_MM, top)]
        inks.append(line("roof-line", *view.all(((0.0, foot), (far, (far - sole) * slope)))))
        inks += fillet_in_section(view, survey.fillet, (sole, 0.0), pitch)
        inks.append(line("section-lead", *view.all(lead), piece="gutter"))
        inks += between(
            view.at((0.0, 0.0)), view.at((0.0, survey.upstand_mm)), (-6.0, 0.0), millimetres(survey.upstand_mm)
        )
        inks += between(view.at((0.0, 0.0)), view.at((sole, 0.0)), (0.0, 9.0 - foot / view.scale), millimetres(sole))
        # The sheet goes over the fillet, so that only the way to its foot is straight.
        end = up_slope(survey.fillet.foot_mm if survey.fillet else survey.up_roof_mm, pitch)
        off = (-sure.sin(math.radians(pitch)) * 5.0, -sure.cos(math.radians(pitch)) * 5.0)
        inks += between(view.at((sole, 0.0)), view.at((sole + end[0], end[1])), off, millimetres(math.hypot(*end)))
        if cover is not None:
            hang = (_OVER, 0.0)
            at = [
                view.at(p) for p in ((-cover.turn_in_mm, chase_mm), (0.0, chase_mm), (0.0, chase_mm - cover.cover_mm))
            ]
            inks.append(line("section-lead", at[0], _off(at[1], hang), _off(at[2], hang), piece="cover"))
            inks += between(at[1], at[2], (8.0, 0.0), millimetres(cover.cover_mm))
            inks.append(Words("cover flashing", (at[1][0] + 2.5, at[1][1] - 1.2), "words soft", FIGURE, "start"))
        inks.append(Words("stack", view.at((-WALL_MM / 2, top + 2.0 * view.scale)), "words soft", FIGURE))
        level = view.at((sole, 0.0))
        inks.append(line("guide", level, (level[0] + 17.0, level[1])))
        inks += angle(level, -pitch, 0.0, 14.0, f"{number(round(pitch, 1))}°")
        return inks

    return section(
        draw,
        title=f"{survey.head.label}: section through the back gutter",
        words="wall to the left, roof rising to the right",
        notes=_back_notes(survey, cover, measured=measured),
    )


def _back_notes(survey: BackGutter, cover: CoverFlashing | None, *, measured: bool) -> Iterable[str]:
    rise = survey.sole_mm * sure.tan(math.radians(survey.pitch_deg))
    yield f"the sole lies level, {millimetres(rise)} mm above the roof line at the wall, on a board"
    if survey.fillet:
        f = survey.fillet
        yield (
            f"tilting fillet {millimetres(f.width_mm)} wide and {millimetres(f.height_mm)} high, "
            f"its lower side {millimetres(f.foot_mm)} mm up the roof from the sole"
        )
    if cover:
        depth = millimetres(cover.turn_in_mm)
        yield f"the cover flashing is turned {depth} mm into its joint and hangs over the upstand"
        if not measured:
            yield _NOT_MEASURED
    yield (
        f"up the roof: {millimetres(survey.up_roof_mm)} mm of sheet, measured over the fillet"
        if survey.fillet
        else f"up the roof: {millimetres(survey.up_roof_mm)} mm"
    )


def _off(point: Point, by: Point) -> Point:
    return point[0] + by[0], point[1] + by[1]
