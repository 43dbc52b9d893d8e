"""A run of step flashing on the wall: its steps, the stations where a length may end, the tongue over a change.

Terminology
-----------
Foot of a riser: where it leaves the water line. Head: where it meets the bed joint of its step. A fold runs
along the joint from the head to where the joint dips to the water line, which is the foot of the next riser.
The turn-in lies beyond the fold and ends on the line of the next riser; a snip down that riser frees it.
Station: a line along which a length may begin or end: the lower end, each riser after the first, the upper end.
Cover: for step and cover, the sheet goes on below the roof line and lies on the roof. The roof beside a plumb wall
stands square to it along the slope, so the fold on the roof line is 90; ends of the cover are square to the fold.
Tongue: where the roof changes its pitch, a straight strip cannot follow it. Lead is cut there: the strip of the
upper roof begins at the change and carries a tongue that follows the lower roof and lies over the end of the strip
there. The tongue has the teeth of that strip once more, and turns into the same joints over them: it covers the last
tooth whole, up to its joint, and goes back by the lap at every height. It ends on a riser of the strip below; or, where
the last tooth is narrower than the lap, along a line parallel to the risers on the next tooth that is wide enough for
a fold on either side of it. No step of the upper strip is lower than the last tooth: in that joint both are one fold
where the joint stands above the upper water line at the change, else a riser goes up at the change to the next joint.
With a cover the tongue has one too: it goes straight on, is folded where the roof changes, and parts from the wall's
part along the roof line, which leaves a notch as wide as the change of pitch. Folded, the notch closes, to be welded
(derived; that it is welded is common practice, no source). Over a roof that is flatter above the change both parts
would want the same lead, so that is refused.

All geometry is plane trigonometry (derived); frames are those of `cutpath.values.survey`. Work is done in the
wall frame, where joints and risers are simple, and turned into the strip frame at the end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from cutpath import sure
from cutpath.families.runs import Run
from cutpath.plane import Line, distance_mm, turned
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import CornerKind, StepFlashing
from cutpath.values.pattern import Point
from cutpath.values.survey import BedJoint


@dataclass(frozen=True, slots=True)
class Step:
    """One step in the wall frame: riser from ``foot`` to ``head``, fold from ``head`` to ``toe`` along ``joint``.

    ``tab_head`` and ``tab_toe`` are the top corners of the turn-in beyond the head and the toe.
    """

    joint: BedJoint
    foot: Point
    head: Point
    toe: Point
    tab_head: Point
    tab_toe: Point

    @property
    def fold_mm(self) -> float:
        """Length of the fold along the joint."""
        return distance_mm(self.head, self.toe)

    @property
    def ahead_mm(self) -> float:
        """How far the fold goes on, level; less than nothing where it would go back."""
        return self.toe[0] - self.head[0]

    @property
    def top_mm(self) -> float:
        """How far the top of the turn-in goes on, level; less than nothing where it would go back."""
        return self.tab_toe[0] - self.tab_head[0]

    @property
    def has_fold(self) -> bool:
        """True where both the fold and the top of its turn-in have a length."""
        return min(self.ahead_mm, self.top_mm) > POINT_MM

    def reaches_past(self, above: Step) -> bool:
        """Tell whether the turn-in reaches up to the head of the riser of the step above, or past it."""
        return distance_mm(self.toe, self.tab_toe) >= distance_mm(self.toe, above.head) - POINT_MM


@dataclass(frozen=True, slots=True)
class TongueEnd:
    """What a tongue covers of the run below a change of pitch.

    ``line`` is its end, pointing up, from ``foot`` on that run's roof line; ``steps`` are the teeth from there to the
    change, the first of them cut off at the line; ``reach_mm`` the greatest distance along that roof to the change.
    """

    line: Line
    foot: Point
    steps: tuple[Step, ...]
    reach_mm: float


@dataclass(frozen=True, slots=True)
class StepRun(Run):
    """A whole run laid out on the wall.

    Attributes
    ----------
    survey : StepFlashing
    steps : tuple of Step
        From the bottom up.
    stations : tuple of Line
        ``len(steps) + 1`` lines in the wall frame, pointing up: a length runs from station i to station j and
        holds steps i to j - 1.
    strip_width_mm : float
        Width of strip that holds all steps and the cover: as given, or rounded up to a stock width.
    needed_width_mm : float
        Least width that would do.
    tongue : TongueEnd or None
        In this run's wall frame, where the run begins at a change of pitch.
    """

    survey: StepFlashing
    steps: tuple[Step, ...]
    stations: tuple[Line, ...]
    strip_width_mm: float
    needed_width_mm: float
    tongue: TongueEnd | None = None

    def along_mm(self, first: int, last: int, *, with_return: bool = False) -> float:
        """Return the most that the lead between two stations reaches along the slope at one height.

        ``with_return``: the lead goes round the arris; the return itself is not counted.
        """
        steps = self.steps[first:last]
        tops = [self._top_mm(step) for step in steps]
        head, mitre = math.inf, None
        if with_return and joint_of_return(self) is steps[0].joint:
            corner = mitre_at(steps[0].joint, self.survey.turn_in_mm)
            head, top = (v for _, v in turned((steps[0].head, corner), -self.survey.pitch_deg))
            mitre, tops[0] = (
                Line(steps[0].head, corner[0] - steps[0].head[0], corner[1] - steps[0].head[1]),
                (max(head, top), tops[0][1]),
            )
        reaches = []
        for v in {0.0, head, *(v for pair in tops for v in pair)}:
            low = next((i for i, (start, _) in enumerate(tops) if start >= v), None)
            high = next((i for i in reversed(range(len(tops))) if tops[i][1] >= v), None)
            if low is not None and high is not None:
                begin = mitre if mitre and not low and v > head else self.stations[first + low]
                reaches.append(self._u(self.stations[first + high + 1], v) - self._u(begin, v))
        return max(reaches)

    def lap_mm(self, first: int, last: int) -> float:
        """Return the least distance along the slope between two stations: the lap of a length that ends at ``last``.

        Over the heights where both have lead: up to the lower top of the turn-ins that begin and end there.
        """
        top = min(self._top_mm(self.steps[first])[0], self._top_mm(self.steps[last - 1])[1])
        return min(self._u(self.stations[last], v) - self._u(self.stations[first], v) for v in (0.0, top))

    def length_mm(self, first: int, last: int) -> float:
        """Return the developed length of a piece between two stations, with the return where it carries one."""
        along = self.along_mm(first, last, with_return=first == 0 and self.return_mm > 0)
        return along + (self.return_mm + self.tongue_mm if first == 0 else 0.0)

    @property
    def return_mm(self) -> float:
        """Level reach of an integral return; 0 where the strip carries none."""
        corner = self.survey.corner
        return corner.length_mm if corner.kind is CornerKind.INTEGRAL else 0.0

    @property
    def tongue_mm(self) -> float:
        """Reach of a tongue below a change of pitch; 0 without one."""
        return self.tongue.reach_mm if self.tongue else 0.0

    def _top_mm(self, step: Step) -> tuple[float, float]:
        """Return the heights square to the roof at which the turn-in of a step begins and ends."""
        head, toe = turned((step.tab_head, step.tab_toe), -self.survey.pitch_deg)
        return head[1], toe[1]

    def _u(self, line: Line, v_mm: float) -> float:
        level = slope_line(self.survey.pitch_deg, v_mm)
        return to_strip(line.meet(level), self.survey.pitch_deg)[0]


def to_strip(point: Point, pitch_deg: float) -> Point:
    """Carry a point of the wall frame into the strip frame (u along the roof line, v square to it)."""
    return turned((point,), -pitch_deg)[0]


def slope_line(pitch_deg: float, v_mm: float) -> Line:
    """Return the line v = ``v_mm`` in the wall frame, pointing up the slope."""
    cos, sin = turned(((1.0, 0.0),), pitch_deg)[0]
    return Line((-v_mm * sin, v_mm * cos), cos, sin)


def joint_line(joint: BedJoint) -> Line:
    """Return a bed joint as a line in the wall frame, pointing away from the lower corner."""
    return Line((0.0, joint.y_mm), 1.0, joint.slope)


def joined(tongue: TongueEnd | None, steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """Return the steps of a length that begins at a change of pitch, from the end of its tongue up.

    Two in one joint are one; otherwise the riser at the change goes up from the last tooth.
    """
    if tongue is None:
        return steps
    *under, tooth = tongue.steps
    first, *above = steps
    if first.joint.number == tooth.joint.number:
        one = replace(first, foot=tooth.foot, head=tooth.head, tab_head=tooth.tab_head)
        return (*under, one, *above)
    return (*under, tooth, replace(first, foot=tooth.toe), *above)


def joint_of_return(run: StepRun) -> BedJoint | None:
    """Return the joint into which a return of the run folds: the one asked for, else that of the first step."""
    number = run.survey.corner.joint
    if number is None:
        return run.steps[0].joint
    return next((j for j in run.survey.joints if j.number == number), None)


def mitre_at(joint: BedJoint, turn_in_mm: float) -> Point:
    """Return the top corner of the first step's turn-in where it is mitred at the arris: as far along as it is deep."""
    unit = turn_in_mm / math.hypot(1.0, joint.slope)
    return (unit * (1 - joint.slope), joint.y_mm + unit * (1 + joint.slope))


def tongue_end(run: StepRun) -> TongueEnd:
    """Find where the tongue of the run above ends on this one, in this run's wall frame.

    The last tooth is covered whole; at every height there is the lap to the upper end, which is plumb, or all the lead
    that this run has. A fold that the end leaves is no shorter on either side than can be dressed.
    """
    survey = run.survey
    p, r = math.radians(survey.pitch_deg), math.radians(survey.riser_deg)
    roof, water = (slope_line(survey.pitch_deg, v) for v in (0.0, survey.water_line_mm))
    far = (survey.slope_mm - survey.lapped_mm) * sure.cos(p)  # the farthest up that the end may stand anywhere

    def ends(line: Line, place: int) -> TongueEnd:
        first = run.steps[place]
        joint = joint_line(first.joint)
        foot, head, tab = line.meet(roof), line.meet(joint), line.meet(joint.moved_left(survey.turn_in_mm))
        cut_off = replace(first, foot=line.meet(water), head=head, tab_head=tab)
        tops = (step.tab_head[0] for step in run.steps[place + 1 :])  # risers that lean back reach farthest there
        reach = survey.slope_mm - min(foot[0], tab[0], *tops) / sure.cos(p)
        return TongueEnd(line, foot, (cut_off, *run.steps[place + 1 :]), reach)

    last = len(run.steps) - 1
    for place in range(last, -1, -1):
        tooth, joint = run.steps[place], joint_line(run.steps[place].joint)
        tries = [(run.stations[place], tooth.foot)]  # above its foot a riser has no lead behind it
        if place < last:
            on_roof = Line((far, far * sure.tan(p)), sure.cos(r), sure.sin(r)).meet(joint)[0]
            x = min(far, on_roof, tooth.toe[0] - survey.least_fold_mm)
            inside = Line((x, tooth.joint.height_mm(x)), sure.cos(r), sure.sin(r))
            tries = [(inside, inside.at), *tries] if x - tooth.head[0] >= survey.least_fold_mm else tries
        for line, top in tries:
            low, high = line.meet(roof)[0], top[0]
            if low < survey.set_back_mm - POINT_MM:
                break  # its foot would lie below the lower end
            if max(low, high) <= far + POINT_MM:
                return ends(line, place)
    return ends(run.stations[0], 0)
