"""Folds of a step flashing that are too short to dress: joints that are left out for them, and the ways out told."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from cutpath import sure
from cutpath.errors import Finding, Severity
from cutpath.families.step_flashing.climb import all_folds, climb
from cutpath.families.step_flashing.run import Step, TongueEnd, joined, to_strip
from cutpath.plain import numbers_in_words
from cutpath.tolerances import POINT_MM
from cutpath.values.leadwork import PLUMB_DEG, CornerKind, EndCut, StepFlashing
from cutpath.values.survey import BedJoint


def without_short_steps(survey: StepFlashing, tongue: TongueEnd | None) -> tuple[StepFlashing, list[Finding]]:
    """Leave out joints whose folds are too short or whose turn-ins run into the next riser, as long as that helps."""
    notes: list[Finding] = []
    steps, _, stopped = climb(survey, tongue)
    while not stopped:
        bad = _joint_to_miss(survey, joined(tongue, steps))
        if bad is None:
            break
        joint, why = bad
        fewer = replace(survey, joints=tuple(j for j in survey.joints if j.number != joint.number))
        steps, _, stopped = climb(fewer, tongue)
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


def ended_below_the_last_bed(survey: StepFlashing, tongue: TongueEnd | None) -> tuple[StepFlashing, list[Finding]]:
    """Leave out beds below the last one, where that lies so far beyond the end that the fold on it has no length.

    The last riser then begins farther down and reaches the last bed before the end. Nothing is left out where that
    helps nothing.
    """
    steps, _, stopped = climb(survey, tongue)
    fewer, climbed, left_out = survey, steps, list[int]()
    while not stopped and len(climbed) > 1 and not climbed[-1].has_fold:
        joint = climbed[-2].joint
        if joint.number == survey.corner.joint or (len(climbed) == 2 and survey.corner.kind is not CornerKind.NONE):
            break
        fewer = replace(fewer, joints=tuple(j for j in fewer.joints if j is not joint))
        left_out.insert(0, joint.number)
        climbed, _, stopped = climb(fewer, tongue)
    if not left_out or not all_folds(fewer, tongue):
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
        if step.ahead_mm < survey.least_fold_mm or step.top_mm <= POINT_MM:
            last = i == len(steps) - 1
            # At the upper end the fold grows only if it begins farther down: the joint below makes room for it.
            spare = (steps[i - 1].joint if i else None) if last else step.joint
            if spare is not None:
                why = f"the fold on joint {step.joint.number} would be {max(step.ahead_mm, 0.0):.0f} mm long"
                found.append((spare, why))
    for low, high in pairwise(steps):
        if low.reaches_past(high):
            found.append((high.joint, f"the turn-in on joint {low.joint.number} would reach past it"))
    free = {joint.number for joint in survey.joints} - {survey.corner.joint}
    return next((item for item in found if item[0].number in free), None)


def short_folds(
    survey: StepFlashing, steps: tuple[Step, ...], tongue: TongueEnd | None, *, left_out: bool
) -> list[Finding]:
    """Find folds that are short; ``left_out``: joints were left out for the end, which another end would bring back."""
    short = [step for step in steps if step.ahead_mm < survey.least_fold_mm and step.has_fold]
    found = [_no_fold(survey, step, _ways_out(survey, steps, tongue)) for step in steps if not step.has_fold]
    if amid := [step for step in short if step is not steps[-1]]:
        steeper = ["make the risers steeper"] if survey.riser_deg < PLUMB_DEG else []
        skips = f"skip {'a joint' if len(amid) == 1 else 'joints'} ({skip_line(survey, '...')})"
        found.append(_short(survey, amid, [skips, *steeper]))
    if short[-1:] == [steps[-1]]:
        skipped = _skips(survey, steps, tongue, survey.least_fold_mm)
        farther = [] if left_out else _farther_up(survey, steps[-1], tongue)
        found.append(_short(survey, short[-1:], [*skipped, *farther]))
    return found


def _skips(survey: StepFlashing, steps: tuple[Step, ...], tongue: TongueEnd | None, least_mm: float) -> list[str]:
    """Say which of the last two joints to skip, so that every fold is so long and has its turn-in; each was tried.

    The joint of a return stays.
    """
    found = []
    for joint in (step.joint for step in steps[-2:] if step.joint.number != survey.corner.joint):
        fewer = replace(survey, joints=tuple(other for other in survey.joints if other is not joint))
        left, _, stopped = climb(fewer, tongue)
        if not stopped and all(step.has_fold and step.ahead_mm >= least_mm - POINT_MM for step in left):
            found.append(f"skip joint {joint.number} ({skip_line(survey, joint.number)})")
    return found


def _farther_up(survey: StepFlashing, last: Step, tongue: TongueEnd | None) -> list[str]:
    """Say how much farther up the slope the run could end for its last fold to be long enough; it has been tried.

    The sides of a stack end where that does.
    """
    if survey.head.origin.of_a_part:
        return []
    p = math.radians(survey.pitch_deg)
    plumb = survey.upper_end is EndCut.PLUMB
    shift = sure.cos(p) if plumb else 1 / (sure.cos(p) + last.joint.slope * sure.sin(p))  # level, to 1 mm up the slope
    more = math.ceil((survey.least_fold_mm - last.ahead_mm) / shift - POINT_MM)
    steps, _, stopped = climb(replace(survey, slope_mm=survey.slope_mm + more), tongue)
    helped = not stopped and steps[-1].joint == last.joint and steps[-1].ahead_mm >= survey.least_fold_mm - POINT_MM
    return [f"let the run end {more} mm farther up the slope"] if helped else []


def _no_fold(survey: StepFlashing, step: Step, remedy: str) -> Finding:
    number = step.joint.number
    return Finding(
        "CP406",
        survey.head.origin.key("coursing"),
        f"the fold on bed joint {number} has no length"
        if step.ahead_mm <= POINT_MM
        else f"the turn-in on bed joint {number} runs out to nothing above a fold of {step.fold_mm:.0f} mm",
        f"at least {survey.least_fold_mm:g} mm to dress",
        remedy,
    )


def _short(survey: StepFlashing, steps: Sequence[Step], ways: Sequence[str]) -> Finding:
    """Warn of folds that are short but there, all at once; ``ways`` are what helps beside dressing them with care."""
    lengths = sorted({f"{step.fold_mm:.0f}" for step in steps}, key=float)
    long = f"{lengths[0]} to {lengths[-1]} mm long" if len(lengths) > 1 else f"{lengths[0]} mm long"
    numbers = numbers_in_words([step.joint.number for step in steps])
    one = len(steps) == 1
    it = "it" if one else "them"
    dressed = min(step.ahead_mm for step in steps) >= survey.least_fold_mm / 2
    return Finding(
        "CP406",
        survey.head.origin.key("coursing"),
        f"the fold on bed joint {numbers} is {long}" if one else f"the folds on bed joints {numbers} are {long}",
        f"at least {survey.least_fold_mm:g} mm, to dress {it} well (common practice, no source)",
        ", or ".join([*([f"dress {it} with care"] if dressed else []), *ways]) or _MEASURE_AGAIN,
        Severity.WARNING,
    )


def _upright(survey: StepFlashing) -> str:
    return survey.head.origin.advice('upper_end = "plumb"')


def skip_line(survey: StepFlashing, joint: object) -> str:
    """Return the line that leaves a joint out, as it is to be written for this detail."""
    return survey.head.origin.advice(f"skip_joints = [{joint}]")


_MEASURE_AGAIN = "measure the joints and the length of the run again"


def _ways_out(survey: StepFlashing, steps: tuple[Step, ...], tongue: TongueEnd | None) -> str:
    """Say what would give every fold a length: each way has been tried on the run.

    An end that is cut square leans back over the steps, on a steep roof by more than one of them; then only a step that
    begins farther down reaches it.
    """
    ways = [*_skips(survey, steps, tongue, 0.0), *_other_ends(survey, steps, tongue)]
    return "; or ".join(ways) or _MEASURE_AGAIN


def _other_ends(survey: StepFlashing, steps: tuple[Step, ...], tongue: TongueEnd | None) -> list[str]:
    """Say where else, or how else, the run could end so that every fold has a length: each way has been tried."""
    *below, _ = steps
    plumb = replace(survey, upper_end=EndCut.PLUMB)
    tries = [(f"end the run plumb ({_upright(survey)})", plumb)] if survey.upper_end is EndCut.SQUARE else []
    if below and (shorter := _ended_at(survey, below[-1])):
        tries.append((f"end it {shorter[0]}", shorter[1]))
    ways = [words for words, changed in tries if all_folds(changed, tongue)]
    if not ways and below and (shorter := _ended_at(plumb, below[-1])):
        ways = [f"end it plumb and {shorter[0]}"] if all_folds(shorter[1], tongue) else []
    return ways


def _ended_at(survey: StepFlashing, step: Step) -> tuple[str, StepFlashing] | None:
    """Return the run ended where a step of it does, by whole millimetres, and how to say so; None if none is left.

    None too of a side of a stack, which ends where that does.
    """
    if survey.head.origin.of_a_part:
        return None
    square = survey.upper_end is EndCut.SQUARE
    along = (
        to_strip(step.toe, survey.pitch_deg)[0] if square else step.toe[0] / sure.cos(math.radians(survey.pitch_deg))
    )
    lower = math.ceil(survey.slope_mm - along)
    if lower >= survey.slope_mm:
        return None
    words = f"{lower} mm farther down the slope, where joint {step.joint.number} dips to the water line"
    return words, replace(survey, slope_mm=survey.slope_mm - lower)
