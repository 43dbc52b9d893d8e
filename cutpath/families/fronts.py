"""Level flashings as a person sees them who faces the wall, and cut square to it: fronts of stacks, tops of lean-tos.

Frame: x along the face from its left arris or end, y plumb from the roof line there. What lies on the roof falls
towards the viewer and is drawn as it is seen, foreshortened. Section: x out of the wall.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from cutpath import sure
from cutpath.families.laid import Laid
from cutpath.paper.brickwork import BRICK_MM, View, bricks, joint_lines, points_of
from cutpath.paper.dimensions import FIGURE, angle, between, running
from cutpath.paper.in_place import (
    OnWall,
    beyond_arris,
    clear_of_laps,
    fixings_in_place,
    lead_in_place,
    notes_on_fixings,
    notes_on_rounding,
    number_along,
    number_on,
    rows,
    seams,
)
from cutpath.paper.ink import Contours, Ink, Words, line
from cutpath.paper.markup import number
from cutpath.paper.section import BELOW_MM, BEYOND_MM, WALL_MM, cut_wall, profile, section
from cutpath.paper.text import millimetres
from cutpath.paper.wall_sheet import AROUND_MM, Elevation, fitted
from cutpath.plane import mirrored, moved, to_run_frame
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import Soakers, StepFlashing
from cutpath.values.pattern import FlatPattern, Polyline
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, Hand

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

_ABOVE_MM, _UNDER_MM = 110.0, 35.0


@dataclass(frozen=True, slots=True)
class Names:
    """What the face, the lead on it and what stands behind it are called."""

    face: str
    lead: str
    behind: str


@dataclass(frozen=True, slots=True)
class Face:
    """A level face with lead along its foot.

    Attributes
    ----------
    label : str
    names : Names
    pitch_deg : float
        Of the roof that falls away from the face.
    width_mm : float
        Of the face, which begins at x = 0.
    upstand_mm, cover_mm, turn_in_mm : float
    beyond_mm : float or None
        How far the cover goes on beyond each end of the face, where the roof goes on up beside it; None where both end
        with the face.
    stops_mm : tuple of float
        Heights to which the sheet is turned up beyond the left and the right end of the face; 0 for a plain end.
    """

    label: str
    names: Names
    pitch_deg: float
    width_mm: float
    upstand_mm: float
    cover_mm: float
    turn_in_mm: float
    beyond_mm: float | None = None
    stops_mm: tuple[float, float] = (0.0, 0.0)


def joints_beside(laid: Laid[Any]) -> tuple[BedJoint, ...]:
    """Return the bed joints that were measured for the step flashing beside a face; none where nothing was."""
    sides = laid.beside(StepFlashing)
    return sides[0].joints if sides else ()


def gauge_mm(laid: Laid[Any]) -> float:
    """Return the gauge of the job's covering where a detail has soakers; 0 else."""
    return next((soakers.gauge_mm for soakers in laid.elsewhere(Soakers)), 0.0)


@dataclass(frozen=True, slots=True)
class Return:
    """The return of a side flashing on the front: its number, its shape there and the fold in its joint."""

    piece: Piece
    shown: Polygon
    fold: Polyline


def returns_on_front(cheeks: Iterable[tuple[Hand, OnWall]], width_mm: float) -> list[Return]:
    """Carry the returns of the lowest lengths of both cheeks to the front face.

    The right-hand cheek's arris is the right one of the front (x = ``width_mm``), the left-hand cheek's the left one.
    """
    from shapely import Polygon

    found = []
    for hand, place in cheeks:
        if place.shown.bounds[0] > -POINT_MM:
            continue
        beyond = (f for f in place.folds if max(f.start[0], f.end[0]) <= POINT_MM)
        folds = [f for f in beyond if abs(f.start[0] - f.end[0]) > POINT_MM]

        def carried(points: Polyline, hand: Hand = hand) -> Polyline:
            return mirrored(points) if hand is Hand.LEFT else moved(points, width_mm, 0.0)

        shape = Polygon(carried(points_of(beyond_arris(place.shown).exterior)))
        found += [Return(place.piece, shape, carried((f.start, f.end))) for f in folds]
    return found


def front_elevation(
    face: Face,
    pieces: Sequence[Piece],
    joints: Sequence[BedJoint],
    returns: Sequence[Return],
    gauge_mm: float,
) -> Elevation:
    """Draw the lead on a face from in front.

    Parameters
    ----------
    joints : sequence of BedJoint
        Of the face, where measured.
    returns : sequence of Return
        Of the side flashings, which go over the apron.
    gauge_mm : float
        Of the covering, to suggest its courses; 0 where it is not known.
    """
    placed = [_from_in_front(face, piece) for piece in pieces]
    front = _Front(face, placed, joints, returns, gauge_mm)
    return fitted(
        front.inks,
        mirrored=False,
        title=f"{face.label}: the {face.names.face} with its lead",
        words=f"facing the wall, roof falling towards you at {number(round(face.pitch_deg, 1))}°",
        notes=front.notes(),
    )


def _from_in_front(front: Face, piece: Piece) -> OnWall:
    """Return what is seen of a length: its upstand on the face and, foreshortened, its cover on the roof."""
    from shapely import LineString, Polygon, box
    from shapely.affinity import scale

    width, up = front.width_mm, front.upstand_mm
    sheet = Polygon(to_run_frame(piece.pattern, piece.pattern.outline))
    x0, _, x1, _ = sheet.bounds
    ends = (x0, x1) if front.beyond_mm is not None else (max(x0, 0.0), min(x1, width))
    cover = sheet.intersection(box(ends[0], -front.cover_mm, ends[1], 0.0))
    seen = scale(cover, 1.0, sure.sin(math.radians(front.pitch_deg)), origin=(0.0, 0.0))
    shown = sheet.intersection(box(0.0, 0.0, width, up)).union(seen)
    face = box(0.0, -POINT_MM, width, up + POINT_MM)
    folds = []
    for fold in piece.pattern.folds:
        cut = face.intersection(LineString(to_run_frame(piece.pattern, (fold.start, fold.end))))
        if cut.length > POINT_MM:
            a, b = points_of(cut)
            folds.append(replace(fold, start=a, end=b))
    assert isinstance(shown, Polygon)  # noqa: S101 - upstand and cover meet along the roof line
    return OnWall(piece, shown, tuple(folds), *ends)


@dataclass(frozen=True, slots=True)
class _Front:
    face: Face
    placed: Sequence[OnWall]
    joints: Sequence[BedJoint]
    returns: Sequence[Return]
    gauge_mm: float

    @property
    def _width(self) -> float:
        return self.face.width_mm

    @property
    def _drop(self) -> float:
        """How far the cover reaches below the roof line, as it is seen."""
        return self.face.cover_mm * sure.sin(math.radians(self.face.pitch_deg))

    @property
    def _ends(self) -> tuple[float, float]:
        return min(p.start_mm for p in self.placed), max(p.end_mm for p in self.placed)

    @property
    def _top(self) -> float:
        return max(self.face.upstand_mm, *(r.shown.bounds[3] for r in self.returns), 0.0) + _ABOVE_MM

    def inks(self, view: View) -> list[Ink]:
        return [*self._ground(view), *self._lead(view), *self._sizes(view)]

    def _ground(self, view: View) -> Iterable[Ink]:
        from shapely import box

        left, right = self._ends
        wall = box(0.0, 0.0, self._width, self._top)
        head = 0.0 if self.face.beyond_mm is None else self._top - _ABOVE_MM / 2
        roof = box(left - AROUND_MM, -self._drop - _UNDER_MM, right + AROUND_MM, head)
        yield from self._slates(view, roof.difference(wall))
        joints = [joint for joint in self.joints if joint.y_mm < self._top]
        yield from bricks(view, joints, wall)
        yield from joint_lines(view, joints, wall)
        if not joints:
            level = self.face.upstand_mm
            yield line("bed-joint", *view.all(((0.0, level), (self._width, level))), height=millimetres(level))
        for x in (0.0, self._width):
            yield line("wall-edge", *view.all(((x, 0.0), (x, self._top))))
        yield line("roof-line", *view.all(((0.0, 0.0), (self._width, 0.0))))

    def _slates(self, view: View, roof: BaseGeometry) -> Iterable[Ink]:
        """Suggest the courses of the roof as they are seen, and their joints at a brick's length."""
        from shapely import LineString, MultiLineString

        if not self.gauge_mm:
            return
        x0, y0, x1, y1 = roof.bounds
        rise = self.gauge_mm * sure.sin(math.radians(self.face.pitch_deg))
        wide = max(BRICK_MM, 1.2 * self.gauge_mm) if self.gauge_mm > 120.0 else 165.0
        first, last = math.floor(y0 / rise), math.ceil(y1 / rise)
        rows = [LineString(((x0, i * rise), (x1, i * rise))) for i in range(first, last + 1)]
        for i in range(first, last):
            shift = wide / 2 * (i % 2)
            ups = range(math.floor((x0 - shift) / wide), math.ceil((x1 - shift) / wide) + 1)
            rows += [LineString(((k * wide + shift, i * rise), (k * wide + shift, (i + 1) * rise))) for k in ups]
        cut = roof.intersection(MultiLineString(rows))
        parts = [view.all(points_of(part)) for part in getattr(cut, "geoms", [cut]) if part.length > POINT_MM]
        yield Contours(tuple(parts), "tile")
        if self.face.beyond_mm is not None:
            yield Words("roof", view.at((x1 - AROUND_MM / 3, y1)), "words soft", FIGURE)

    def _lead(self, view: View) -> Iterable[Ink]:
        from shapely import Polygon, union_all

        yield from lead_in_place(view, self.placed)
        yield from seams(view, self.placed)
        fall = sure.sin(math.radians(self.face.pitch_deg))
        yield from fixings_in_place(view, self.placed, lambda at: (at[0], at[1] * (fall if at[1] < 0 else 1.0)))
        over = math.fsum(turned_in.shown.bounds[2] - turned_in.shown.bounds[0] for turned_in in self.returns)
        hidden = over > self._width / 2  # too little of the upstand shows for a number between those of the returns
        for i, place in enumerate(self.placed):
            up = self.face.upstand_mm
            level, room = (-self._drop / 2, self._drop) if self._drop >= up or hidden else (up / 2, up)
            yield number_along(view, place.piece, (math.fsum(clear_of_laps(self.placed, i)) / 2, level), 0.0, room)
        for turned_in in self.returns:
            known = (("piece", turned_in.piece.id),)
            ring = view.all(points_of(turned_in.shown.exterior)[:-1])
            yield Contours((ring,), "lead", closed=True, data=known)
            yield line("seam", *view.all(turned_in.fold), fold="return turn-in")
            arris = 0.0 if turned_in.shown.centroid.x < self._width / 2 else self._width
            half = self._width / view.scale / 2 - 1.2
            others = union_all([other.shown for other in self.returns if other is not turned_in])
            alone = turned_in.shown.difference(others)
            shape = alone if isinstance(alone, Polygon) and alone else turned_in.shown
            yield from number_on(view, turned_in.piece, shape, view.at((arris, 0.0))[0], half)

    def _sizes(self, view: View) -> Iterable[Ink]:
        left, right = self._ends
        bottom = -self._drop
        stops = sorted({left, 0.0, self._width, right})
        yield from rows(view, self.placed, [(x, bottom) for x in stops], lambda x: (x, bottom), (0.0, 1.0))
        up = self.face.upstand_mm
        side = max(right, self._width)
        yield from between(view.at((side, 0.0)), view.at((side, up)), (8.0, 0.0), millimetres(up))
        joints = [joint for joint in self.joints if joint.y_mm < self._top]
        foot = view.at((left - AROUND_MM, 0.0))
        marks = [(view.at((left - AROUND_MM, j.y_mm)), f"{j.number}: {millimetres(j.y_mm)}") for j in joints]
        if marks:
            yield from running((foot[0] - 3.0, foot[1]), (0.0, -1.0), (-1.0, 0.0), marks)

    def notes(self) -> Iterable[str]:
        s = self.face
        level = [abs(joint.y_mm - s.upstand_mm) <= POINT_MM for joint in self.joints]
        into = "joint" if any(level) or not level else "chase"
        yield f"thick line on the {into}: fold; {millimetres(s.turn_in_mm)} mm turns into the {into}"
        yield f"thick line on the roof: fold; the cover reaches {millimetres(s.cover_mm)} mm down it, foreshortened"
        if len(self.placed) > 1:
            yield "hatched: laps, with the end of the length underneath dashed"
        if self.returns:
            same = all(abs(turned_in.fold[0][1] - s.upstand_mm) <= POINT_MM for turned_in in self.returns)
            over = "the same joint" if same else "a joint above it"
            yield f"the returns of the side flashings go over the upstand and turn into {over}"
        if s.beyond_mm:
            beyond = millimetres(s.beyond_mm)
            yield f"beyond the arrises {beyond} mm lie on the roof; the parts that turn up the sides are not shown"
        stopped = [(end, high) for end, high in zip(("left", "right"), s.stops_mm, strict=True) if high]
        if stopped:
            end = "each" if len(stopped) > 1 else f"the {stopped[0][0]}"
            high = millimetres(stopped[0][1])
            yield f"beyond {end} end the sheet goes on by {high} mm, turned up against the wall there; not shown"
        yield from notes_on_rounding(self.placed)
        yield from notes_on_fixings(self.placed)
        if not self.joints:
            yield "no courses were measured here: only the joint above the upstand is drawn"


def flashing_section(face: Face, pattern: FlatPattern) -> Elevation:
    """Cut the lead on a face square to it."""
    corners = profile(pattern, 0.0)
    lead = moved(corners, -corners[1][0], face.upstand_mm - corners[1][1])
    pitch, up, cover = face.pitch_deg, face.upstand_mm, face.cover_mm
    far = lead[-1][0] + BEYOND_MM
    drop = far * sure.tan(math.radians(pitch))

    def draw(view: View) -> list[Ink]:
        inks: list[Ink] = [*cut_wall(view, -BELOW_MM, up + BEYOND_MM)]
        inks.append(line("bed-joint", *view.all(((-WALL_MM, up), (0.0, up)))))
        inks.append(line("roof-line", *view.all(((0.0, 0.0), (far, -drop)))))
        inks.append(line("section-lead", *view.all(lead), piece="flashing"))
        inks += between(view.at((0.0, 0.0)), view.at((0.0, up)), (6.0, 0.0), millimetres(up))
        inks += between(view.at((-face.turn_in_mm, up)), view.at((0.0, up)), (0.0, -5.0), millimetres(face.turn_in_mm))
        end = view.at((cover * sure.cos(math.radians(pitch)), -cover * sure.sin(math.radians(pitch))))
        off = (-sure.sin(math.radians(pitch)) * 5.0, sure.cos(math.radians(pitch)) * 5.0)
        inks += between(view.at((0.0, 0.0)), end, off, millimetres(cover))
        corner = view.at((0.0, 0.0))
        inks.append(line("guide", corner, (corner[0] + 22.0, corner[1])))
        inks += angle(corner, 0.0, pitch, 19.0, f"{number(round(pitch, 1))}°")
        return inks

    return section(
        draw,
        title=f"{face.label}: section through the {face.names.lead}",
        words=f"{face.names.behind} to the left, roof falling to the right",
        notes=(),
    )
