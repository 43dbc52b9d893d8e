"""A lower bound on lead drawn, by the area of the blanks and by what the roll widths allow (derived).

At every place along a roll, the blanks that are cut through there share the roll's width: the sum of their chords,
each with the gap, is at most the width with one gap more. So every layout is a mix of cross-sections, each of which
packs chords into one roll width. The cheapest mix that holds every chord of every blank is a linear program (the
cutting-stock relaxation of Gilmore and Gomory, 1961), and no layout draws less. Chords are rounded down to a grid, so
that the bound stays valid; it forgets that the chords of a blank hang together. A blank that may lie in several ways,
such as crosswise, lies in the program as is cheapest, in parts even, so that the bound holds for all its turns. A run
that the nest may divide counts with the division that is worth least at the prices of the program, which keeps the
bound valid for all divisions.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.shapes import Room, rooms, turned, ways_that_serve
from cutpath.tolerances import POINT_MM
from cutpath.values.nest import Blank, NestProblem, RunChoice
from cutpath.values.pattern import Polyline

if TYPE_CHECKING:
    from numpy.typing import NDArray

_GRID_MM = 0.5
_EVEN = POINT_MM / _GRID_MM
_MOST_SIZES = 48  # different chords that are kept apart; more are rounded down further
_MOST_ROUNDS = 40
_MOST_FREE = 100  # blanks whose way to lie is part of the program
_Outlines = tuple[tuple[Polyline, ...], tuple[float, ...], bool]


@lru_cache(maxsize=64)
def bound_mm2(problem: NestProblem) -> float:
    """Return an area in mm2: no arrangement of the blanks on the rolls of the list draws less lead.

    It is remembered, for a run made again or set right by hand nests the same lists.

    What the solver gives is rounded down to whole mm2: its last figures differ from release to release, and from one
    kind of processor to another.
    """
    area = least_area_mm2(problem)
    return max(area, float(math.floor(_by_widths(problem, area))))


def least_area_mm2(problem: NestProblem) -> float:
    """Return the area of all blanks, of runs with the division that has the least."""
    return _least_sum(problem, area_mm2)


def area_mm2(blank: Blank) -> float:
    """Return the area of one copy of a blank, less its holes."""
    outline, *holes = (_ring_area_mm2(ring) for ring in (blank.outline, *blank.holes))
    return outline - math.fsum(holes)


def _ring_area_mm2(ring: Polyline) -> float:
    x0, y0 = ring[0]
    ends = zip(ring, (*ring[1:], ring[0]), strict=True)
    return abs(math.fsum((xa - x0) * (yb - y0) - (xb - x0) * (ya - y0) for (xa, ya), (xb, yb) in ends)) / 2


def _least_sum(problem: NestProblem, worth: Callable[[Blank], float]) -> float:
    """Sum what each blank that is cut is worth; a run counts as divided so that it is worth least."""
    return math.fsum(worth(blank) * blank.quantity for blank in problem.blanks) + math.fsum(
        _least_run(run, worth) for run in problem.runs
    )


def _least_run(run: RunChoice, worth: Callable[[Blank], float]) -> float:
    least = {run.even[0]: 0.0}
    for length in sorted(run.lengths, key=lambda s: (s.first, s.last)):
        if length.first in least:
            sum_ = least[length.first] + worth(length.blank)
            least[length.last] = min(sum_, least.get(length.last, math.inf))
    return least[run.even[-1]]


def _by_widths(problem: NestProblem, known_mm2: float) -> float:
    """Solve the relaxation; 0 where a blank goes on no roll, or where it proves no more than is known."""
    spare = problem.gap_mm - 2 * problem.edge_trim_mm
    widths = sorted({r.width_mm for r in problem.rolls if r.width_mm + spare > 0})
    wholes = [(int((width + spare + POINT_MM) / _GRID_MM), width) for width in widths]
    if not wholes:
        return 0.0
    spaces = rooms(problem)
    known: dict[_Outlines, list[NDArray[np.float64]]] = {}

    def ways(blank: Blank) -> list[NDArray[np.float64]]:
        """Return the stretches of a blank for each turn that serves."""
        alike = (blank.outline, *blank.holes), blank.turns_deg, blank.may_flip
        if alike not in known:
            known[alike] = [_stretches(rings, problem.gap_mm) for rings in _attitudes(problem, blank, spaces)]
        return known[alike]

    quantities: Counter[int] = Counter()
    asked: dict[int, list[NDArray[np.float64]]] = {}
    for blank in (blank for blank in problem.divided().blanks if blank.quantity):
        quantities[id(ways(blank))] += blank.quantity
        asked[id(ways(blank))] = ways(blank)
    if not asked:
        return 0.0
    cells = int(max(found[:, 1].max() for choice in asked.values() for found in choice)) + 2
    if cells - 2 > wholes[-1][0]:
        return 0.0
    wanted = [
        _ChordDemand(quantities[key], np.array([_demand(found, cells) for found in choice]))
        for key, choice in asked.items()
    ]
    prices, proved = _cheapest_mix(wanted, wholes, known_mm2)
    if not problem.runs or not proved:
        return proved
    # The prices hold for chords of any division.
    worths = np.concatenate([prices, np.full(max(0, wholes[-1][0] + 2 - cells), prices[-1])])
    summed = np.concatenate([[0.0], np.cumsum(worths)])

    def worth(blank: Blank) -> float:
        return min(
            float((_mean_worth(least, most, worths, summed) * along).sum())
            for least, most, along in (found.T for found in ways(blank))
        )

    return _least_sum(problem, worth)


def _attitudes(problem: NestProblem, blank: Blank, spaces: Sequence[Room]) -> list[tuple[Polyline, ...]]:
    """Return the rings of a blank in each turn that serves; a half turn changes no chord, nor does a flip across."""
    turns = {(-t if flipped else t) % 180.0 for t, flipped in ways_that_serve(blank, problem.gap_mm, spaces)}
    rings = blank.outline, *blank.holes
    return [tuple(tuple(turned(ring, turn, flipped=False)) for ring in rings) for turn in sorted(turns)]


@dataclass(frozen=True, slots=True)
class _ChordDemand:
    """Copies of a blank, and for each way to lay one the length along x over which each chord is wanted.

    ``ways`` has the shape (ways, cells); a chord of so many whole grid steps is in the cell of that number.
    """

    quantity: int
    ways: NDArray[np.float64]


def _mean_worth(
    least: NDArray[np.float64], most: NDArray[np.float64], worths: NDArray[np.float64], summed: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mean worth of chords that grow evenly from ``least`` to ``most`` grid steps.

    ``worths`` has the worth of each whole number of steps, ``summed`` what those below it are worth together.
    """
    even = most - least <= _EVEN
    at = np.arange(len(summed), dtype=np.float64)
    grown = (np.interp(most, at, summed) - np.interp(least, at, summed)) / np.where(even, 1.0, most - least)
    return np.where(even, worths[np.minimum((least + _EVEN).astype(np.int64), len(worths) - 1)], grown)


def _stretches(rings: Sequence[Polyline], gap_mm: float) -> NDArray[np.float64]:
    """Cut an outline and its holes across at each of their points.

    A row is the least and the most chord in grid steps, and the length along x between two points.

    A chord is what is solid across the blank, and the gap once. Between two points it grows or shrinks evenly.
    """
    from shapely import LinearRing

    sides: list[tuple[float, float, float, float]] = []
    for n, ring in enumerate(rings):
        round_left = LinearRing(ring).is_ccw is (n == 0)  # so that a side that runs to the left has lead below it
        ends = zip(ring, (*ring[1:], ring[0]), strict=True)
        sides += [(*a, *b) if round_left else (*b, *a) for a, b in ends if a[0] != b[0]]
    xa, ya, xb, yb = np.array(sides).T
    levels = np.unique(np.concatenate([xa, xb]))
    low, high = levels[:-1], levels[1:]
    wide = high - low > POINT_MM
    low, high = low[wide, None], high[wide, None]
    middle = (low + high) / 2
    crossed = (np.minimum(xa, xb) < middle) & (middle < np.maximum(xa, xb))
    sign = np.where(crossed, np.where(xb < xa, 1.0, -1.0), 0.0)
    lean = (yb - ya) / (xb - xa)
    left, right = ((sign * (ya + lean * (x - xa))).sum(axis=1) + gap_mm for x in (low, high))
    return np.column_stack([np.minimum(left, right) / _GRID_MM, np.maximum(left, right) / _GRID_MM, (high - low)[:, 0]])


def _demand(stretches: NDArray[np.float64], cells: int) -> NDArray[np.float64]:
    """Return the length along x over which chords are so many whole grid steps long, up to ``cells`` - 1."""
    demand = np.zeros(cells)
    least, most, along = stretches.T
    even = most - least <= _EVEN
    np.add.at(demand, (least[even] + _EVEN).astype(np.int64), along[even])
    for low, high, long in stretches[~even].tolist():
        steps = np.arange(int(low), int(high) + 1)
        share = np.minimum(high + _EVEN, steps + 1) - np.maximum(low + _EVEN, steps)
        demand[steps] += np.maximum(share, 0.0) * (long / (high - low))
    return demand


def _few(demand: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the sizes that are wanted; where they are many, some that stand for those above them."""
    sizes = np.flatnonzero(demand[1:] > POINT_MM) + 1
    if len(sizes) > _MOST_SIZES:
        lead = np.cumsum(demand[sizes] * sizes)
        steps = np.searchsorted(lead, np.linspace(0, float(lead[-1]), _MOST_SIZES + 1)[:-1])
        sizes = sizes[np.unique(np.concatenate([[0], np.minimum(steps, len(sizes) - 1)]))]
    return sizes


def _rounded_down(demand: NDArray[np.float64], sizes: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return how much of each size is wanted at least; ``demand`` has the shape (..., cells)."""
    size_of = np.searchsorted(sizes, np.arange(demand.shape[-1]), side="right") - 1
    held = size_of >= 0
    summed = [np.bincount(size_of[held], row[held], len(sizes)) for row in demand.reshape(-1, demand.shape[-1])]
    return np.array(summed, np.float64).reshape(*demand.shape[:-1], len(sizes))


class _Program:
    """The relaxation for some cross-sections: how often each is cut, and how much of each blank lies in which way.

    The way to lie is part of the program for the largest of those blanks that have a choice. The others count as lying
    in all their ways alike, which only makes the prices less good.
    """

    def __init__(self, wanted: Sequence[_ChordDemand], sizes: NDArray[np.int64]) -> None:
        self.wanted = wanted
        self.needs = [_rounded_down(w.ways, sizes) for w in wanted]
        heft = [w.quantity * float((need[0] * sizes).sum()) for w, need in zip(wanted, self.needs, strict=True)]
        choosing = [i for i, need in enumerate(self.needs) if len(need) > 1]
        free = sorted(choosing, key=lambda i: (-heft[i], i))[:_MOST_FREE]
        self.fixed = np.zeros(len(sizes))
        for i in set(range(len(wanted))).difference(free):
            self.fixed += wanted[i].quantity * self.needs[i].mean(axis=0)
        self.ways = np.concatenate([np.empty((0, len(sizes))), *(self.needs[i] for i in free)])
        self.owner = np.repeat(np.arange(len(free)), [len(self.needs[i]) for i in free])
        self.quantities = np.array([wanted[i].quantity for i in free], dtype=np.float64)

    def prices(
        self, columns: Sequence[NDArray[np.float64]], costs: Sequence[float]
    ) -> tuple[NDArray[np.float64], float] | None:
        """Return what each size is worth when these cross-sections may be cut, and what the cheapest mix of them costs.

        None when it cannot be told.
        """
        from scipy.optimize import linprog

        each_once = self.owner == np.arange(len(self.quantities))[:, None]
        found = linprog(
            np.concatenate([costs, np.zeros(len(self.owner))]),
            A_ub=np.column_stack([-np.column_stack(columns), self.ways.T]),
            b_ub=-self.fixed,
            A_eq=np.column_stack([np.zeros((len(self.quantities), len(costs))), each_once]),
            b_eq=self.quantities,
            method="highs-ds",
        )
        if found.status != 0 or found.fun is None:
            return None
        return np.maximum(-found.ineqlin.marginals, 0.0), found.fun

    def demand(self, prices: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how much of each size is wanted where each blank lies in the way in which it is worth least."""
        worths = (self.ways * prices).sum(axis=1)
        cheap = np.lexsort((worths, self.owner))[np.searchsorted(self.owner, np.arange(len(self.quantities)))]
        chosen: NDArray[np.float64] = (self.quantities[:, None] * self.ways[cheap]).sum(axis=0)
        return self.fixed + chosen

    def worth(self, prices: NDArray[np.float64]) -> float:
        """Return what all blanks are worth, each in the way in which it is worth least: valid for any prices."""
        return math.fsum(
            w.quantity * float((need * prices).sum(axis=1).min())
            for w, need in zip(self.wanted, self.needs, strict=True)
        )


def _cheapest_mix(
    wanted: Sequence[_ChordDemand], wholes: Sequence[tuple[int, float]], known: float
) -> tuple[NDArray[np.float64], float]:
    """Return the price of a chord in each cell that no cross-section can beat, and the lead that they prove.

    Column generation; what it proves is valid at every step, also when it stops early. It begins with cross-sections
    that have one size each, for which prices need no solver. No step proves more than the cheapest mix of some
    cross-sections costs, so it ends with 0 where that is no more than is ``known``: mostly before any solver is asked,
    since chords are rounded down and the area is not.
    """
    total = np.sum([w.quantity * w.ways.mean(axis=0) for w in wanted], axis=0)
    sizes = _few(total)
    nothing = np.zeros(len(total)), 0.0
    if not len(sizes):
        return nothing
    program = _Program(wanted, sizes)
    columns: list[NDArray[np.float64]] = []
    costs: list[float] = []
    for i, size in enumerate(sizes.tolist()):
        fit, cost = min(((whole // size, cost) for whole, cost in wholes if whole >= size), key=lambda v: v[1] / v[0])
        columns.append(fit * (np.arange(len(sizes)) == i))
        costs.append(cost)
    prices = np.array(costs) / np.sum(columns, axis=0)
    demand = program.demand(prices)
    least = float((demand * prices).sum())
    if min(least, _cut_in_turn(demand, sizes, wholes)) < known - 1.0:
        return nothing
    best, best_prices = 0.0, np.zeros(len(sizes))
    for _ in range(_MOST_ROUNDS):
        if least <= known:
            return nothing
        worth, held = _knapsack(sizes, prices, wholes[-1][0])
        # Scaled down so that no cross-section is worth more than its roll width, the prices prove a bound.
        excess = max(float(worth[whole]) / cost for whole, cost in wholes)
        proved = program.worth(prices) / max(excess, 1.0)
        if proved > best:
            best, best_prices = proved, prices / max(excess, 1.0)
        if excess <= 1.0 + POINT_MM:
            break
        for whole, cost in wholes:
            if worth[whole] > cost * (1.0 + POINT_MM):
                columns.append(_unpack(sizes, held, whole))
                costs.append(cost)
        found = program.prices(columns, costs)
        if found is None:
            break
        prices, least = found
    size_of = np.searchsorted(sizes, np.arange(len(total)), side="right")
    return np.concatenate([[0.0], best_prices])[size_of], best


def _cut_in_turn(demand: NDArray[np.float64], sizes: NDArray[np.int64], wholes: Sequence[tuple[int, float]]) -> float:
    """Return what a mix costs whose cross-sections are filled from the largest size down, each while it serves.

    Of all roll widths, the one that is filled at the least cost is cut, until one of its sizes is no longer wanted.
    """
    left = np.where(demand > POINT_MM, demand, 0.0)
    cost = 0.0
    while (wanted := np.flatnonzero(left)).size:
        cheapest, price, section = np.inf, 0.0, left
        for whole, width in wholes:
            room = whole
            fits = np.zeros(len(left))
            for i in wanted[::-1].tolist():
                fits[i], room = divmod(room, int(sizes[i]))
            if room < whole and width / (whole - room) < cheapest:
                cheapest, price, section = width / (whole - room), width, fits
        used = section > 0
        times = float((left[used] / section[used]).min())
        cost += times * price
        left = left - times * section
        left[left <= POINT_MM] = 0.0
    return cost


def _knapsack(
    sizes: NDArray[np.int64], prices: NDArray[np.float64], room: int
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the most that chords can be worth in every room up to ``room``, and a size that is used there (-1: none).

    Size by size: where ``room`` is written as rows of one size each, a chord more is a step down a column, so that the
    most along each column, less what its chords are worth, is what the sizes before leave best.
    """
    worth = np.zeros(room + 1)
    held = np.full(room + 1, -1, dtype=np.int64)
    for pick, (size, price) in enumerate(zip(sizes.tolist(), prices.tolist(), strict=True)):
        if price <= 0.0:
            continue
        rows = -(-(room + 1) // size)
        chords = price * np.arange(rows)[:, None]
        table = np.zeros(rows * size)
        table[: room + 1] = worth
        left = table.reshape(rows, size) - chords
        gains = (np.maximum.accumulate(left) + chords).ravel()[: room + 1]
        held[gains > worth + POINT_MM] = pick
        worth = np.maximum(worth, gains)
    return worth, held


def _unpack(sizes: NDArray[np.int64], held: NDArray[np.int64], whole: int) -> NDArray[np.float64]:
    column = np.zeros(len(sizes))
    while (pick := int(held[whole])) >= 0:
        column[pick] += 1
        whole -= int(sizes[pick])
    return column
