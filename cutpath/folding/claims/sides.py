"""The sides of a stack; frame of `cutpath.values.survey.Chimney`."""

from __future__ import annotations

from cutpath.values.survey import Chimney


def side_of(chimney: Chimney, *, right: bool) -> tuple[float, float]:
    """Return x of one side of a stack, and which way is out of it."""
    return (chimney.width_mm, 1.0) if right else (0.0, -1.0)
