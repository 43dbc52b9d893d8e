"""Nesting: blanks of one lead code on rolls, with least lead drawn or bought."""

from __future__ import annotations

from cutpath.nesting.bound import bound_mm2
from cutpath.nesting.common_practice import one_after_another
from cutpath.nesting.judge import judge
from cutpath.nesting.run import NestProgress, nest

__all__ = ["NestProgress", "bound_mm2", "judge", "nest", "one_after_another"]
