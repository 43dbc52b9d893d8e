"""One nest from start to finish: refuse what cannot be cut, search, assemble, judge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING

from cutpath.errors import Refused
from cutpath.nesting.assemble import CutRoll, assemble, extent
from cutpath.nesting.bound import area_mm2, bound_mm2, least_area_mm2
from cutpath.nesting.common_practice import in_turn
from cutpath.nesting.fit import refuse_misfits
from cutpath.nesting.guard import Guard
from cutpath.nesting.home import at_home
from cutpath.nesting.judge import judge
from cutpath.nesting.outlay import Outlay
from cutpath.nesting.shapes import Form, Room, drawn_mm, forms, rooms, ways_that_serve
from cutpath.nesting.tidy import tidy
from cutpath.tolerances import CLOSE_RATIO
from cutpath.values.nest import STEPS_PER_SECOND, Budget, Nest, NestProblem, Objective

if TYPE_CHECKING:
    from cutpath.nesting.model import Model
    from cutpath.nesting.opened import Opened

_DRAWN_SHARE = 0.25  # of the work, for the nest that least bought begins from
_LANES_SHARE = 0.1  # of the work, where blanks are not lane-like
_LEAST_FREE = 0.8  # of its time is left to free placement, however late it begins
_LEAST_GUARD = 0.9  # of what is planned is left to the search, however late it begins
_READY_FORM_S, _READY_PIECE_S = 0.3e-3, 1.5e-3  # to make a form, and a piece, ready for the search (measured)
_MOST_READY = 0.5  # of the seconds may go to making forms ready; with more, runs stay evenly divided
_SLACK_S = 0.5  # by which very short seconds may be passed, so that starting the search does not cost it work
_FEW, _FEW_FASTER = 80, 1.1  # up to so many pieces, so many times as many steps are taken in a second (measured)
_LEAST_SEARCH = 0.1  # of the budget goes to the search, however much there is to make ready


@dataclass(frozen=True, slots=True)
class NestProgress:
    """How far a nest has come: lead drawn by the best so far, and its yield.

    The best may draw a little more than one before it where it keeps more.
    """

    drawn_mm2: float
    yield_ratio: float


def nest(
    problem: NestProblem,
    budget: Budget,
    *,
    seed: int = 1,
    progress: Callable[[NestProgress], None] | None = None,
    workers: int = 2,
) -> Nest:
    """Lay every copy of every blank on rolls of the list with the least lead drawn (or bought) that is found.

    Runs of the problem are divided on the way, so that their lengths suit the rolls and each other. They stay evenly
    divided where seconds are given that are too few even to look at all their lengths.

    Parameters
    ----------
    problem : NestProblem
        Blanks and runs, the rolls that there are, and what is made least.
    budget : Budget
        Work, or a ceiling on the time of the search.
    seed : int
        Same problem, work, seed and workers give the same nest.
    progress : callable, optional
        Called with a `NestProgress` each time a better nest is found.
    workers : int
        Threads that search at the same time.

    Raises
    ------
    Refused
        CP409 for outlines that are not simple shapes, CP501 for each blank that fits no roll, CP502 when the
        rolls run out, CP503 when the judge finds a fault.
    KeyboardInterrupt
        When it is interrupted, unless within `cutpath.nesting.guard.keeping_best`.
    """
    given = _divisible_in(problem, budget)
    home = at_home(given)
    found = tidy(given, home.back(_nest(home.problem, budget, seed, progress, workers)))
    if given is not problem:
        found = replace(found, bound_mm2=min(found.bound_mm2, least_area_mm2(problem)), optimal=False)
    faults = judge(problem, found)
    if faults:
        raise Refused(faults)
    return found


def _divisible_in(problem: NestProblem, budget: Budget) -> NestProblem:
    """Return the problem, with its runs evenly divided where making all their lengths ready takes too long."""
    if not problem.runs or budget.seconds is None:
        return problem
    spaces = rooms(problem)
    ways = sum(len(ways_that_serve(blank, problem.gap_mm, spaces)) for blank in problem.shapes)
    if _READY_FORM_S * ways <= _MOST_READY * budget.seconds:
        return problem
    return replace(problem, runs=tuple(run.evenly() for run in problem.runs))


def _nest(
    problem: NestProblem, budget: Budget, seed: int, progress: Callable[[NestProgress], None] | None, workers: int
) -> Nest:
    """Nest a problem that is brought home; nobody has judged the result.

    Raises
    ------
    Refused
        When a blank goes on no roll, or rolls run out.
    """
    from cutpath.nesting.free import FREE_PER_SECOND, FREE_STEPS, Free, lane_like

    whole = Guard.of(budget)
    ways, spaces = forms(problem), rooms(problem)
    refuse_misfits(problem, ways, spaces)
    least = bound_mm2(problem)
    shapes = problem.shapes
    pieces = fsum(area_mm2(shapes[index]) * quantity for index, quantity in problem.to_cut())

    def tell(drawn: float) -> None:
        if progress is not None:
            progress(NestProgress(drawn, pieces / drawn if drawn else 1.0))

    if not pieces:
        return assemble(problem, ways, spaces, [], bound_mm2=0.0)
    plain = _in_turn(problem, ways, spaces)
    plain_mm2 = fsum(spaces[cut.room].roll.width_mm * drawn_mm(extent(ways, cut.lays), problem) for cut in plain)
    if plain:
        tell(plain_mm2)
    count = sum(quantity for _, quantity in problem.to_cut())
    work = _search_work(budget, len(ways), count)
    faster = _FEW_FASTER if budget.seconds is not None and count <= _FEW else 1.0
    # What was spent so far comes once more at the end, for assembling and judging.
    left = max(_LEAST_GUARD * work / STEPS_PER_SECOND, whole.left_s() - whole.passed_s()) + _SLACK_S
    given = _Given(problem, ways, spaces, seed, workers, least, whole, left / max(1.0, faster * work), tell)
    free = not lane_like(problem, ways)
    found: Nest | None = None
    try:
        found = _searched(given, round(faster * work * (_LANES_SHARE if free else 1.0)))
    except Refused:
        if not plain:
            raise
    whole.go_on()
    if found is None or (plain and _may_be_less(problem, plain_mm2, pieces, found)):
        laid = assemble(problem, ways, spaces, plain, bound_mm2=least)
        found = laid if found is None else min(found, laid, key=lambda nest: _rank(problem, nest))
    if free and not whole.stop.is_set():
        share = work * (1.0 - _LANES_SHARE)
        seconds = max(_LEAST_FREE * share / STEPS_PER_SECOND, left - whole.passed_s())
        placing = Free(problem, ways, spaces, seed, workers)
        each = FREE_STEPS if budget.seconds is None else FREE_PER_SECOND / STEPS_PER_SECOND
        found = placing.improve(found, int(share * each), whole.within(seconds), tell)
    whole.go_on()
    return found


def _search_work(budget: Budget, ways: int, pieces: int) -> int:
    """Return the steps for the search; of seconds, those that forms, bound and first answer take are taken off.

    They are taken off by an estimate, so that a problem gets the same work in every run.
    """
    if budget.work is not None:
        return budget.work
    ready = (_READY_FORM_S * ways + _READY_PIECE_S * pieces) * STEPS_PER_SECOND
    return round(max(_LEAST_SEARCH * budget.steps, budget.steps - ready))


def _in_turn(problem: NestProblem, ways: tuple[Form, ...], spaces: tuple[Room, ...]) -> list[CutRoll]:
    """Lay one after another, the first answer; return nothing when the rolls run out that way."""
    try:
        return in_turn(problem, ways, spaces)
    except Refused:
        return []


def _may_be_less(problem: NestProblem, drawn_mm2: float, pieces_mm2: float, found: Nest) -> bool:
    """Tell whether a nest that draws so much may be less lead than ``found``, if all that is no piece were kept."""
    if problem.objective is Objective.BOUGHT or any(roll.offcut for roll in problem.rolls):
        return True
    return drawn_mm2 - problem.offcuts.worth * (drawn_mm2 - pieces_mm2) < Outlay.of(problem).of_nest(found)


def _rank(problem: NestProblem, found: Nest) -> tuple[int, int, int, float]:
    """Rank a nest, the least first: less outlay, then fewer rolls, fewer widths, shorter cross-cuts."""
    widths = [nested.roll.width_mm for nested in found.rolls]
    return round(Outlay.of(problem).of_nest(found)), len(widths), len(set(widths)), fsum(widths)


@dataclass(frozen=True, slots=True)
class _Given:
    """What a search needs to know, gathered once; ``step_s`` is what a step of its work may take by the guard."""

    problem: NestProblem
    forms: tuple[Form, ...]
    rooms: tuple[Room, ...]
    seed: int
    workers: int
    least_mm2: float
    guard: Guard
    step_s: float
    tell: Callable[[float], None]


def _searched(given: _Given, work: int) -> Nest:
    """Return the best nest by the problem's objective; of nests that draw as much, the one that is least work to cut.

    Whole rolls cost in leaps, which annealing crosses badly. So for least bought the search begins from a nest that
    draws the least, in a share of the work, and goes on with the rolls that it opens.
    """
    from cutpath.nesting.buying import Buying
    from cutpath.nesting.model import Bundle, drawn_of, model_of
    from cutpath.nesting.opened import Opened, Shop
    from cutpath.nesting.rolls import onto_rolls
    from cutpath.nesting.search import Search
    from cutpath.nesting.stock import supply_of

    problem, rooms = given.problem, given.rooms
    whole = problem.objective is Objective.BOUGHT
    supply = supply_of(problem, rooms)
    model = model_of(problem, given.forms, supply.stock, rooms)
    enough = 0.0 if whole or supply.lacking is not None else given.least_mm2 * (1 + CLOSE_RATIO)

    def better(found: list[Bundle]) -> None:
        if all(bundle.roll != supply.lacking for bundle in found):
            given.tell(fsum(bundle.length * rooms[supply.rooms[bundle.roll][0]].tick_mm2 for bundle in found))

    first = round(_DRAWN_SHARE * work) if whole else work
    search = Search(model, given.seed, given.workers, given.guard.within(first * given.step_s), better, enough)
    best = search.run(first)
    if drawn_of(model.stock, best) > enough:
        best = search.near.easiest()
    opened = [Opened(room, tuple(held)) for room, held in onto_rolls(problem, model, supply, rooms, best)]
    found = _assembled(given, model, opened)
    if whole:
        shop = Shop(model, rooms, Outlay.of(problem))
        guard = given.guard.within((work - first) * given.step_s)
        buying = Buying(shop, search.pool, given.seed, given.workers, guard, lambda plan: given.tell(shop.drawn(plan)))
        opened = buying.run(opened, work - first)
        found = min(found, _assembled(given, model, opened), key=lambda nest: _rank(problem, nest))
    return found


def _assembled(given: _Given, model: Model, opened: Sequence[Opened]) -> Nest:
    from cutpath.nesting.rolls import cut_roll

    cuts = [cut_roll(model, o.room, o.bundles) for o in opened]
    return assemble(given.problem, given.forms, given.rooms, cuts, bound_mm2=given.least_mm2)
