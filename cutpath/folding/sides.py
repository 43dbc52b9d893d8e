"""The sides of a stack, and how high lead lies behind it; frame of `cutpath.values.survey.Chimney`."""

from __future__ import annotations

import math

from cutpath import sure
from cutpath.values.leadwork import BackGutter
from cutpath.values.survey import Chimney


def side_of(chimney: Chimney, *, right: bool) -> tuple[float, float]:
    """Return x of one side of a stack, and which way is out of it."""
    return (chimney.width_mm, 1.0) if right else (0.0, -1.0)


def level_mm(survey: BackGutter, chimney: Chimney) -> float:
    """Return the height of its sole on a stack: level with the roof where the sole meets it behind the stack."""
    return (chimney.depth_mm + survey.sole_mm) * sure.tan(math.radians(chimney.pitch_deg))
