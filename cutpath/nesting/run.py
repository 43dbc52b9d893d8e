"""One nest from start to finish: refuse what cannot be cut, search, assemble, judge."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from cutpath.errors import Refused
from cutpath.nesting.assemble import CutRoll, assemble
from cutpath.nesting.bound import bound_mm2
from cutpath.nesting.common_practice import in_turn
from cutpath.nesting.fit import refuse_misfits
from cutpath.nesting.judge import judge
from cutpath.nesting.shapes import Form, Room, forms, rooms
from cutpath.values.nest import Blank, Nest, NestProblem


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
    pieces = sum(_area_mm2(blank) * blank.quantity for blank in problem.blanks)

    def tell(drawn: float) -> None:
        if progress is not None:
            progress(NestProgress(time.perf_counter() - started, drawn, pieces / drawn if drawn else 1.0))

    first = in_turn(problem, ways, spaces)
    cuts = first
    if pieces:
        tell(assemble(problem, ways, spaces, first, bound_mm2=least, seconds=0.0).drawn_mm2)
        cuts = _searched(problem, ways, spaces, seconds, seed, workers, tell)
    found = assemble(problem, ways, spaces, cuts, bound_mm2=least, seconds=time.perf_counter() - started)
    faults = judge(problem, found)
    if faults:
        raise Refused(faults)
    return found


def _area_mm2(blank: Blank) -> float:
    from shapely import Polygon

    return float(Polygon(blank.outline, blank.holes).area)


def _searched(
    problem: NestProblem,
    ways: tuple[Form, ...],
    spaces: tuple[Room, ...],
    seconds: float,
    seed: int,
    workers: int,
    tell: Callable[[float], None],
) -> list[CutRoll]:
    from cutpath.nesting.model import model_of
    from cutpath.nesting.rolls import onto_rolls
    from cutpath.nesting.search import WORK_PER_SECOND, Clock, Search, cost_of
    from cutpath.nesting.stock import shelf_of

    shelf = shelf_of(spaces, problem.objective)
    model = model_of(problem, ways, shelf.stock, spaces)
    search = Search(model, seed, workers, Clock(seconds), lambda sections: tell(cost_of(shelf.stock, sections)))
    return onto_rolls(problem, model, shelf, spaces, search.run(int(seconds * WORK_PER_SECOND)))
