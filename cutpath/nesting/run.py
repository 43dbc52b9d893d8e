"""One nest from start to finish: refuse what cannot be cut, search, assemble, judge."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from cutpath.errors import Refused
from cutpath.nesting.assemble import CutRoll, assemble
from cutpath.nesting.bound import bound_mm2
from cutpath.nesting.common_practice import in_turn
from cutpath.nesting.fit import refuse_misfits
from cutpath.nesting.judge import judge
from cutpath.nesting.shapes import Form, Room, forms, rooms
from cutpath.tolerances import CLOSE_RATIO
from cutpath.values.nest import Blank, Nest, NestProblem, Objective


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

    plain = _in_turn(problem, ways, spaces, least)
    if plain is not None:
        tell(plain.drawn_mm2)
    if not pieces:
        return plain or assemble(problem, ways, spaces, [], bound_mm2=0.0, seconds=0.0)
    try:
        cuts = _searched(problem, ways, spaces, seconds, seed, workers, tell, least)
        found = assemble(problem, ways, spaces, cuts, bound_mm2=least, seconds=0.0)
    except Refused:
        if plain is None:
            raise
        found = plain
    if plain is not None and _lead(problem, plain) < _lead(problem, found):
        found = plain
    found = replace(found, seconds=time.perf_counter() - started)
    faults = judge(problem, found)
    if faults:
        raise Refused(faults)
    return found


def _in_turn(problem: NestProblem, ways: tuple[Form, ...], spaces: tuple[Room, ...], least: float) -> Nest | None:
    """Lay one after another, the first answer; None when the rolls run out that way."""
    try:
        cuts = in_turn(problem, ways, spaces)
    except Refused:
        return None
    return assemble(problem, ways, spaces, cuts, bound_mm2=least, seconds=0.0)


def _lead(problem: NestProblem, found: Nest) -> float:
    """Lead that the objective counts, in mm2: what is drawn, or rolls opened; of offcuts only a share."""
    from cutpath.nesting.stock import owned_worth

    total = 0.0
    for nested in found.rolls:
        length = nested.drawn_mm if problem.objective is Objective.DRAWN else nested.roll.length_mm
        total += nested.roll.width_mm * length * (owned_worth(problem.objective) if nested.roll.offcut else 1.0)
    return total


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
    least: float,
) -> list[CutRoll]:
    from cutpath.nesting.model import model_of
    from cutpath.nesting.rolls import onto_rolls
    from cutpath.nesting.search import WORK_PER_SECOND, Clock, Search, cost_of
    from cutpath.nesting.stock import shelf_of

    shelf = shelf_of(spaces, problem.objective)
    model = model_of(problem, ways, shelf.stock, spaces)
    enough = least * (1 + CLOSE_RATIO) if problem.objective is Objective.DRAWN and shelf.lacking is None else 0.0
    search = Search(model, seed, workers, Clock(seconds), lambda found: tell(cost_of(shelf.stock, found)), enough)
    return onto_rolls(problem, model, shelf, spaces, search.run(int(seconds * WORK_PER_SECOND)))
