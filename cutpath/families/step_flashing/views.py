"""The wall as a person sees it who faces it: courses, roof, and the lengths of lead in their places.

Everything stands where it was measured. A return beyond the arris is drawn unrolled, in the plane of the wall. What is
turned into a joint cannot be seen: its fold is a thick line along the joint.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath import sure
from cutpath.families.laid import Laid
from cutpath.families.soakers.views import SLATE_MM, roof_in_section, soakers_behind
from cutpath.paper.brickwork import View, bricks, joint_lines, left_out_joints
from cutpath.paper.dimensions import FIGURE, ROW, between, running, width_mm
from cutpath.paper.in_place import (
    OnWall,
    beyond_arris,
    carried,
    clear_of_laps,
    fixings_in_place,
    lead_in_place,
    notes_on_fixings,
    notes_on_rounding,
    number_along,
    number_on,
    on_wall,
    seams,
)
from cutpath.paper.ink import Ink, Words, line
from cutpath.paper.markup import number
from cutpath.paper.text import millimetres, whole_mm
from cutpath.paper.wall_sheet import Elevation, fitted
from cutpath.plain import in_words
from cutpath.plane import to_run_frame, turned
from cutpath.tolerances import POINT_MM
from cutpath.trade.coverings import soaker_count
from cutpath.values.fixing import FixingKind
from cutpath.values.leadwork import EndCut, Soakers, StepFlashing
from cutpath.values.pattern import FlatPattern, FoldUse, MarkKind, Point, Station, StationUse
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, Hand

if TYPE_CHECKING:
    from shapely import Polygon

_BESIDE_MM, _BEYOND_MM, _ABOVE_MM = 60.0, 110.0, 20.0  # wall beside the return, beyond the lead, above its joints


def views(laid: Laid[StepFlashing]) -> Iterable[Elevation]:
    """Draw the wall, once for all reaches of it, with the soakers behind the lead."""
    reaches, hand = laid.beside(StepFlashing), laid.hand
    if hand is None or laid.survey is not reaches[0]:
        return
    soakers = (other for other in laid.beside(Soakers) if hand in other.head.hands)
    yield step_elevation([(reach, laid.lengths_of(reach, hand)) for reach in reaches], hand, next(soakers, None))


def step_elevation(
    reaches: Sequence[tuple[StepFlashing, Sequence[Piece]]], hand: Hand, soakers: Soakers | None
) -> Elevation:
    """Draw a run of step flashing on its wall, seen by a person who faces it.

    Parameters
    ----------
    reaches : sequence of (StepFlashing, sequence of Piece)
        From the lower corner up, one for each pitch of the roof; the lengths of this hand in fitting order.
    soakers : Soakers or None
        Those under it, where known; their gauge also spaces the slates.
    """
    placed: list[_Reach] = []
    at = (0.0, 0.0)
    for survey, pieces in reaches:
        placed.append(_Reach(survey, place_steps(survey, pieces), soakers, at))
        (x, y) = turned(((survey.slope_mm, 0.0),), survey.pitch_deg)[0]
        at = (at[0] + x, at[1] + y)
    return _Wall(hand, placed, soakers).elevation()


def place_steps(survey: StepFlashing, pieces: Iterable[Piece]) -> list[OnWall]:
    """Put lengths of step flashing in their places on the wall, in the frame of their own reach."""
    return [on_wall(piece, survey.pitch_deg, _below_water_line(survey, piece.pattern)) for piece in pieces]


def _below_water_line(survey: StepFlashing, pattern: FlatPattern) -> Point:
    """Return a point of the wall face: plumb below the middle of the water line, since a length ends plumb."""
    mark = next(m for m in pattern.marks if m.kind is MarkKind.WATER_LINE)
    (x0, y0), (x1, y1) = turned(to_run_frame(pattern, mark.points), survey.pitch_deg)
    return ((x0 + x1) / 2, (y0 + y1) / 2 - survey.water_line_mm / 8)


@dataclass(frozen=True, slots=True)
class _Reach:
    """Step flashing along one pitch: lengths in a frame of their own, with its origin ``at`` a point of the wall."""

    survey: StepFlashing
    placed: Sequence[OnWall]
    soakers: Soakers | None
    at: Point

    @property
    def pitch(self) -> float:
        """The pitch in radians."""
        return math.radians(self.survey.pitch_deg)

    @property
    def end_mm(self) -> float:
        """How far up the roof line the lead reaches."""
        return max(p.end_mm for p in self.placed)

    def on_wall(self) -> list[OnWall]:
        """Return the lengths in the frame of the wall."""
        return [carried(place, *self.at) for place in self.placed]

    def strip(self, view: View, u: float, v: float) -> Point:
        """Return the place on paper of a point of the strip."""
        return view.at(turned(((u, v),), self.survey.pitch_deg)[0])

    def roof(self, view: View, start_mm: float, end_mm: float) -> list[Ink]:
        """Draw the roof between two distances along it."""
        return roof_in_section(view.shifted(self.at), self.survey.pitch_deg, start_mm, end_mm, self.soakers)

    def behind(self, view: View) -> list[Ink]:
        """Draw the soakers behind the lead."""
        from shapely import box, union_all

        if self.soakers is None or not self.soakers.gauge_mm:
            return []
        _, _, x1, y1 = union_all([p.shown for p in self.placed]).bounds
        cheek = box(0.0, 0.0, x1, y1)
        return soakers_behind(view.shifted(self.at), self.survey.pitch_deg, self.soakers, cheek)

    def water_line(self, view: View) -> Iterable[Ink]:
        """Draw the water line from the first mark of it to the last."""
        marks = [
            turned(to_run_frame(p.piece.pattern, m.points), self.survey.pitch_deg)
            for p in self.placed
            for m in p.piece.pattern.marks
            if m.kind is MarkKind.WATER_LINE
        ]
        points = sorted(point for mark in marks for point in mark)
        ends = view.shifted(self.at).all((points[0], points[-1]))
        yield line("mark water-line", *ends, height=number(self.survey.water_line_mm))

    def fixings(self, view: View) -> list[Ink]:
        """Draw what holds the lengths; clips of a cover on the line of the roof, where its outer edge is seen."""

        def seen(point: Point) -> Point:
            u, v = point
            tongue = self.survey.tongue if u < 0.0 else None
            if self.survey.cover_mm and v < 0.0 and (u >= 0.0 or tongue):  # a return reaches below the roof at u < 0
                return turned(((u, 0.0),), tongue.pitch_deg if tongue else self.survey.pitch_deg)[0]
            return turned((point,), self.survey.pitch_deg)[0]

        return fixings_in_place(view.shifted(self.at), self.placed, seen)

    def letters(self, view: View, *, returns: bool) -> Iterable[Ink]:
        """Write the lengths' numbers: with ``returns``, of what the next length hides on the wall, on its return."""
        here = view.shifted(self.at)
        for i, place in enumerate(self.placed):
            hidden = any(over.start_mm <= place.start_mm + POINT_MM for over in self.placed[i + 1 :])
            if returns and hidden and place.shown.bounds[0] < -POINT_MM:
                yield from number_on(here, place.piece, beyond_arris(place.shown), here.at((0.0, 0.0))[0])
                continue
            pitch, half = self.survey.pitch_deg, self.survey.water_line_mm / 2
            middle = turned(((math.fsum(clear_of_laps(self.placed, i)) / 2, half),), pitch)[0]
            yield number_along(here, place.piece, middle, pitch, 2 * half)

    def sizes(self, view: View, *, last: bool) -> Iterable[Ink]:
        """Dimension feet of risers, laps and lengths along the roof; at the ``last`` reach's end the water line."""
        here = view.shifted(self.at)
        c, s = sure.cos(self.pitch), sure.sin(self.pitch)
        along, out = view.way((c, s)), view.way((s, -c))
        depth = 2.0
        if self.soakers is not None and self.soakers.gauge_mm:
            headlap = self.soakers.length_mm - self.soakers.turn_down_mm - self.soakers.gauge_mm
            depth += SLATE_MM * (3 + headlap / self.soakers.gauge_mm) / view.scale

        def off(by: float) -> Point:
            return out[0] * by, out[1] * by

        # Where another reach goes on, the length's own figure gives the end, and there is no room for one more.
        found = [(u, at) for u, at in self._feet() if last or u < self.survey.slope_mm - view.scale * FIGURE / 4]
        feet = [(here.at(at), whole_mm(u)) for u, at in found]
        corner = self.strip(here, 0.0, 0.0)
        row = off(depth)
        beyond = FIGURE / 2 if self.survey.tongue else 0.0
        yield from running((corner[0] + row[0], corner[1] + row[1]), along, out, feet, beyond_mm=beyond)
        depth += 5.0 + FIGURE + max((width_mm(figure) for _, figure in feet), default=0.0)
        for low, high in pairwise(self.placed):
            lap = low.end_mm - high.start_mm
            ends = (self.strip(here, high.start_mm, 0.0), self.strip(here, low.end_mm, 0.0))
            yield from between(*ends, off(depth), f"lap {millimetres(lap)}")
        depth += ROW if len(self.placed) > 1 else 0.0
        for i, place in enumerate(self.placed):
            ends = (self.strip(here, place.start_mm, 0.0), self.strip(here, place.end_mm, 0.0))
            figure = f"{place.piece.id}: {millimetres(place.end_mm - place.start_mm)}"
            yield from between(*ends, off(depth + ROW * (i % 2)), figure)
        if last:
            line_mm = self.survey.water_line_mm
            plumb = self.survey.upper_end is EndCut.PLUMB
            beyond = self.end_mm + (line_mm * sure.tan(self.pitch) if plumb else 0.0)
            water = (self.strip(here, beyond, 0.0), self.strip(here, beyond, line_mm))
            yield from between(*water, (along[0] * 4.0, along[1] * 4.0), millimetres(line_mm))

    def lap_of_tongue(self, view: View, below: _Reach) -> Iterable[Ink]:
        """Dimension how far the tongue goes back over the reach below, clear of the teeth of both lengths."""
        from shapely import box, union_all
        from shapely.affinity import rotate, translate

        if not self.survey.tongue:
            return
        here, slope_deg = view.shifted(self.at), self.survey.tongue.pitch_deg
        foot = next(at for station, at in self._stations() if station.use is StationUse.TONGUE_FOOT)
        reach = math.hypot(*foot)
        figure = f"lap {millimetres(reach)}"
        wide = width_mm(figure) * view.scale
        beyond = 2 * FIGURE * view.scale + wide if reach < wide else 0.0  # where `between` has no room inside
        lead = union_all([place.shown for reach in (below, self) for place in reach.on_wall()])
        level = rotate(translate(lead, -self.at[0], -self.at[1]), -slope_deg, origin=(0.0, 0.0))
        over = level.intersection(box(-reach, level.bounds[1], beyond, level.bounds[3]))
        above = over.bounds[3] / view.scale + 1.5
        up = view.way(turned(((0.0, 1.0),), slope_deg)[0])
        yield from between(here.at(foot), here.at((0.0, 0.0)), (up[0] * above, up[1] * above), figure)

    def _feet(self) -> list[tuple[float, Point]]:
        """Return the feet of all risers along the roof line, and where they stand on the wall; last the upper end.

        Those of a tongue are figured where they belong to the reach below.
        """
        feet = (
            (turned((at,), -self.survey.pitch_deg)[0][0], at)
            for station, at in self._stations()
            if station.use in {StationUse.RISER_FOOT, StationUse.UPPER_END}
        )
        return sorted((along, at) for along, at in feet if not self.survey.tongue or at[0] > POINT_MM)

    def _stations(self) -> list[tuple[Station, Point]]:
        """Return the stations of the lengths and where they stand on the wall, in the reach's own frame.

        Where two lengths have the same one, that of the upper length counts.
        """
        found = {
            station.what: (station, turned(to_run_frame(place.piece.pattern, (station.at,)), self.survey.pitch_deg)[0])
            for place in self.placed
            for station in place.piece.pattern.stations
        }
        return list(found.values())


@dataclass(frozen=True)
class _Wall:
    """A wall with one reach of step flashing to each pitch of its roof, from the lower corner up."""

    hand: Hand
    reaches: Sequence[_Reach]
    soakers: Soakers | None

    def elevation(self) -> Elevation:
        rises = self.hand.value
        *first, last = (reach.survey.head.label for reach in self.reaches)
        labels = f"{', '.join(first)} and {last}" if first else last
        pitches = ", then ".join(f"{number(round(reach.survey.pitch_deg, 1))}°" for reach in self.reaches)
        return fitted(
            self._inks,
            mirrored=self.hand is Hand.LEFT,
            title=f"{labels}, {rises} hand: the wall with its lead",
            words=f"facing the wall, roof rising to the {rises}, pitch {pitches}",
            notes=self._notes(),
        )

    def _inks(self, view: View) -> list[Ink]:
        return [*self._wall(view), *self._lead(view), *self._letters(view), *self._sizes(view)]

    # Extents, all in mm in the wall frame.

    @property
    def _survey(self) -> StepFlashing:
        """The lowest reach, from whose corner the wall was measured."""
        return self.reaches[0].survey

    @cached_property
    def _placed(self) -> list[OnWall]:
        return [place for reach in self.reaches for place in reach.on_wall()]

    @property
    def _return_mm(self) -> float:
        return 0.0 if self._survey.tongue else max(0.0, -self._extents[0])

    @property
    def _below(self) -> float:
        """Rise in 1 of the roof line at x < 0: level on the next face, or of a roof below that is not drawn."""
        return sure.tan(math.radians(self._survey.tongue.pitch_deg)) if self._survey.tongue else 0.0

    @cached_property
    def _extents(self) -> tuple[float, float, float, float]:
        boxes = [p.shown.bounds for p in self._placed]
        return (
            min(0.0, *(b[0] for b in boxes)),
            min(0.0, *(b[1] for b in boxes)),
            max(b[2] for b in boxes),
            max(b[3] for b in boxes),
        )

    @cached_property
    def _wall_shape(self) -> Polygon:
        from shapely import Polygon

        x0, _, x1, y1 = self._extents
        last = self.reaches[-1]
        right = x1 + _BEYOND_MM
        end = last.at[1] + (right - last.at[0]) * sure.tan(last.pitch)
        top = max(y1 + _BEYOND_MM, end + _BEYOND_MM / 2)
        foot = [*(reach.at for reach in self.reaches), (right, end), (right, top)]
        if not x0:
            return Polygon([*foot, (0.0, top)])
        left = x0 - _BESIDE_MM
        return Polygon([(left, left * self._below), *foot, (left, top)])

    # What is drawn, from the back to the front.

    def _wall(self, view: View) -> list[Ink]:
        wall = self._wall_shape
        joints = self._joints
        left = wall.bounds[0]
        inks: list[Ink] = [
            *bricks(view, joints, wall),
            *joint_lines(view, joints, wall),
            *left_out_joints(view, joints, wall),
        ]
        start = 0.0 if left < 0 else -(self.soakers.gauge_mm if self.soakers else _BEYOND_MM)
        for reach in self.reaches:
            beyond = _BEYOND_MM / sure.cos(reach.pitch)
            inks += reach.roof(
                view, start, reach.end_mm + beyond if reach is self.reaches[-1] else reach.survey.slope_mm
            )
            start = 0.0
        if left < 0:
            inks.append(line("roof-line", *view.all(((left, left * self._below), (0.0, 0.0)))))
        inks.append(line("wall-edge", *view.all(((0.0, 0.0), (0.0, self._top)))))
        return inks

    def _lead(self, view: View) -> Iterable[Ink]:
        yield from lead_in_place(view, self._placed)
        for reach in self.reaches:
            yield from reach.behind(view)
        yield from seams(view, self._placed)
        for reach in self.reaches:
            yield from reach.water_line(view)
            yield from reach.fixings(view)

    def _letters(self, view: View) -> Iterable[Ink]:
        returns = bool(self._return_mm)
        for reach in self.reaches:
            yield from reach.letters(view, returns=returns and reach is self.reaches[0])
        if returns:
            top = view.at((0.0, self._top))
            yield Words("arris", (top[0], top[1] - 0.8), "words soft", FIGURE)

    def _sizes(self, view: View) -> Iterable[Ink]:
        for reach in self.reaches:
            yield from reach.sizes(view, last=reach is self.reaches[-1])
        for below, reach in pairwise(self.reaches):
            yield from reach.lap_of_tongue(view, below)
        yield from self._heights(view)
        if self._return_mm:
            ends = view.at((-self._return_mm, 0.0)), view.at((0.0, 0.0))
            yield from between(*ends, (0.0, ROW), millimetres(self._return_mm))

    def _heights(self, view: View) -> Iterable[Ink]:
        x0, _, _, _ = self._wall_shape.bounds
        joints = [joint for joint in self._joints if joint.y_mm > 0]
        if len(joints) > 1:  # not all are figured where they lie too close on paper
            apart = (joints[-1].y_mm - joints[0].y_mm) / (len(joints) - 1) / view.scale
            joints = joints[:: max(1, math.ceil(1.1 * FIGURE / apart))]
        ends = [0.0, *(joint.end_x_mm or 0.0 for joint in joints)]
        starts = [start or x0 for start in ends]  # a bed that was chosen for one step begins where the one below ends
        marks = [
            (view.at((x, j.y_mm)), f"{j.number}: {millimetres(j.y_mm)}") for x, j in zip(starts, joints, strict=False)
        ]
        side = view.way((-1.0, 0.0))
        foot = view.at((x0, 0.0))
        heights = running((foot[0] + 3.0 * side[0], foot[1]), (0.0, -1.0), side, marks)
        yield from heights
        top = min(y for ink in heights for _, y in ink.points)
        head = (foot[0] + 5.0 * side[0], top - 1.5)
        yield Words("joint: height", head, "figure soft", FIGURE, "start" if side[0] > 0 else "end")

    @cached_property
    def _joints(self) -> list[BedJoint]:
        """Return the measured joints as far up as the wall is shown."""
        top = self._wall_shape.bounds[3]
        return [joint for joint in self._survey.joints if joint.y_mm < top]

    @property
    def _top(self) -> float:
        """How high the wall's edge is drawn: a little above its highest joint or the lead."""
        highest = max((joint.y_mm for joint in self._joints), default=0.0)
        return max(highest, self._extents[3]) + _ABOVE_MM

    def _passed_by(self) -> tuple[list[int], list[int]]:
        """Return the numbers of joints that were left out of the measured ones, and of those that carry no step."""
        folds = (f for place in self._placed for f in place.folds if f.use is FoldUse.STEP_TURN_IN)
        used = {f.joint for f in folds if f.joint is not None}
        reach = range(min(used), max(used)) if used else range(0)
        known = {joint.number for joint in self._survey.joints}
        return [n for n in reach if n not in known], [n for n in reach if n in known - used]

    def _notes(self) -> Iterable[str]:
        s = self._survey
        yield f"thick line on a bed joint: fold; {millimetres(s.turn_in_mm)} mm turns into the joint"
        yield (
            f"chain line: water line, {millimetres(s.water_line_mm)} mm above the roof, square to it; "
            "below it nothing is cut"
        )
        if len(self._placed) > 1:
            yield "hatched: laps, with the end of the length underneath dashed; the upper length goes over the lower"
        if self.soakers is not None and self.soakers.gauge_mm:
            count = "" if len(self.reaches) > 1 else f"{self.soakers.count} "
            said = f"dashed: upstands of {count}soakers behind the lead, {millimetres(self.soakers.upstand_mm)} mm high"
            by_course = not count or self.soakers.count == soaker_count(s.slope_mm, self.soakers.gauge_mm)
            yield f"{said}, one to each course of {millimetres(self.soakers.gauge_mm)} mm" if by_course else said
        if s.cover_mm:
            yield f"thick line on the roof: fold, a cover of {millimetres(s.cover_mm)} mm lies on the roof towards you"
            if any(f.kind is FixingKind.CLIP for place in self._placed for f in place.piece.fixings):
                yield "clips on the thick line of a cover hold its outer edge"
        if self._return_mm:
            side = "right" if self.hand is Hand.LEFT else "left"
            yield f"{side} of the arris: the return of {millimetres(self._return_mm)} mm on the next face, unrolled"
        left_out, without = self._passed_by()
        if left_out:
            yield (
                f"dashed: {_joints_words(left_out)} not to be used, drawn evenly between the neighbours; "
                "the step goes past"
            )
        if without:
            yield f"no step on {_joints_words(without)}: the one below goes on to the next joint"
        if len(self.reaches) > 1:
            yield (
                "at a change of pitch a tongue of the upper length follows the lower roof, over the last tooth of the "
                "length there and into the same joints"
            )
        corner = "lower corner, and from each change of pitch," if len(self.reaches) > 1 else "lower corner"
        yield (
            f"figures along the slope run from the {corner} to the foot of each riser and to the upper end, "
            "in whole mm; heights of joints are those at the lower corner"
        )
        yield from dict.fromkeys(note for reach in self.reaches for note in notes_on_rounding(reach.placed))
        if any(joint.slope for joint in s.joints):
            yield "joints are out of level, drawn as measured"
        yield from notes_on_fixings(self._placed)
        yield "bond and slates are indicative, bed joints are as measured"


def _joints_words(numbers: Sequence[int]) -> str:
    """Name joints: ``joint 3``, ``joints 3 and 5``, ``joints 3, 4 and 9``."""
    return f"joint{'s' if len(numbers) > 1 else ''} {in_words(numbers)}"
