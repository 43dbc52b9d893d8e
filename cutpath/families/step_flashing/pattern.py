"""Step flashing: the run laid out on measured bed joints, and any length of it as a flat pattern.

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
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from cutpath import sure
from cutpath.errors import Finding, Severity, faults
from cutpath.families.frame import LABEL_CLEAR_MM, Shape, lap_marks, to_pattern
from cutpath.families.runs import Run
from cutpath.plain import numbers_in_words
from cutpath.plane import Line, distance_mm, turned
from cutpath.tolerances import POINT_MM
from cutpath.trade.coursing import order_fault, out_of_order
from cutpath.values.pattern import (
    Course,
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    FoldWay,
    LabelBox,
    Mark,
    MarkKind,
    MarkUse,
    PartKind,
    Point,
    Polyline,
    Snip,
    Station,
)
from cutpath.values.pattern import StationUse as _At
from cutpath.values.survey import PLUMB_DEG, BedJoint, CornerKind, EndCut, StepFlashing


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
            corner = _mitre(steps[0].joint, self.survey.turn_in_mm)
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
        level = _slope_line(self.survey.pitch_deg, v_mm)
        return to_strip(line.meet(level), self.survey.pitch_deg)[0]


def to_strip(point: Point, pitch_deg: float) -> Point:
    """Carry a point of the wall frame into the strip frame (u along the roof line, v square to it)."""
    return turned((point,), -pitch_deg)[0]


def _slope_line(pitch_deg: float, v_mm: float) -> Line:
    """Return the line v = ``v_mm`` in the wall frame, pointing up the slope."""
    cos, sin = turned(((1.0, 0.0),), pitch_deg)[0]
    return Line((-v_mm * sin, v_mm * cos), cos, sin)


def _joint_line(joint: BedJoint) -> Line:
    return Line((0.0, joint.y_mm), 1.0, joint.slope)


def lay_out(survey: StepFlashing) -> tuple[StepRun | None, tuple[Finding, ...]]:
    """Lay a run of step flashing out on its joints.

    Returns
    -------
    run, findings
        ``run`` is None when a fault stands in the way.
    """
    findings = [*_bad_angles(survey), *_bad_tongue(survey)]
    if findings:
        return None, tuple(findings)
    tongue = _tongue(survey)
    if survey.tongue and tongue is None:
        return None, ()  # the run below has a fault of its own, which says all
    if tongue and not all(map(_has_fold, tongue.steps)):
        return None, (_no_fold_on_tongue(survey, tongue),)
    asked = survey
    survey, notes = (
        _without_short_steps(survey, tongue) if survey.skip_short else _ended_below_the_last_bed(survey, tongue)
    )
    steps, stations, findings = _climb(survey, tongue)
    if faults(findings):
        return None, (*notes, *findings)
    whole_steps = _joined(tongue, steps)
    new = whole_steps[len(tongue.steps) - 1 :] if tongue else steps  # the others are those of the run below
    findings = [*notes, *findings, *_short_folds(survey, new, tongue, left_out=bool(notes))]
    corners = [point for step in whole_steps for point in (step.tab_head, step.tab_toe)]
    heights = [to_strip(at, survey.pitch_deg)[1] for at in (*corners, *((tongue.foot,) if tongue else ()))]
    needed = max(survey.cover_mm, -min(heights)) + max(heights)
    width, narrow = _strip_width(survey, steps, needed)
    run = StepRun(survey, steps, stations, width, needed, tongue)
    findings += [*narrow, *_bad_turn_ins(survey, new), *_past_lower_end(run, asked), *_bad_corner(run)]
    return (None if faults(findings) else run), tuple(findings)


def _bad_angles(survey: StepFlashing) -> list[Finding]:
    where = survey.head.origin.key
    pitch = survey.pitch_deg
    found = []
    if survey.riser_deg <= pitch:
        found.append(
            Finding(
                "CP403",
                where("riser"),
                f"a riser at {survey.riser_deg:g} deg from level lies flatter than the roof at {pitch:g}",
                f"more than {pitch:g} deg from level; 90 is plumb",
                "leave riser out for plumb risers, or give a steeper angle",
            )
        )
    tan_p = sure.tan(math.radians(pitch))
    found += [
        Finding(
            "CP407",
            where("coursing"),
            f"bed joint {j.number} rises {j.slope:.3f} in 1, as steep as the roof or steeper",
            f"less than the roof's {tan_p:.3f} in 1",
            "measure the joint's second reading again",
        )
        for j in survey.joints
        if j.slope >= tan_p
    ]
    crossed = out_of_order(survey.joints, survey.slope_mm * sure.cos(math.radians(pitch)))
    return [*found, *([order_fault(crossed, where("coursing"))] if crossed else [])]


def _bad_tongue(survey: StepFlashing) -> list[Finding]:
    if survey.tongue is None or not survey.cover_mm or survey.pitch_deg > survey.tongue.pitch_deg:
        return []
    return [
        Finding(
            "CP412",
            survey.head.origin.key("pitch"),
            f"{survey.pitch_deg:g} deg above a change of pitch, {survey.tongue.pitch_deg:g} below, under a cover",
            "a roof that is steeper above the change: else the sheet has no lead for both wall and cover",
            "end the run at the change and order the part above as a run of its own, with a piece welded in between",
        )
    ]


def _no_fold_on_tongue(survey: StepFlashing, tongue: TongueEnd) -> Finding:
    """Say of a short part between two changes of pitch that a tongue over all of it has no fold where it begins.

    There the part's own sheet goes on below the lower change; the tongue does not.
    """
    number = next(step.joint.number for step in tongue.steps if not _has_fold(step))
    return Finding(
        "CP406",
        survey.head.origin.key("pitch"),
        f"the tongue over the part below ends at another change of pitch, and its fold on joint {number} has no length",
        f"at least {survey.least_fold_mm:g} mm to dress",
        f"Skip joint {number} (skip_joints), or take plumb risers (riser = 90 counted from level).",
    )


def _climb(
    survey: StepFlashing,
    tongue: TongueEnd | None,
) -> tuple[tuple[Step, ...], tuple[Line, ...], list[Finding]]:
    """Go up the run step by step until the upper end is reached."""
    pitch = survey.pitch_deg
    p = math.radians(pitch)
    water = _slope_line(pitch, survey.water_line_mm)
    roof = _slope_line(pitch, 0.0)
    lower = Line((survey.set_back_mm, 0.0), 0.0, 1.0)
    end_at = roof.point(survey.slope_mm)
    upper = Line(end_at, *((0.0, 1.0) if survey.upper_end is EndCut.PLUMB else (-sure.sin(p), sure.cos(p))))
    r = math.radians(survey.riser_deg)
    end_x = upper.meet(water)[0]
    steps: list[Step] = []
    stations = [lower]
    foot = lower.meet(water)
    tooth = tongue.steps[-1].joint.number if tongue else None
    if end_x - foot[0] < survey.least_fold_mm:
        return (), (), [_too_short(survey)]
    for joint in survey.joints:
        if tooth is not None and joint.number < tooth:
            continue  # the tongue goes up to the last tooth below the change
        line = _joint_line(joint)
        riser, head, toe = stations[-1], stations[-1].meet(line), line.meet(water)
        # Beyond the joint of the last tooth below a change of pitch, its fold goes on: any length of it will do.
        least = survey.least_fold_mm if not steps and joint.number != tooth else POINT_MM
        if joint.end_x_mm is not None:
            toe = line.meet(Line((joint.end_x_mm, 0.0), 0.0, 1.0))
            if joint.number == tooth and toe[0] <= foot[0] + POINT_MM:
                continue  # the step was ended at the change
            last = toe[0] >= line.meet(upper)[0] - POINT_MM
            ends_at = line.meet(upper) if last else toe
            if to_strip(ends_at, pitch)[1] < survey.water_line_mm - POINT_MM:
                return (), (), [_below_water(survey, joint, ends_at)]
        elif toe[0] <= foot[0] + least:
            continue  # not above the water line here, or too little above it for the first fold
        else:
            last = toe[0] >= end_x - POINT_MM
        after = upper if last else Line(toe, sure.cos(r), sure.sin(r))
        if last:
            toe = line.meet(upper)
        top = line.moved_left(survey.turn_in_mm)
        steps.append(Step(joint, foot, head, toe, top.meet(riser), top.meet(after)))
        stations.append(after)
        foot = toe
        if last:
            return tuple(steps), tuple(stations), []
    return (), (), [_joints_stop(survey, end_x)]


def _without_short_steps(survey: StepFlashing, tongue: TongueEnd | None) -> tuple[StepFlashing, list[Finding]]:
    """Leave out joints whose folds are too short or whose turn-ins run into the next riser, as long as that helps."""
    notes: list[Finding] = []
    steps, _, stopped = _climb(survey, tongue)
    while not stopped:
        bad = _joint_to_miss(survey, _joined(tongue, steps))
        if bad is None:
            break
        joint, why = bad
        fewer = replace(survey, joints=tuple(j for j in survey.joints if j.number != joint.number))
        steps, _, stopped = _climb(fewer, tongue)
        if not stopped:
            survey = fewer
            notes.append(
                Finding(
                    "CP406",
                    survey.head.origin.key("short_steps"),
                    f"bed joint {joint.number} is left out: {why}",
                    f"a fold must be {survey.least_fold_mm:g} mm or longer, clear of the next riser",
                    "nothing to do: the step goes on to the next joint; "
                    + survey.head.origin.advice('short_steps = "keep"')
                    + " takes the joint back in",
                    Severity.NOTE,
                )
            )
    return survey, notes


def _ended_below_the_last_bed(survey: StepFlashing, tongue: TongueEnd | None) -> tuple[StepFlashing, list[Finding]]:
    """Leave out beds below the last one, where that lies so far beyond the end that the fold on it has no length.

    The last riser then begins farther down and reaches the last bed before the end. Nothing is left out where that
    helps nothing.
    """
    steps, _, stopped = _climb(survey, tongue)
    fewer, climbed, left_out = survey, steps, list[int]()
    while not stopped and len(climbed) > 1 and not _has_fold(climbed[-1]):
        joint = climbed[-2].joint
        if joint.number == survey.corner.joint or (len(climbed) == 2 and survey.corner.kind is not CornerKind.NONE):
            break
        fewer = replace(fewer, joints=tuple(j for j in fewer.joints if j is not joint))
        left_out.insert(0, joint.number)
        climbed, _, stopped = _climb(fewer, tongue)
    if not left_out or not _all_folds(fewer, tongue):
        return survey, []
    last = steps[-1].joint.number
    note = Finding(
        "CP406",
        survey.head.origin.key("upper_end"),
        f"{'bed joints' if len(left_out) > 1 else 'bed joint'} {numbers_in_words(left_out)} "
        f"{'are' if len(left_out) > 1 else 'is'} left out: joint {last} lies beyond "
        "the end, and the fold on it would have no length",
        "every step needs a fold",
        "; or ".join([f"Nothing to do: the last riser goes up to joint {last}", *_other_ends(survey, steps, tongue)]),
        Severity.NOTE,
    )
    return fewer, [note]


def _joint_to_miss(survey: StepFlashing, steps: tuple[Step, ...]) -> tuple[BedJoint, str] | None:
    """Return the lowest joint that is better missed out, and why; the joint of a return is never taken away."""
    found: list[tuple[BedJoint, str]] = []
    for i, step in enumerate(steps):
        ahead, top = step.toe[0] - step.head[0], step.tab_toe[0] - step.tab_head[0]
        if ahead < survey.least_fold_mm or top <= POINT_MM:
            last = i == len(steps) - 1
            # At the upper end the fold grows only if it begins farther down: the joint below makes room for it.
            spare = (steps[i - 1].joint if i else None) if last else step.joint
            if spare is not None:
                why = f"the fold on joint {step.joint.number} would be {max(ahead, 0.0):.0f} mm long"
                found.append((spare, why))
    for low, high in pairwise(steps):
        if distance_mm(low.toe, low.tab_toe) >= distance_mm(low.toe, high.head) - POINT_MM:
            found.append((high.joint, f"the turn-in on joint {low.joint.number} would reach past it"))
    free = {joint.number for joint in survey.joints} - {survey.corner.joint}
    return next((item for item in found if item[0].number in free), None)


def _below_water(survey: StepFlashing, joint: BedJoint, toe: Point) -> Finding:
    plumb = to_strip(toe, survey.pitch_deg)[1]
    return Finding(
        "CP417",
        survey.head.origin.key("coursing"),
        f"step {joint.number} ends {plumb:.0f} mm above the roof line, square to it",
        f"at least the water line's {survey.water_line_mm:g} mm",
        f"end step {joint.number} farther down the slope, choose a higher bed for it, or lower the water line",
    )


def _too_short(survey: StepFlashing) -> Finding:
    return Finding(
        "CP410",
        survey.head.origin.key("length"),
        f"a run of {survey.slope_mm:g} mm up the slope, set back {survey.set_back_mm:g} mm, "
        "is too short for a single step",
        f"room for a fold of {survey.least_fold_mm:g} mm",
        "check the length along the slope and the set back",
    )


def _joints_stop(survey: StepFlashing, end_x_mm: float) -> Finding:
    needed = end_x_mm * sure.tan(math.radians(survey.pitch_deg)) + survey.water_line_mm / sure.cos(
        math.radians(survey.pitch_deg)
    )
    top = survey.joints[-1].height_mm(end_x_mm) if survey.joints else 0.0
    end = survey.joints[-1].end_x_mm if survey.joints else None
    if end is not None:
        return Finding(
            "CP402",
            survey.head.origin.key("coursing"),
            f"the last step ends {end:.0f} mm level from the lower corner",
            f"steps up to the upper end, {end_x_mm:.0f} mm from it",
            "add steps, or shorten the run",
        )
    return Finding(
        "CP402",
        survey.head.origin.key("coursing"),
        f"the highest bed joint stands {top:.0f} mm up at the upper end, below the water line there",
        f"needed: a joint at least {needed:.0f} mm above the lower corner's level",
        "measure more joints, give a gauge, or shorten the run",
    )


def _short_folds(
    survey: StepFlashing, steps: tuple[Step, ...], tongue: TongueEnd | None, *, left_out: bool
) -> list[Finding]:
    """Find folds that are short; ``left_out``: joints were left out for the end, which another end would bring back."""
    short = [step for step in steps if _ahead_mm(step) < survey.least_fold_mm and _has_fold(step)]
    found = [_no_fold(survey, step, _ways_out(survey, steps, tongue)) for step in steps if not _has_fold(step)]
    if amid := [step for step in short if step is not steps[-1]]:
        steeper = ", or make the risers steeper" if survey.riser_deg < PLUMB_DEG else ""
        found.append(_short(survey, amid, steeper))
    if short[-1:] == [steps[-1]]:
        found.append(_short(survey, short[-1:], "" if left_out else _farther_up(survey, steps[-1], tongue)))
    return found


def _farther_up(survey: StepFlashing, last: Step, tongue: TongueEnd | None) -> str:
    """Say how much farther up the slope the run could end for its last fold to be long enough; it has been tried."""
    p = math.radians(survey.pitch_deg)
    plumb = survey.upper_end is EndCut.PLUMB
    shift = sure.cos(p) if plumb else 1 / (sure.cos(p) + last.joint.slope * sure.sin(p))  # level, to 1 mm up the slope
    more = math.ceil((survey.least_fold_mm - _ahead_mm(last)) / shift - POINT_MM)
    steps, _, stopped = _climb(replace(survey, slope_mm=survey.slope_mm + more), tongue)
    helped = not stopped and steps[-1].joint == last.joint and _ahead_mm(steps[-1]) >= survey.least_fold_mm - POINT_MM
    return f", or let the run end {more} mm farther up the slope" if helped else ""


def _ahead_mm(step: Step) -> float:
    return step.toe[0] - step.head[0]


def _no_fold(survey: StepFlashing, step: Step, remedy: str) -> Finding:
    number = step.joint.number
    return Finding(
        "CP406",
        survey.head.origin.key("coursing"),
        f"the fold on bed joint {number} has no length"
        if _ahead_mm(step) <= POINT_MM
        else f"the turn-in on bed joint {number} runs out to nothing above a fold of {step.fold_mm:.0f} mm",
        f"at least {survey.least_fold_mm:g} mm to dress",
        remedy,
    )


def _short(survey: StepFlashing, steps: Sequence[Step], more: str) -> Finding:
    """Warn of folds that are short but there, all at once; ``more`` is what helps beside skipping joints."""
    lengths = sorted({f"{step.fold_mm:.0f}" for step in steps}, key=float)
    long = f"{lengths[0]} to {lengths[-1]} mm long" if len(lengths) > 1 else f"{lengths[0]} mm long"
    numbers = numbers_in_words([step.joint.number for step in steps])
    one = len(steps) == 1
    it, a_joint = ("it", "a joint") if one else ("them", "joints")
    return Finding(
        "CP406",
        survey.head.origin.key("coursing"),
        f"the fold on bed joint {numbers} is {long}" if one else f"the folds on bed joints {numbers} are {long}",
        f"at least {survey.least_fold_mm:g} mm, to dress {it} well (common practice, no source)",
        f"dress {it} with care, skip {a_joint} ({_skip(survey, '...')}){more}",
        Severity.WARNING,
    )


def _upright(survey: StepFlashing) -> str:
    return survey.head.origin.advice('upper_end = "plumb"')


def _skip(survey: StepFlashing, joint: object) -> str:
    """Return the line that leaves a joint out, as it is to be written for this detail."""
    return survey.head.origin.advice(f"skip_joints = [{joint}]")


def _ways_out(survey: StepFlashing, steps: tuple[Step, ...], tongue: TongueEnd | None) -> str:
    """Say what would give every fold a length: each way has been tried on the run.

    An end that is cut square leans back over the steps, on a steep roof by more than one of them; then only a step that
    begins farther down reaches it.
    """
    *below, last = steps
    skips = []
    for step in (*below[-1:], last):
        fewer = tuple(joint for joint in survey.joints if joint is not step.joint)
        skips.append(
            (f"skip joint {step.joint.number} ({_skip(survey, step.joint.number)})", replace(survey, joints=fewer))
        )
    ways = [*(words for words, changed in skips if _all_folds(changed, tongue)), *_other_ends(survey, steps, tongue)]
    return "; or ".join(ways) or "measure the joints and the length of the run again"


def _other_ends(survey: StepFlashing, steps: tuple[Step, ...], tongue: TongueEnd | None) -> list[str]:
    """Say where else, or how else, the run could end so that every fold has a length: each way has been tried."""
    *below, _ = steps
    plumb = replace(survey, upper_end=EndCut.PLUMB)
    tries = [(f"end the run plumb ({_upright(survey)})", plumb)] if survey.upper_end is EndCut.SQUARE else []
    if below and (shorter := _ended_at(survey, below[-1])):
        tries.append((f"end it {shorter[0]}", shorter[1]))
    ways = [words for words, changed in tries if _all_folds(changed, tongue)]
    if not ways and below and (shorter := _ended_at(plumb, below[-1])):
        ways = [f"end it plumb and {shorter[0]}"] if _all_folds(shorter[1], tongue) else []
    return ways


def _ended_at(survey: StepFlashing, step: Step) -> tuple[str, StepFlashing] | None:
    """Return the run ended where a step of it does, by whole millimetres, and how to say so; None if none is left."""
    square = survey.upper_end is EndCut.SQUARE
    along = (
        to_strip(step.toe, survey.pitch_deg)[0] if square else step.toe[0] / sure.cos(math.radians(survey.pitch_deg))
    )
    lower = math.ceil(survey.slope_mm - along)
    if lower >= survey.slope_mm:
        return None
    words = f"{lower} mm farther down the slope, where joint {step.joint.number} dips to the water line"
    return words, replace(survey, slope_mm=survey.slope_mm - lower)


def _all_folds(survey: StepFlashing, tongue: TongueEnd | None) -> bool:
    """Tell whether a run could be laid out with a fold and a turn-in on every step."""
    steps, _, stopped = _climb(survey, tongue)
    return not stopped and all(_has_fold(step) for step in steps)


def _has_fold(step: Step) -> bool:
    """Tell whether both the fold of a step and the top of its turn-in have a length."""
    return min(step.toe[0] - step.head[0], step.tab_toe[0] - step.tab_head[0]) > POINT_MM


def _tongue(survey: StepFlashing) -> TongueEnd | None:
    """Return what the tongue covers of the run below, in this run's wall frame; None without one or if that fails."""
    below = survey.tongue.below if survey.tongue else None
    run = lay_out(below)[0] if below else None
    if below is None or run is None:
        return None
    end, (x, y) = tongue_end(run), _slope_line(below.pitch_deg, 0.0).point(below.slope_mm)

    def here(point: Point) -> Point:
        return (point[0] - x, point[1] - y)

    steps = tuple(
        Step(
            replace(step.joint, y_mm=step.joint.height_mm(x) - y, end_x_mm=None),
            *(here(at) for at in (step.foot, step.head, step.toe, step.tab_head, step.tab_toe)),
        )
        for step in end.steps
    )
    return TongueEnd(replace(end.line, at=here(end.line.at)), here(end.foot), steps, end.reach_mm)


def tongue_end(run: StepRun) -> TongueEnd:
    """Find where the tongue of the run above ends on this one, in this run's wall frame.

    The last tooth is covered whole; at every height there is the lap to the upper end, which is plumb, or all the lead
    that this run has. A fold that the end leaves is no shorter on either side than can be dressed.
    """
    survey = run.survey
    p, r = math.radians(survey.pitch_deg), math.radians(survey.riser_deg)
    roof, water = (_slope_line(survey.pitch_deg, v) for v in (0.0, survey.water_line_mm))
    far = (survey.slope_mm - survey.lapped_mm) * sure.cos(p)  # the farthest up that the end may stand anywhere

    def ends(line: Line, place: int) -> TongueEnd:
        first = run.steps[place]
        joint = _joint_line(first.joint)
        foot, head, tab = line.meet(roof), line.meet(joint), line.meet(joint.moved_left(survey.turn_in_mm))
        cut_off = replace(first, foot=line.meet(water), head=head, tab_head=tab)
        reach = survey.slope_mm - min(foot[0], head[0]) / sure.cos(p)
        return TongueEnd(line, foot, (cut_off, *run.steps[place + 1 :]), reach)

    last = len(run.steps) - 1
    for place in range(last, -1, -1):
        tooth, joint = run.steps[place], _joint_line(run.steps[place].joint)
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


def _joined(tongue: TongueEnd | None, steps: tuple[Step, ...]) -> tuple[Step, ...]:
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


def _strip_width(survey: StepFlashing, steps: tuple[Step, ...], needed_mm: float) -> tuple[float, list[Finding]]:
    stock = next((w for w in survey.stock_widths_mm if w >= needed_mm - POINT_MM), None)
    if survey.strip_width_mm is None:
        return stock if stock is not None else needed_mm, []
    if survey.strip_width_mm >= needed_mm - POINT_MM:
        return survey.strip_width_mm, []
    worst = max(steps, key=lambda s: to_strip(s.tab_head, survey.pitch_deg)[1])
    wider = f"take a strip {stock:g} mm wide" if stock else "take a wider strip"
    return needed_mm, [
        Finding(
            "CP404",
            survey.head.origin.key("strip_width"),
            f"a strip {survey.strip_width_mm:g} mm wide does not hold the step on bed joint {worst.joint.number}",
            f"at least {math.ceil(needed_mm - POINT_MM)} mm",
            f"{wider}, or lower the water line, or rake the risers",
        )
    ]


def _bad_turn_ins(survey: StepFlashing, steps: tuple[Step, ...]) -> list[Finding]:
    """Find turn-ins so deep that they would reach past the head of the next riser; one finding names them all."""
    deep = [
        (distance_mm(low.toe, low.tab_toe), distance_mm(low.toe, high.head), low.joint.number, high.joint.number)
        for low, high in pairwise(steps)
        if distance_mm(low.toe, low.tab_toe) >= distance_mm(low.toe, high.head) - POINT_MM
    ]
    if not deep:
        return []
    reach, rise, joint, above = max(deep, key=lambda d: d[0] - d[1])
    others = [str(low) for *_, low, _ in deep if low != joint]
    more = f", and so do those on {', '.join(others)}" if others else ""
    return [
        Finding(
            "CP405",
            survey.head.origin.key("turn_in"),
            f"the turn-in on bed joint {joint} reaches {reach:.0f} mm up a riser of {rise:.0f} mm{more}",
            "needed: a turn-in that ends below the next joint",
            "take a shallower turn-in, or skip joints so that the risers are taller"
            if others
            else f"skip joint {above} ({_skip(survey, above)}) or take a shallower turn-in",
        )
    ]


def _past_lower_end(run: StepRun, asked: StepFlashing) -> list[Finding]:
    """Find steps whose risers lean back over the lower end, where there is no wall; under a tongue there is.

    How far they may lean is tried on the run as it was ``asked`` for: the end may then leave other joints out.
    """
    survey, end = run.survey, run.stations[0]
    end_mm = end.at[0]
    past = [step for step in run.steps if step.tab_head[0] < end_mm - POINT_MM] if run.tongue is None else []
    if not past:
        return []
    worst = min(past, key=lambda step: step.tab_head[0])
    corners = [_joint_line(step.joint).moved_left(survey.turn_in_mm).meet(end) for step in past]
    ways = zip(past, corners, strict=True)
    steepest = math.floor(min(math.degrees(sure.atan2(y - step.foot[1], x - step.foot[0])) for step, (x, y) in ways))
    found = Finding(
        "CP422",
        survey.head.origin.key("riser"),
        f"step {worst.joint.number}, its turn-in included, leans back {end_mm - worst.tab_head[0]:.0f} mm past the "
        "lower end",
        f"risers that reach their joints on the wall: here up to {steepest} deg from level, "
        f"{steepest - survey.pitch_deg:.4g} from the water line",
        "lean the risers less, or leave riser and riser_from out: they are plumb then",
    )
    _, then = lay_out(replace(asked, riser_deg=float(steepest)))
    return [next((replace(found, accepted=less.accepted) for less in then if less.code == found.code), found)]


def joint_of_return(run: StepRun) -> BedJoint | None:
    """Return the joint into which a return of the run folds: the one asked for, else that of the first step."""
    number = run.survey.corner.joint
    if number is None:
        return run.steps[0].joint
    return next((j for j in run.survey.joints if j.number == number), None)


def _bad_corner(run: StepRun) -> list[Finding]:
    survey, corner = run.survey, run.survey.corner
    if corner.kind is CornerKind.NONE:
        return []
    first = run.steps[0].joint
    joint = joint_of_return(run)
    where = survey.head.origin.key
    if survey.set_back_mm > POINT_MM:
        return [
            Finding(
                "CP408",
                where("set_back"),
                f"a lower end set back {survey.set_back_mm:g} mm from the arris cannot carry a return",
                "set_back 0 with a return",
                "leave out set_back or the return",
            )
        ]
    if joint is None or joint.y_mm > first.y_mm + POINT_MM:
        given = f"joint {corner.joint}"
        return [
            Finding(
                "CP408",
                where("return.joint"),
                f"the return folds into {given}, which is not among the joints at or below the first step",
                f"joint {first.number} or a lower one",
                f"choose joint {first.number}, or skip joints so that the first step reaches higher",
            )
        ]
    if corner.foot_mm < 0:
        return [
            Finding(
                "CP408",
                where("return.foot"),
                f"the return's foot at {corner.foot_mm:g} mm lies below the roof line at the arris",
                "0 mm or more",
                "measure the foot upwards from the roof line; lead below it would run into the roof",
            )
        ]
    water_mm = run.stations[0].meet(_slope_line(survey.pitch_deg, survey.water_line_mm))[1]
    if joint.y_mm < water_mm - POINT_MM:
        return [
            Finding(
                "CP408",
                where("return.joint"),
                f"the return's joint {joint.number} stands {joint.y_mm:.0f} mm up, below the water line at the arris",
                f"needed: a joint at least {water_mm:.0f} mm up, since nothing is cut below the water line",
                f"choose joint {first.number}, or lower the water line",
            )
        ]
    if joint.y_mm - corner.foot_mm <= 0:
        return [
            Finding(
                "CP408",
                where("return.foot"),
                f"the return's foot at {corner.foot_mm:g} mm is not below its joint at {joint.y_mm:g} mm",
                "a foot below the joint",
                "lower the foot or choose a higher joint",
            )
        ]
    tight = min(run.steps[0].fold_mm, corner.length_mm)
    top = run.steps[0].tab_toe[0] - _mitre(first, survey.turn_in_mm)[0]
    if joint is first and min(tight - survey.turn_in_mm, top) <= POINT_MM:
        least = f"the turn-in of {survey.turn_in_mm:g} mm"
        if tight > survey.turn_in_mm + POINT_MM:
            least = f"{run.steps[0].fold_mm - top:.0f} mm, since the next riser leans back over the turn-in"
        return [
            Finding(
                "CP408",
                where("return"),
                f"at the arris a fold of {tight:.0f} mm is too short for the mitre of its turn-in",
                f"more than {least}",
                "lengthen the return, skip the first joint, or take a shallower turn-in",
            )
        ]
    return []


def _mitre(joint: BedJoint, turn_in_mm: float) -> Point:
    """Return the top corner of the first step's turn-in where it is mitred at the arris: as far along as it is deep."""
    unit = turn_in_mm / math.hypot(1.0, joint.slope)
    return (unit * (1 - joint.slope), joint.y_mm + unit * (1 + joint.slope))


def whole(run: StepRun) -> FlatPattern:
    """Return the run as though it were one length, with its return where that is in one sheet."""
    return length_between(run, 0, len(run.steps), lap_below=None, lap_above=None)


def length_between(
    run: StepRun,
    first: int,
    last: int,
    *,
    lap_below: int | None,
    lap_above: int | None,
    with_return: bool | None = None,
) -> FlatPattern:
    """Return the piece between stations ``first`` and ``last`` as a right-handed flat pattern.

    Parameters
    ----------
    lap_below : int or None
        Station where the next lower length ends under this one; None at the bottom.
    lap_above : int or None
        Station where the next higher length begins over this one; None at the top.
    with_return : bool or None
        Whether the piece carries the return leg; None: as the survey says for the lowest length.
    """
    pitch = run.survey.pitch_deg
    tongue = run.tongue if first == 0 else None
    steps = _joined(tongue, run.steps[first:last])
    roof = _slope_line(pitch, 0.0)
    if with_return is None:
        with_return = first == 0 and run.survey.corner.kind is CornerKind.INTEGRAL
    low, high = run.stations[first].meet(roof), run.stations[last].meet(roof)
    upper_end = Edge("upper end", EdgeUse.END)
    sides: list[tuple[Point, Edge]] = [(low, Edge("roof edge", EdgeUse.ROOF_LINE)), (high, upper_end)]
    cover_edge = Edge("cover edge", EdgeUse.COVER)
    if run.survey.cover_mm:
        sides = [
            (_cover_edge(run, first), cover_edge),
            (_cover_edge(run, last), Edge("upper end of the cover", EdgeUse.END)),
            (high, upper_end),
        ]
    for step in reversed(steps):
        n = step.joint.number
        sides += [
            (step.tab_toe, Edge(f"turn-in {n}", EdgeUse.TURN_IN, n)),
            (step.tab_head, Edge(f"riser {n}", EdgeUse.RISER, n)),
        ]
    sides[-1] = (sides[-1][0], Edge("lower end", EdgeUse.END))
    folds = [_turn_in(step) for step in steps]
    snips = [Snip(f"snip {s.joint.number}", (s.tab_toe, s.toe)) for s in steps[:-1]]
    if with_return:
        sides, folds, snips = _add_return(run, sides, folds, snips)
    if tongue:
        foot = Edge("foot of the tongue", EdgeUse.TONGUE)
        if run.survey.cover_mm:
            foot = Edge("weld to the tongue's cover", EdgeUse.WELD_BESIDE)
        sides += [(sides.pop()[0], Edge("end of the tongue", EdgeUse.TONGUE)), (tongue.foot, foot)]
    if run.survey.cover_mm:
        folds.append(Fold("roof line", FoldUse.ROOF_LINE, low, high, 90.0, FoldWay.FORWARD))
        end = Edge("weld to the tongue", EdgeUse.WELD) if tongue else Edge("lower end of the cover", EdgeUse.END)
        sides.append((low, end))
    if tongue and run.survey.tongue and run.survey.cover_mm:
        inner, outer = _tongue_cover(run.survey, tongue)
        bend = pitch - run.survey.tongue.pitch_deg
        folds.append(Fold("change of pitch", FoldUse.CHANGE_OF_PITCH, low, _cover_edge(run, 0), bend, FoldWay.FORWARD))
        sides = [(outer, cover_edge), *sides[1:], (inner, Edge("end of the tongue's cover", EdgeUse.TONGUE))]
    marks = _marks(run, first, last, lap_below, lap_above)
    if _is_corner_piece(run, with_return=with_return):  # the first length lies over all of it, and under the tongue
        marks = [mark for mark in marks if mark.use is not MarkUse.TONGUE_ABOVE]
    length = run.along_mm(first, last, with_return=with_return) + (run.survey.corner.length_mm if with_return else 0.0)
    length += run.tongue_mm if first == 0 else 0.0

    def strip(point: Point) -> Point:
        return to_strip(point, pitch)

    return to_pattern(
        Shape(
            family=_family(run, with_return=with_return),
            part=PartKind.CORNER_PIECE if _is_corner_piece(run, with_return=with_return) else PartKind.LENGTH,
            sides=tuple((strip(at), edge) for at, edge in sides),
            folds=tuple(replace(f, start=strip(f.start), end=strip(f.end)) for f in folds),
            label=_label(run, first, last, lap_below, lap_above),
            length_mm=length,
            snips=tuple(Snip(s.name, tuple(strip(pt) for pt in s.points)) for s in snips),
            marks=tuple(replace(m, points=tuple(strip(pt) for pt in m.points)) for m in marks),
            stations=tuple(replace(s, at=strip(s.at)) for s in _stations(run, first, last, with_return=with_return)),
            course=Course.UP,
        )
    )


def _tongue_cover(survey: StepFlashing, tongue: TongueEnd) -> tuple[Point, Point]:
    """Return the lower corners of a tongue's cover in the wall frame of the flat sheet: at the wall, at its free edge.

    On the roof below it reaches as far as the tongue on the wall.
    """
    back = math.hypot(*tongue.foot)
    inner, outer = turned(((-back, 0.0), (-back, -survey.cover_mm)), survey.pitch_deg)
    return inner, outer


def _turn_in(step: Step) -> Fold:
    """Return the fold of a step in its joint."""
    n = step.joint.number
    return Fold(f"turn-in {n}", FoldUse.STEP_TURN_IN, step.head, step.toe, 90.0, FoldWay.BACK, joint=n)


def _is_corner_piece(run: StepRun, *, with_return: bool) -> bool:
    """Tell whether a piece is the separate one round the arris."""
    return with_return and run.survey.corner.kind is CornerKind.SEPARATE


def _family(run: StepRun, *, with_return: bool) -> str:
    if _is_corner_piece(run, with_return=with_return):
        return "corner piece"
    return "step and cover flashing" if run.survey.cover_mm else "step flashing"


def _cover_edge(run: StepRun, station: int) -> Point:
    """Return the free corner of the cover square below where a station meets the roof line; on it without a cover."""
    return _square_below(run.stations[station].meet(_slope_line(run.survey.pitch_deg, 0.0)), run.survey)


def _square_below(at: Point, survey: StepFlashing) -> Point:
    """Return the free edge of the cover square below a point of the roof line; that point itself without a cover."""
    u, _ = to_strip(at, survey.pitch_deg)
    return turned(((u, -survey.cover_mm),), survey.pitch_deg)[0]


def _add_return(
    run: StepRun,
    sides: list[tuple[Point, Edge]],
    folds: list[Fold],
    snips: list[Snip],
) -> tuple[list[tuple[Point, Edge]], list[Fold], list[Snip]]:
    """Join the return leg to the lower end: the sheet is the union of strip and leg, with a plumb fold at the arris.

    Where leg and first step turn into the same joint, their turn-ins meet in the wall behind the arris, so both
    are mitred at 45 degrees there. A leg that turns into a lower joint has its turn-in freed by a snip.
    """
    corner, t = run.survey.corner, run.survey.turn_in_mm
    reach, foot = corner.length_mm, corner.foot_mm
    joint = joint_of_return(run)
    assert joint is not None  # noqa: S101 - lay_out refused a return without its joint
    step, top = run.steps[0], joint.y_mm
    *upper, (tab_head, _) = sides
    leg_foot: list[tuple[Point, Edge]] = [((-reach, foot), Edge("return foot", EdgeUse.RETURN_FOOT))]
    if foot > POINT_MM:
        leg_foot.append(((0.0, foot), Edge("lower end", EdgeUse.END)))
    name = f"return turn-in {joint.number}"
    turn_in = Edge(name, EdgeUse.RETURN_TURN_IN, joint.number)
    leg = [((-reach, top + t), Edge("return end", EdgeUse.RETURN_END)), *leg_foot]
    if joint is step.joint:
        mitre = Edge("mitre", EdgeUse.MITRE)
        sides = [*upper, (_mitre(joint, t), mitre), ((0.0, top), mitre), ((-t, top + t), turn_in), *leg]
    else:
        sides = [*upper, (tab_head, Edge("arris", EdgeUse.ARRIS)), ((0.0, top + t), turn_in), *leg]
        snips = [Snip("snip at the arris", ((0.0, top + t), (0.0, top))), *snips]
    folds = [
        *folds,
        Fold(name, FoldUse.RETURN_TURN_IN, (-reach, top), (0.0, top), 90.0, FoldWay.BACK, joint=joint.number),
        Fold("arris", FoldUse.ARRIS, (0.0, foot), (0.0, top), 90.0, FoldWay.BACK),
    ]
    return sides, folds, snips


def _marks(run: StepRun, first: int, last: int, lap_below: int | None, lap_above: int | None) -> list[Mark]:
    survey = run.survey
    water = _slope_line(survey.pitch_deg, survey.water_line_mm)
    roof = _slope_line(survey.pitch_deg, 0.0)
    low, high = run.stations[first], run.stations[last]

    def across(station: int) -> Polyline:
        line = run.stations[station]
        on_wall = (line.meet(roof), line.meet(water))
        return (_cover_edge(run, station), *on_wall) if survey.cover_mm else on_wall

    water_line = Mark("water line", MarkKind.WATER_LINE, (low.meet(water), high.meet(water)))
    marks = [water_line, *lap_marks(lap_below, lap_above, across)]
    if survey.lapped_mm:
        end = tongue_end(run)
        place = len(run.steps) - len(end.steps)
        if first <= place < (last if lap_above is None else lap_above):  # where the sheet shows
            on_wall = (end.foot, end.steps[0].head)
            at_cover = (_square_below(end.foot, survey),) if survey.cover_mm else ()
            points = (*at_cover, *on_wall)
            marks.append(Mark("lap: end of the tongue above", MarkKind.LAP, points, MarkUse.TONGUE_ABOVE))
    if first == 0 and run.tongue:
        line = ((0.0, 0.0), (0.0, _tooth_at_change(run.tongue)))
        marks.append(Mark("change of pitch", MarkKind.LAP, line, MarkUse.CHANGE_OF_PITCH))
    return marks


def _tooth_at_change(tongue: TongueEnd) -> float:
    """Return the height at the change of pitch of the joint into which the last tooth below turns."""
    return tongue.steps[-1].joint.y_mm


def _stations(run: StepRun, first: int, last: int, *, with_return: bool) -> list[Station]:
    roof = _slope_line(run.survey.pitch_deg, 0.0)
    t = run.survey.turn_in_mm
    return_joint = joint_of_return(run) if with_return else None
    edge = "roof line" if run.survey.cover_mm else "roof edge"
    tongue = run.tongue if first == 0 else None
    name, use = ("change of pitch", _At.CHANGE_OF_PITCH) if tongue else ("lower end", _At.LOWER_END)
    found = [Station(f"{name} at the {edge}", use, run.stations[first].meet(roof))]
    for step in _joined(tongue, run.steps[first:last]):
        n = step.joint.number
        top_start = _mitre(step.joint, t) if step.joint is return_joint else step.tab_head
        found += [
            Station(f"riser {n} foot", _At.RISER_FOOT, step.foot, number=n),
            Station(f"fold {n} start, riser {n} head", _At.START, step.head, FoldUse.STEP_TURN_IN, n),
            Station(f"fold {n} end", _At.END, step.toe, FoldUse.STEP_TURN_IN, n),
            Station(f"turn-in {n} top, start", _At.TOP_START, top_start, FoldUse.STEP_TURN_IN, n),
            Station(f"turn-in {n} top, end", _At.TOP_END, step.tab_toe, FoldUse.STEP_TURN_IN, n),
        ]
    found.append(Station(f"upper end at the {edge}", _At.UPPER_END, run.stations[last].meet(roof)))
    if run.survey.cover_mm:
        found += [
            Station("lower end at the cover edge", _At.OPEN_EDGE_START, _cover_edge(run, first)),
            Station("upper end at the cover edge", _At.OPEN_EDGE_END, _cover_edge(run, last)),
        ]
    if tongue:
        found += [
            Station("tongue, foot of its end", _At.TONGUE_FOOT, tongue.foot),
            Station("tongue, tooth at the change", _At.TONGUE_TOOTH, (0.0, _tooth_at_change(tongue))),
        ]
    if tongue and run.survey.cover_mm:
        at_wall, at_edge = _tongue_cover(run.survey, tongue)
        found += [
            Station("tongue's cover, end at the roof line", _At.TONGUE_COVER_WALL, at_wall),
            Station("tongue's cover, end at the cover edge", _At.TONGUE_COVER_EDGE, at_edge),
        ]
    if return_joint is not None:
        corner, top = run.survey.corner, return_joint.y_mm
        inner = -t if return_joint is run.steps[0].joint else 0.0
        found += [
            Station("arris foot", _At.START, (0.0, corner.foot_mm), FoldUse.ARRIS),
            Station("arris head", _At.END, (0.0, top), FoldUse.ARRIS),
            Station("return foot, outer", _At.RETURN_FOOT, (-corner.length_mm, corner.foot_mm)),
            Station("return fold, outer", _At.START, (-corner.length_mm, top), FoldUse.RETURN_TURN_IN),
            Station("return turn-in top, inner", _At.TOP_END, (inner, top + t), FoldUse.RETURN_TURN_IN),
            Station("return turn-in top, outer", _At.TOP_START, (-corner.length_mm, top + t), FoldUse.RETURN_TURN_IN),
        ]
    return found


def _label(run: StepRun, first: int, last: int, lap_below: int | None, lap_above: int | None) -> LabelBox:
    """Find room for lettering on the cover or below the water line, between the lap marks if they leave enough."""
    survey = run.survey
    bottom, top = (-survey.cover_mm, 0.0) if survey.cover_mm else (0.0, survey.water_line_mm)
    levels = [_slope_line(survey.pitch_deg, v) for v in {0.0, top}]

    def span(low: int, high: int) -> tuple[float, float]:
        left = max(to_strip(run.stations[low].meet(line), survey.pitch_deg)[0] for line in levels)
        right = min(to_strip(run.stations[high].meet(line), survey.pitch_deg)[0] for line in levels)
        return left + LABEL_CLEAR_MM, right - LABEL_CLEAR_MM

    left, right = span(lap_below if lap_below is not None else first, lap_above if lap_above is not None else last)
    if right - left < 2 * (top - bottom):
        left, right = span(first, last)
    height = max(top - bottom - 2 * LABEL_CLEAR_MM, 1.0)
    return LabelBox((left, bottom + LABEL_CLEAR_MM), 0.0, max(right - left, 1.0), height)
