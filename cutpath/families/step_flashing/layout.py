"""A run of step flashing laid out on its joints, or what stands in the way."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, pairwise

from cutpath import sure
from cutpath.errors import Finding, faults
from cutpath.families.step_flashing.climb import climb
from cutpath.families.step_flashing.folds import ended_below_the_last_bed, short_folds, skip_line, without_short_steps
from cutpath.families.step_flashing.run import (
    Step,
    StepRun,
    TongueEnd,
    joined,
    joint_line,
    joint_of_return,
    mitre_at,
    slope_line,
    to_strip,
    tongue_end,
)
from cutpath.plane import distance_mm
from cutpath.tolerances import POINT_MM
from cutpath.trade.coursing import order_fault, out_of_order
from cutpath.values.leadwork import CornerKind, StepFlashing
from cutpath.values.pattern import Point


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
    if tongue and not all(step.has_fold for step in tongue.steps):
        return None, (_no_fold_on_tongue(survey, tongue),)
    asked = survey
    survey, notes = (
        without_short_steps(survey, tongue) if survey.skip_short else ended_below_the_last_bed(survey, tongue)
    )
    steps, stations, findings = climb(survey, tongue)
    if faults(findings):
        return None, (*notes, *findings)
    whole_steps = joined(tongue, steps)
    new = whole_steps[len(tongue.steps) - 1 :] if tongue else steps  # the others are those of the run below
    findings = [*notes, *findings, *short_folds(survey, new, tongue, left_out=bool(notes))]
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
    number = next(step.joint.number for step in tongue.steps if not step.has_fold)
    return Finding(
        "CP406",
        survey.head.origin.key("pitch"),
        f"the tongue over the part below ends at another change of pitch, and its fold on joint {number} has no length",
        f"at least {survey.least_fold_mm:g} mm to dress",
        f"Skip joint {number} (skip_joints), or take plumb risers (riser = 90 counted from level).",
    )


def _tongue(survey: StepFlashing) -> TongueEnd | None:
    """Return what the tongue covers of the run below, in this run's wall frame; None without one or if that fails."""
    below = survey.tongue.below if survey.tongue else None
    run = lay_out(below)[0] if below else None
    if below is None or run is None:
        return None
    end, (x, y) = tongue_end(run), slope_line(below.pitch_deg, 0.0).point(below.slope_mm)

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
        if low.reaches_past(high)
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
            else f"skip joint {above} ({skip_line(survey, above)}) or take a shallower turn-in",
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
    corners = [joint_line(step.joint).moved_left(survey.turn_in_mm).meet(end) for step in past]
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


def _bad_corner(run: StepRun) -> list[Finding]:
    """Find the first thing for which a return cannot be made."""
    if run.survey.corner.kind is CornerKind.NONE:
        return []
    where = run.survey.head.origin.key
    return [Finding("CP408", where(key), *words) for key, words in islice(_against_a_return(run), 1)]


def _against_a_return(run: StepRun) -> Iterator[tuple[str, tuple[str, str, str]]]:
    """Return what speaks against a return: key, what was found, what is accepted, what to do; the first one counts."""
    survey, corner = run.survey, run.survey.corner
    first = run.steps[0].joint
    joint = joint_of_return(run)
    if survey.set_back_mm > POINT_MM:
        yield (
            "set_back",
            (
                f"a lower end set back {survey.set_back_mm:g} mm from the arris cannot carry a return",
                "set_back 0 with a return",
                "leave out set_back or the return",
            ),
        )
    if joint is None or joint.y_mm > first.y_mm + POINT_MM:
        yield (
            "return.joint",
            (
                f"the return folds into joint {corner.joint}, which is not among the joints at or below the first step",
                f"joint {first.number} or a lower one",
                f"choose joint {first.number}, or skip joints so that the first step reaches higher",
            ),
        )
        return
    if corner.foot_mm < 0:
        yield (
            "return.foot",
            (
                f"the return's foot at {corner.foot_mm:g} mm lies below the roof line at the arris",
                "0 mm or more",
                "measure the foot upwards from the roof line; lead below it would run into the roof",
            ),
        )
    water_mm = run.stations[0].meet(slope_line(survey.pitch_deg, survey.water_line_mm))[1]
    if joint.y_mm < water_mm - POINT_MM:
        stands, clear = math.floor(joint.y_mm), math.ceil(water_mm - POINT_MM)
        yield (
            "return.joint",
            (
                f"the return's joint {joint.number} stands {stands} mm up, below the water line at the arris",
                f"needed: a joint at least {clear} mm up, since nothing is cut below the water line",
                f"choose joint {first.number}, or lower the water line",
            ),
        )
    if joint.y_mm - corner.foot_mm <= 0:
        yield (
            "return.foot",
            (
                f"the return's foot at {corner.foot_mm:g} mm is not below its joint at {joint.y_mm:g} mm",
                "a foot below the joint",
                "lower the foot or choose a higher joint",
            ),
        )
    tight = min(run.steps[0].fold_mm, corner.length_mm)
    top = run.steps[0].tab_toe[0] - mitre_at(first, survey.turn_in_mm)[0]
    if joint is first and min(tight - survey.turn_in_mm, top) <= POINT_MM:
        least = f"the turn-in of {survey.turn_in_mm:g} mm"
        if tight > survey.turn_in_mm + POINT_MM:
            least = f"{run.steps[0].fold_mm - top:.0f} mm, since the next riser leans back over the turn-in"
        skip = f"skip joint {first.number} ({skip_line(survey, first.number)})"
        longer = "lengthen the return" if corner.length_mm <= tight else skip
        yield (
            "return",
            (
                f"at the arris a fold of {tight:.0f} mm is too short for the mitre of its turn-in",
                f"more than {least}",
                f"{longer} or take a shallower turn-in",
            ),
        )
