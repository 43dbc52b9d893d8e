"""One nest from start to finish: refuse what cannot be cut, search, assemble, judge."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from cutpath.errors import Refused
from cutpath.nesting.assemble import assemble
from cutpath.nesting.bound import bound_mm2
from cutpath.nesting.common_practice import in_turn
from cutpath.nesting.fit import refuse_misfits
from cutpath.nesting.judge import judge
from cutpath.nesting.shapes import forms, rooms
from cutpath.values.nest import Nest, NestProblem


@dataclass(frozen=True, slots=True)
class NestProgress:
    """How far a nest has come: seconds spent, lead drawn by the best so far, and its yield."""

    seconds: float
    drawn_mm2: float
    yield_ratio: float


def nest(
    problem: NestProblem,
    *,
    seconds: float,
    seed: int,
    progress: Callable[[NestProgress], None] | None = None,
    workers: int = 2,
) -> Nest:
    """Lay every copy of every blank on rolls of the list with the least lead drawn (or bought) that is found.

    Parameters
    ----------
    seconds : float
        Ceiling on the time of the search.
    seed : int
        Same problem, seconds, seed and workers give the same nest.
    progress : callable, optional
        Called with a `NestProgress` each time a better nest is found.
    workers : int
        Threads that search at the same time.

    Raises
    ------
    Refused
        CP409 for outlines that are not simple shapes, CP501 for each blank that fits no roll, CP502 when the
        rolls run out, CP503 when the judge finds a fault.
    """
    started = time.perf_counter()
    ways, spaces = forms(problem), rooms(problem)
    refuse_misfits(problem, ways, spaces)
    least = bound_mm2(problem)
    cuts = in_turn(problem, ways, spaces)
    found = assemble(problem, ways, spaces, cuts, bound_mm2=least, seconds=time.perf_counter() - started)
    if progress is not None:
        progress(NestProgress(found.seconds, found.drawn_mm2, found.yield_ratio))
    faults = judge(problem, found)
    if faults:
        raise Refused(faults)
    return found
