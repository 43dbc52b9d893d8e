"""One problem on whole rolls, or on rolls that a machine feeds on in stretches of one length."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from cutpath.errors import Finding, Refused
from cutpath.nesting.bound import least_area_mm2
from cutpath.nesting.common_practice import one_after_another
from cutpath.nesting.fit import misfits
from cutpath.nesting.run import NestProgress, nest
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.stretches import in_stretches, onto_whole_rolls
from cutpath.values.nest import Budget, Nest, NestProblem


def unfit(problem: NestProblem, stretch_mm: float | None) -> tuple[Finding, ...]:
    """Find blanks that go on no roll, or that are longer than a stretch of ``stretch_mm``, where there is one."""
    found = misfits(problem, forms(problem), rooms(problem))
    if stretch_mm is None or found:
        return found
    short = in_stretches(problem, stretch_mm)
    return tuple(
        replace(
            f,
            accepted=f"needed: pieces within a frame of {stretch_mm:g} mm",
            remedy="Leave --in-frames out, so that the roll is fed on within a piece, or divide it (longest).",
        )
        for f in misfits(short, forms(short), rooms(short))
    )


def nest_fed(
    problem: NestProblem,
    budget: Budget,
    *,
    seed: int,
    stretch_mm: float | None,
    progress: Callable[[NestProgress], None] | None = None,
) -> Nest:
    """Nest as `nest` does; with ``stretch_mm`` no blank stands across two stretches of that length.

    Raises
    ------
    Refused
        See `nest`.
    """
    if stretch_mm is None:
        return nest(problem, budget, seed=seed, progress=progress)
    short = nest(in_stretches(problem, stretch_mm), budget, seed=seed, progress=progress)
    return onto_whole_rolls(problem, short, stretch_mm)


def usual(problem: NestProblem) -> Nest | None:
    """Return what common practice would draw, None where that finds no roll; its bound is the blanks' area alone."""
    try:
        return one_after_another(problem, known_mm2=least_area_mm2(problem))
    except Refused:
        return None
