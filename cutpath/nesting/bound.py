"""A lower bound on lead drawn."""

from __future__ import annotations

from cutpath.values.nest import NestProblem


def bound_mm2(problem: NestProblem) -> float:
    """No arrangement of the blanks on the rolls of the list draws less than this, in mm2.

    For now the area of the blanks (derived: blanks do not overlap).
    """
    from shapely import Polygon

    return float(sum(b.quantity * Polygon(b.outline, b.holes).area for b in problem.blanks))
