"""Where the tongue of a run above a change of pitch really ends, read off the flat piece."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cutpath.folding.flat import Flat
from cutpath.folding.gap import cos_sin
from cutpath.folding.space import Array
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.leadwork import StepFlashing
from cutpath.values.pattern import FoldUse
from cutpath.values.survey import BedJoint


@dataclass(frozen=True, slots=True)
class TongueEnd:
    """The end of a tongue in the strip frame of the run below: at its roof line and at the fold that begins there.

    ``joint`` is the number of the joint into which that fold turns.
    """

    foot: Array
    head: Array
    joint: int | None


def tongue_end(above: StepFlashing, flat: Flat) -> TongueEnd | None:
    """Read the end off the lowest length above a change; None where there is nothing of a tongue."""
    if above.tongue is None:
        return None
    folds = {f.joint: ends @ to_wall(above).T for f, ends in flat.folds if f.use is FoldUse.STEP_TURN_IN}
    c, s = cos_sin(above.tongue.pitch_deg)
    ring = flat.ring @ to_wall(above).T
    on_roof = ring[np.abs(ring[:, 1] * c - ring[:, 0] * s) <= FOLD_DEVIATION_MM]
    if not folds or not len(on_roof):
        return None
    first = min(folds, key=lambda joint: float(folds[joint][:, 1].min()))
    foot, head = on_roof[np.argmin(on_roof[:, 0])], folds[first][np.argmin(folds[first][:, 0])]
    below = above.tongue.below
    change = np.array([below.slope_mm, 0.0])
    return TongueEnd(foot @ to_wall(below) + change, head @ to_wall(below) + change, first)


def to_wall(survey: StepFlashing) -> Array:
    """Return the matrix that turns points of the strip frame into the wall frame."""
    c, s = cos_sin(survey.pitch_deg)
    return np.array([[c, -s], [s, c]])


def tooth_at_change(survey: StepFlashing, flat: Flat) -> BedJoint | None:
    """Return the joint of the last tooth below a change: the lowest whose fold reaches the change."""
    reaching = {
        fold.joint
        for fold, ends in flat.folds
        if fold.use is FoldUse.STEP_TURN_IN and float((ends @ to_wall(survey).T)[:, 0].max()) > -FOLD_DEVIATION_MM
    }
    return next((joint for joint in survey.joints if joint.number in reaching), None)
