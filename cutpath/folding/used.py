"""Which bed joints a run turns into: every one that it can, and twice only where lengths have to lap."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutpath.folding.flat import Flat, reach_mm
from cutpath.folding.gap import Gap, cos_sin
from cutpath.folding.space import Array
from cutpath.folding.steps import levels, toe
from cutpath.tolerances import FOLD_DEVIATION_MM, POINT_MM
from cutpath.values.leadwork import PLUMB_DEG, EndCut, StepFlashing
from cutpath.values.pattern import FoldUse, PartKind
from cutpath.values.survey import BedJoint


def passed_over(survey: StepFlashing, used: Sequence[BedJoint]) -> list[Gap]:
    """Find joints between the steps of a run, or before its first one, that it passes over.

    It may pass over those whose steps are too short to dress where the user said so; before the first step those whose
    fold would be too short; and before the last one those with which its fold would have no length. Above a change of
    pitch it begins in the joint of the last tooth below.
    """
    if not used or survey.skip_short:
        return []
    numbers = [joint.number for joint in used]
    last = used[-1]
    lowest = _last_tooth_below(survey.tongue.below, numbers) if survey.tongue else 0
    found = []
    for joint in survey.joints:
        if joint.number in numbers or not lowest <= joint.number <= last.number:
            continue
        ahead = toe(survey, joint)[0] - survey.set_back_mm - survey.least_fold_mm
        if ahead <= FOLD_DEVIATION_MM and (survey.tongue is not None or joint.number < numbers[0]):
            continue  # too short to dress; or on a tongue, whose steps are those of the run below
        before_last = not any(joint.number < n < last.number for n in numbers)
        if not before_last or _fold_after(survey, joint, last) > POINT_MM:
            found.append(Gap(abs(last.y_mm - joint.y_mm), f"the steps pass over joint {joint.number}"))
    return found


def _last_tooth_below(below: StepFlashing, numbers: Sequence[int]) -> int:
    """Return the lowest joint used whose step on the run below a change of pitch would go on past that."""
    end = below.slope_mm * cos_sin(below.pitch_deg)[0] - FOLD_DEVIATION_MM
    past = (joint.number for joint in below.joints if joint.number in numbers and toe(below, joint)[0] >= end)
    return next(past, numbers[0])


def spare_lap(survey: StepFlashing, used: Sequence[BedJoint], low: Flat, high: Flat) -> list[Gap]:
    """Find a lap of whole steps that would be long enough with its last step left away."""
    both = low.steps & high.steps
    shared = [joint for joint in used if joint.number in both]
    # A corner piece whose risers lean has not the same lap at every height.
    splayed = low.part is PartKind.CORNER_PIECE and survey.riser_deg != PLUMB_DEG
    if low.ends[1] or len(shared) < 2 or splayed:
        return []
    ends = {fold.joint: points[1] for fold, points in low.folds if fold.use is FoldUse.STEP_TURN_IN}
    along, up = ends[shared[-2].number]
    c, s = cos_sin(survey.riser_deg - survey.pitch_deg)
    laps = [along + (level - up) * c / s - reach_mm(high.ring, level, -1) for level in levels(survey) if level >= 0]
    spare = min(laps) - survey.head.lap_mm
    what = f"it lies over piece {low.piece.id} by a step more than it has to"
    return [Gap(spare, what)] if spare >= FOLD_DEVIATION_MM else []


def _fold_after(survey: StepFlashing, joint: BedJoint, last: BedJoint) -> float:
    """Return how long the fold of the last step, or its turn-in, would be with its riser where ``joint`` ends."""
    c, s = cos_sin(survey.pitch_deg)
    end = np.array([survey.slope_mm * c, survey.slope_mm * s])
    upper = np.array([0.0, 1.0] if survey.upper_end is EndCut.PLUMB else [-s, c])
    riser = np.array(cos_sin(survey.riser_deg))
    along = np.array([1.0, last.slope]) / np.hypot(1.0, last.slope)
    rooms = []
    for up in (0.0, survey.turn_in_mm):
        at = np.array([0.0, last.y_mm]) + up * np.array([-along[1], along[0]])
        start, stop = (
            _met(at, along, line, way) for line, way in ((np.array(toe(survey, joint)), riser), (end, upper))
        )
        rooms.append(stop - start)
    return min(rooms)


def _met(at: Array, along: Array, on: Array, way: Array) -> float:
    """Return how far along a line through ``at`` it meets another one."""
    share, _ = np.linalg.solve(np.column_stack([along, way]), on - at)
    return float(share)
