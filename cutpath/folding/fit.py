"""How well a folded piece fits what was surveyed, by formulas of its own: none of the pattern code is used.

Every part of the sheet is held to the surface it is meant for. A turn-in lies in the plane of its bed joint, from
the face of the wall to the depth of the chase; wall faces lie on the wall, returns on the next face, covers and
roof legs on the roof. A part that lies wholly on its surface stands in no brick; only turn-ins are let into it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cutpath.folding.gap import Ends, Gap, cos_sin
from cutpath.folding.gutters import (
    abutment_gutter_gaps,
    back_gutter_gaps,
    back_gutter_gusset_gaps,
    pipe_base_gaps,
    saddle_gaps,
    saddle_gusset_gaps,
    sleeve_gaps,
    valley_gaps,
)
from cutpath.folding.space import Array, Folded
from cutpath.folding.steps import step_gaps
from cutpath.folding.walls import abutment_gaps, apron_gaps, apron_gusset_gaps, cover_gaps, soaker_gaps
from cutpath.values.pattern import PartKind
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    CoverFlashing,
    Detail,
    PipeSlate,
    PlainOutline,
    RidgeSaddle,
    Soakers,
    StepFlashing,
    TopAbutment,
    ValleyGutter,
)


def run_to_space(detail: Detail, part: PartKind) -> Array:
    """Return the 4 x 4 matrix that lays the still face on the wall or the roof; see `cutpath.values.proof`.

    Gussets keep the frame of their pattern.
    """
    if part is PartKind.GUSSET:
        return np.eye(4)
    match detail:
        case StepFlashing():
            return _tilted(detail.pitch_deg)
        case CoverFlashing():
            return _tilted(detail.slope_deg)
        case RidgeSaddle():
            return _tilted(-detail.pitch_deg)
        case _:
            return np.eye(4)


def _tilted(angle_deg: float) -> Array:
    c, s = cos_sin(angle_deg)
    return np.array([[c, -s, 0, 0], [s, c, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])


def still_window(detail: Detail) -> tuple[float, float]:
    """Return the stretch of y = 0 in the run frame over which the still face stands: that on the wall or the roof."""
    match detail:
        case Apron() | BackGutter():
            return 0.0, detail.width_mm
        case CoverFlashing() if detail.return_mm:
            return 0.0, detail.length_mm
        case StepFlashing() | RidgeSaddle():
            return 0.0, math.inf
        case _:
            return -math.inf, math.inf


def gaps(detail: Detail, part: PartKind, faces: Sequence[Folded], inner: Array, *, ends: Ends) -> list[Gap]:  # noqa: C901
    """Compare a folded piece with its survey.

    Parameters
    ----------
    part : PartKind
        Of the pattern: a detail may give more than one.
    faces : sequence of Folded
        In the space of `run_to_space`, right-handed.
    inner : array
        Corners of snips and holes in the still face (n x 3), in the same space.
    ends : Ends
        Which ends of the run the piece holds.
    """
    match detail:  # one line for each kind of detail
        case StepFlashing():
            return step_gaps(detail, faces, inner, ends)
        case CoverFlashing():
            return cover_gaps(detail, faces, ends)
        case Soakers():
            return soaker_gaps(detail, faces)
        case Apron():
            return apron_gusset_gaps(detail, faces) if part is PartKind.GUSSET else apron_gaps(detail, faces, ends)
        case TopAbutment():
            return abutment_gaps(detail, faces, ends)
        case BackGutter() if part is PartKind.GUSSET:
            return back_gutter_gusset_gaps(detail, faces)
        case BackGutter():
            return back_gutter_gaps(detail, faces, ends)
        case RidgeSaddle():
            return saddle_gusset_gaps(detail, faces) if part is PartKind.GUSSET else saddle_gaps(detail, faces)
        case ValleyGutter():
            return valley_gaps(detail, faces, ends)
        case AbutmentGutter():
            return abutment_gutter_gaps(detail, faces, ends)
        case PipeSlate():
            return sleeve_gaps(detail, faces) if part is PartKind.SLEEVE else pipe_base_gaps(detail, faces, inner)
        case PlainOutline():
            return []
