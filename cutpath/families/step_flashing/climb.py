"""Going up a run of step flashing from joint to joint: the steps, and why they do not reach the upper end."""

from __future__ import annotations

import math

from cutpath import sure
from cutpath.errors import Finding
from cutpath.families.step_flashing.run import Step, TongueEnd, joint_line, slope_line, to_strip
from cutpath.plain import numbers_in_words
from cutpath.plane import Line
from cutpath.tolerances import FOLD_DEVIATION_MM, POINT_MM
from cutpath.values.leadwork import EndCut, StepFlashing
from cutpath.values.pattern import Point
from cutpath.values.survey import BedJoint


def climb(
    survey: StepFlashing,
    tongue: TongueEnd | None,
) -> tuple[tuple[Step, ...], tuple[Line, ...], list[Finding]]:
    """Go up the run step by step until the upper end is reached.

    Returns
    -------
    steps : tuple of Step
        From the bottom up, in the wall frame.
    stations : tuple of Line
        One more than there are steps, as in `StepRun`.
    findings : list of Finding
        The one fault for which the upper end is not reached (CP402, CP410, CP417), with no steps beside it.
    """
    pitch = survey.pitch_deg
    p = math.radians(pitch)
    water = slope_line(pitch, survey.water_line_mm)
    roof = slope_line(pitch, 0.0)
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
        line = joint_line(joint)
        riser, head, toe = stations[-1], stations[-1].meet(line), line.meet(water)
        # Beyond the joint of the last tooth below a change of pitch, its fold goes on: any length of it will do.
        least = survey.least_fold_mm if not steps and joint.number != tooth else POINT_MM
        if joint.end_x_mm is not None:
            toe = line.meet(Line((joint.end_x_mm, 0.0), 0.0, 1.0))
            if joint.number == tooth and toe[0] <= foot[0] + FOLD_DEVIATION_MM:
                continue  # the step was ended at the change
            last = toe[0] >= line.meet(upper)[0] - FOLD_DEVIATION_MM
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


def _below_water(survey: StepFlashing, joint: BedJoint, toe: Point) -> Finding:
    """Find a step of the user's own that ends below the water line, with those above it that do."""

    def above(at: Point) -> float:
        return to_strip(at, survey.pitch_deg)[1]

    own = [(j, j.end_x_mm) for j in survey.joints if j.end_x_mm is not None]
    over = survey.slope_mm * sure.cos(math.radians(survey.pitch_deg))
    low = (j for j, end in own if end < over and above((end, j.height_mm(end))) < survey.water_line_mm - POINT_MM)
    more = [j.number for j in low if j.number > joint.number]
    turned = min(above((j.y_mm, end)) for j, end in own) >= survey.water_line_mm
    asked = "are the two figures of each step changed over? Else " if turned else ""
    which = "each" if more else f"step {joint.number}"
    return Finding(
        "CP417",
        survey.head.origin.key("coursing"),
        f"step {joint.number} ends {above(toe):.0f} mm above the roof line, square to it"
        + (f"; too low as well: {numbers_in_words(more)}" if more else ""),
        f"at least the water line's {survey.water_line_mm:g} mm",
        f"{asked}end {which} farther down the slope, choose a higher bed for it, or lower the water line",
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
    p = math.radians(survey.pitch_deg)
    needed = end_x_mm * sure.tan(p) + survey.water_line_mm / sure.cos(p)
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


def all_folds(survey: StepFlashing, tongue: TongueEnd | None) -> bool:
    """Tell whether a run could be laid out with a fold and a turn-in on every step."""
    steps, _, stopped = climb(survey, tongue)
    return not stopped and all(step.has_fold for step in steps)
