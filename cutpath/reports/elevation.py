"""The wall as a person sees it who faces it: courses, roof, and the lengths of lead in their places.

Everything stands where it was measured. A return beyond the arris is drawn unrolled, in the plane of the wall. What is
turned into a joint cannot be seen: its fold is a thick line along the joint.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath.plane import to_run_frame, turned
from cutpath.reports.brickwork import SLATE_MM, View, bricks, joint_lines, roof_in_section, soakers_behind
from cutpath.reports.dimensions import FIGURE, ROW, between, running, width_mm
from cutpath.reports.in_place import (
    OnWall,
    beyond_arris,
    clear_of_laps,
    lead_in_place,
    number_along,
    number_on,
    on_wall,
    seams,
)
from cutpath.reports.ink import Ink, Words, line
from cutpath.reports.markup import number
from cutpath.reports.text import millimetres, whole_mm
from cutpath.reports.wall_sheet import Elevation, fitted
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import FlatPattern, MarkKind, Point
from cutpath.values.piece import Piece
from cutpath.values.survey import BedJoint, EndCut, Hand, Soakers, StepFlashing

if TYPE_CHECKING:
    from shapely import Polygon

_BESIDE_MM, _BEYOND_MM, _ABOVE_MM = 60.0, 110.0, 20.0  # wall beside the return, beyond the lead, above its joints


def step_elevation(survey: StepFlashing, hand: Hand, pieces: Sequence[Piece], soakers: Soakers | None) -> Elevation:
    """Draw one run of step flashing on its wall, seen by a person who faces it.

    Parameters
    ----------
    pieces : sequence of Piece
        The lengths of this hand, in fitting order from the bottom up.
    soakers : Soakers or None
        Those under it, where known; their gauge also spaces the slates.
    """
    return _Steps(survey, hand, place_steps(survey, pieces), soakers).elevation()


def place_steps(survey: StepFlashing, pieces: Iterable[Piece]) -> list[OnWall]:
    """Put lengths of step flashing in their places on the wall."""
    return [on_wall(piece, survey.pitch_deg, _below_water_line(survey, piece.pattern)) for piece in pieces]


def _below_water_line(survey: StepFlashing, pattern: FlatPattern) -> Point:
    """Give a point of the wall face: plumb below the middle of the water line, since the ends of a length are plumb."""
    mark = next(m for m in pattern.marks if m.kind is MarkKind.WATER_LINE)
    (x0, y0), (x1, y1) = turned(to_run_frame(pattern, mark.points), survey.pitch_deg)
    return ((x0 + x1) / 2, (y0 + y1) / 2 - survey.water_line_mm / 8)


@dataclass(frozen=True, slots=True)
class _Steps:
    survey: StepFlashing
    hand: Hand
    placed: Sequence[OnWall]
    soakers: Soakers | None

    def elevation(self) -> Elevation:
        survey, rises = self.survey, self.hand.value
        return fitted(
            self._inks,
            mirrored=self.hand is Hand.LEFT,
            title=f"{survey.head.label}, {rises} hand: the wall with its lead",
            words=f"facing the wall, roof rising to the {rises}, pitch {number(round(survey.pitch_deg, 1))}°",
            notes=self._notes(),
        )

    def _inks(self, view: View) -> list[Ink]:
        return [*self._wall(view), *self._lead(view), *self._lines(view), *self._letters(view), *self._sizes(view)]

    # Extents, all in mm in the wall frame.

    @property
    def _pitch(self) -> float:
        return math.radians(self.survey.pitch_deg)

    @property
    def _return_mm(self) -> float:
        return 0.0 if self.survey.tongue else max(0.0, -self._extents[0])

    @property
    def _below(self) -> float:
        """Rise in 1 of the roof line at x < 0: of the roof below a change of pitch, or level on the next face."""
        return math.tan(math.radians(self.survey.tongue.pitch_deg)) if self.survey.tongue else 0.0

    @property
    def _extents(self) -> tuple[float, float, float, float]:
        boxes = [p.shown.bounds for p in self.placed]
        return (
            min(0.0, *(b[0] for b in boxes)),
            min(0.0, *(b[1] for b in boxes)),
            max(b[2] for b in boxes),
            max(b[3] for b in boxes),
        )

    def _wall_shape(self) -> Polygon:
        from shapely import Polygon

        x0, _, x1, y1 = self._extents
        right = x1 + _BEYOND_MM
        top = max(y1 + _BEYOND_MM, right * math.tan(self._pitch) + _BEYOND_MM / 2)
        foot = [(0.0, 0.0), (right, right * math.tan(self._pitch)), (right, top)]
        if not x0:
            return Polygon([*foot, (0.0, top)])
        left = x0 - _BESIDE_MM
        return Polygon([(left, left * self._below), *foot, (left, top)])

    def _strip(self, view: View, u: float, v: float) -> Point:
        return view.at(turned(((u, v),), self.survey.pitch_deg)[0])

    def _axes(self, view: View) -> tuple[Point, Point]:
        """Give the directions on paper up the slope, and square to it away from the wall."""
        c, s = math.cos(self._pitch), math.sin(self._pitch)
        return view.way((c, s)), view.way((s, -c))

    # What is drawn, from the back to the front.

    def _wall(self, view: View) -> list[Ink]:
        wall = self._wall_shape()
        joints = self._joints()
        end = max(p.end_mm for p in self.placed)
        outer = end + _BEYOND_MM / math.cos(self._pitch)
        gauge = self.soakers.gauge_mm if self.soakers else _BEYOND_MM
        left = wall.bounds[0]
        start = 0.0 if left < 0 else -gauge
        inks: list[Ink] = [
            *bricks(view, joints, wall),
            *joint_lines(view, joints, wall, unrolled=self.survey.tongue is None),
            *roof_in_section(view, self.survey.pitch_deg, start, outer, self.soakers),
        ]
        if left < 0:
            inks.append(line("roof-line", *view.all(((left, left * self._below), (0.0, 0.0)))))
        if self.survey.tongue is None:
            inks.append(line("wall-edge", *view.all(((0.0, 0.0), (0.0, self._top)))))
        return inks

    def _lead(self, view: View) -> Iterable[Ink]:
        from shapely import box

        yield from lead_in_place(view, self.placed)
        if self.soakers is not None and self.soakers.gauge_mm:
            cheek = box(0.0, 0.0, *self._extents[2:])
            yield from soakers_behind(view, self.survey.pitch_deg, self.soakers, cheek)

    def _lines(self, view: View) -> Iterable[Ink]:
        yield from seams(view, self.placed)
        marks = [
            turned(to_run_frame(p.piece.pattern, m.points), self.survey.pitch_deg)
            for p in self.placed
            for m in p.piece.pattern.marks
            if m.kind is MarkKind.WATER_LINE
        ]
        points = sorted(point for mark in marks for point in mark)
        yield line("mark water-line", *view.all((points[0], points[-1])), height=number(self.survey.water_line_mm))

    def _letters(self, view: View) -> Iterable[Ink]:
        for i, place in enumerate(self.placed):
            if self._return_mm and place.shown.bounds[0] < -POINT_MM:
                yield from number_on(view, place.piece, beyond_arris(place.shown))
                continue
            pitch, half = self.survey.pitch_deg, self.survey.water_line_mm / 2
            middle = turned(((sum(clear_of_laps(self.placed, i)) / 2, half),), pitch)[0]
            yield number_along(view, place.piece, middle, pitch, 2 * half)
        if self._return_mm:
            top = view.at((0.0, self._top))
            yield Words("arris", (top[0], top[1] - 0.8), "words soft", FIGURE)

    def _sizes(self, view: View) -> Iterable[Ink]:
        along, out = self._axes(view)
        depth = 2.0
        if self.soakers is not None and self.soakers.gauge_mm:
            headlap = self.soakers.length_mm - self.soakers.turn_down_mm - self.soakers.gauge_mm
            depth += SLATE_MM * (3 + headlap / self.soakers.gauge_mm) / view.scale

        def off(by: float) -> Point:
            return out[0] * by, out[1] * by

        feet = [(view.at(at), whole_mm(u)) for u, at in self._feet()]
        corner = self._strip(view, 0.0, 0.0)
        row = off(depth)
        yield from running((corner[0] + row[0], corner[1] + row[1]), along, out, feet)
        depth += 5.0 + FIGURE + max(width_mm(figure) for _, figure in feet)
        for low, high in pairwise(self.placed):
            lap = low.end_mm - high.start_mm
            ends = (self._strip(view, high.start_mm, 0.0), self._strip(view, low.end_mm, 0.0))
            yield from between(*ends, off(depth), f"lap {whole_mm(lap)}")
        depth += ROW if len(self.placed) > 1 else 0.0
        for i, place in enumerate(self.placed):
            ends = (self._strip(view, place.start_mm, 0.0), self._strip(view, place.end_mm, 0.0))
            figure = f"{place.piece.id}: {whole_mm(place.end_mm - place.start_mm)}"
            yield from between(*ends, off(depth + ROW * (i % 2)), figure)
        end = max(p.end_mm for p in self.placed)
        line_mm = self.survey.water_line_mm
        beyond = end + (line_mm * math.tan(self._pitch) if self.survey.upper_end is EndCut.PLUMB else 0.0)
        water = (self._strip(view, beyond, 0.0), self._strip(view, beyond, line_mm))
        yield from between(*water, (along[0] * 4.0, along[1] * 4.0), millimetres(line_mm))
        yield from self._heights(view)
        if self._return_mm:
            yield from between(
                view.at((-self._return_mm, 0.0)), view.at((0.0, 0.0)), (0.0, ROW), millimetres(self._return_mm)
            )
        if self.survey.tongue:
            slope = math.radians(self.survey.tongue.pitch_deg)
            reach, down = self.survey.tongue.lap_mm, view.way((math.sin(slope), -math.cos(slope)))
            tip = view.at((-reach * math.cos(slope), -reach * math.sin(slope)))
            yield from between(tip, corner, (down[0] * ROW, down[1] * ROW), millimetres(reach))

    def _feet(self) -> list[tuple[float, Point]]:
        """Give the feet of all risers along the roof line, and where they stand on the wall; last the upper end."""
        found: dict[str, tuple[float, Point]] = {}
        for place in self.placed:
            for station in place.piece.pattern.stations:
                (at,) = to_run_frame(place.piece.pattern, (station.at,))
                if station.name.startswith("riser") or station.name.startswith("upper end at the roof"):
                    found[station.name] = (at[0], turned((at,), self.survey.pitch_deg)[0])
        return sorted(found.values())

    def _heights(self, view: View) -> Iterable[Ink]:
        x0, _, _, _ = self._wall_shape().bounds
        joints = [joint for joint in self._joints() if joint.y_mm > 0]
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
        yield from running((foot[0] + 3.0 * side[0], foot[1]), (0.0, -1.0), side, marks)
        head = (foot[0] + 5.0 * side[0], foot[1] + FIGURE + 1.5)
        yield Words("joint: height", head, "figure soft", FIGURE, "start" if side[0] > 0 else "end")

    def _joints(self) -> list[BedJoint]:
        """Give the measured joints as far up as the wall is shown."""
        top = self._wall_shape().bounds[3]
        return [joint for joint in self.survey.joints if joint.y_mm < top]

    @property
    def _top(self) -> float:
        """How high the wall's edge is drawn: a little above its highest joint or the lead."""
        highest = max((joint.y_mm for joint in self._joints()), default=0.0)
        return max(highest, self._extents[3]) + _ABOVE_MM

    def _notes(self) -> Iterable[str]:
        s = self.survey
        yield f"thick line on a bed joint: fold, {millimetres(s.turn_in_mm)} mm turned into the wall behind it"
        yield (
            f"chain line: water line, {millimetres(s.water_line_mm)} mm above the roof, square to it; "
            "below it nothing is cut"
        )
        if len(self.placed) > 1:
            yield "hatched: laps, with the end of the length underneath dashed; the upper length goes over the lower"
        if self.soakers is not None and self.soakers.gauge_mm:
            count = "" if s.tongue or s.lapped_mm else f"{self.soakers.count} "
            yield (
                f"dashed: upstands of {count}soakers behind the lead, "
                f"{millimetres(self.soakers.upstand_mm)} mm high, one to each course "
                f"of {millimetres(self.soakers.gauge_mm)} mm"
            )
        if s.cover_mm:
            yield f"thick line on the roof: fold, a cover of {millimetres(s.cover_mm)} mm lies on the roof towards you"
        if self._return_mm:
            side = "right" if self.hand is Hand.LEFT else "left"
            yield f"{side} of the arris: the return of {millimetres(self._return_mm)} mm on the next face, unrolled"
        if s.tongue:
            yield (
                f"below the change of pitch: a tongue, {millimetres(s.tongue.lap_mm)} mm along the lower roof, "
                "over the upper end of the lead there"
            )
        if s.lapped_mm:
            yield f"the tongue of the next length covers {millimetres(s.lapped_mm)} mm of the upper end"
        corner = "change of pitch" if s.tongue else "lower corner"
        yield (
            f"figures along the slope run from the {corner} to the foot of each riser and to the upper end, "
            f"in whole mm; heights of joints are those at the {corner}"
        )
        if any(joint.slope for joint in s.joints):
            yield "joints are out of level, drawn as measured"
        yield "bond and slates are suggested, bed joints are as measured"
