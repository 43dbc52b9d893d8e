"""A lower bound on lead drawn, by the area of the blanks and by what the roll widths allow (derived).

At every place along a roll, the blanks that are cut through there share the roll's width: the sum of their chords,
each with the gap, is at most the width with one gap more. So every layout is a mix of cross-sections, each of which
packs chords into one roll width. The cheapest mix that holds every chord of every blank is a linear program (the
cutting-stock relaxation of Gilmore and Gomory, 1961), and no layout draws less. Chords are rounded down to a grid, so
that the bound stays valid; it forgets that the chords of a blank hang together. A run that the nest may divide counts
with the division that is worth least at the prices of the program, which keeps the bound valid for all divisions.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from cutpath.tolerances import POINT_MM
from cutpath.values.nest import Blank, NestProblem, RunChoice
from cutpath.values.pattern import Polyline

if TYPE_CHECKING:
    from numpy.typing import NDArray

_GRID_MM = 0.5
_EVEN = POINT_MM / _GRID_MM
_MOST_SIZES = 48  # different chords that are kept apart; more are rounded down further
_MOST_ROUNDS = 40


def bound_mm2(problem: NestProblem) -> float:
    """No arrangement of the blanks on the rolls of the list draws less than this, in mm2."""
    return max(least_area_mm2(problem), _by_widths(problem))


def least_area_mm2(problem: NestProblem) -> float:
    """Area of all blanks, of runs with the division that has the least."""
    return _least_sum(problem, area_mm2)


def area_mm2(blank: Blank) -> float:
    """Area of one copy of a blank, less its holes."""
    outline, *holes = (_ring_area_mm2(ring) for ring in (blank.outline, *blank.holes))
    return outline - sum(holes)


def _ring_area_mm2(ring: Polyline) -> float:
    x0, y0 = ring[0]
    ends = zip(ring, (*ring[1:], ring[0]), strict=True)
    return abs(sum((xa - x0) * (yb - y0) - (xb - x0) * (ya - y0) for (xa, ya), (xb, yb) in ends)) / 2


def _least_sum(problem: NestProblem, worth: Callable[[Blank], float]) -> float:
    """Sum what each blank that is cut is worth; a run counts as divided so that it is worth least."""
    return math.fsum(worth(blank) * blank.quantity for blank in problem.blanks) + math.fsum(
        _least_run(run, worth) for run in problem.runs
    )


def _least_run(run: RunChoice, worth: Callable[[Blank], float]) -> float:
    least = {run.even[0]: 0.0}
    for section in sorted(run.sections, key=lambda s: (s.first, s.last)):
        if section.first in least:
            sum_ = least[section.first] + worth(section.blank)
            least[section.last] = min(sum_, least.get(section.last, math.inf))
    return least[run.even[-1]]


def _by_widths(problem: NestProblem) -> float:
    """Solve the relaxation; 0 where a blank may be turned otherwise than by half turns, which changes its chords."""
    if any(turn % 180.0 > POINT_MM for blank in problem.shapes for turn in blank.turns_deg) or not problem.rolls:
        return 0.0
    spare = problem.gap_mm - 2 * problem.edge_trim_mm
    wholes = sorted({(int((r.width_mm + spare + POINT_MM) / _GRID_MM), r.width_mm) for r in problem.rolls})
    blanks = problem.divided().blanks
    stretches = [_stretches(blank, problem.gap_mm) for blank in blanks]
    demand = np.zeros(int(max((found[:, 1].max() for found in stretches), default=0.0)) + 2)
    for blank, found in zip(blanks, stretches, strict=True):
        _count_in(demand, found, blank.quantity)
    sizes, needs = _few(demand)
    if not len(sizes) or sizes[-1] > wholes[-1][0]:
        return 0.0
    prices, proved = _cheapest_mix(sizes, needs, wholes)
    if not problem.runs:
        return proved
    # The prices hold for chords of any division: what each chord is worth at least is that of the size below it.
    cells = np.arange(wholes[-1][0] + 2)
    worths = np.concatenate([[0.0], prices])[np.searchsorted(sizes, cells, side="right")]
    summed = np.concatenate([[0.0], np.cumsum(worths)])
    known: dict[tuple[Polyline, ...], float] = {}

    def worth(blank: Blank) -> float:
        alike = blank.outline, *blank.holes
        if alike not in known:
            least, most, along = _stretches(blank, problem.gap_mm).T
            known[alike] = float(_mean_worth(least, most, worths, summed) @ along)
        return known[alike]

    return _least_sum(problem, worth)


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


def _stretches(blank: Blank, gap_mm: float) -> NDArray[np.float64]:
    """Cut a blank across at each of its points; a row is the least and most chord in grid steps, and length along x.

    A chord is what is solid across the blank, and the gap once. Between two points it grows or shrinks evenly.
    """
    from shapely import LinearRing

    sides: list[tuple[float, float, float, float]] = []
    for n, ring in enumerate((blank.outline, *blank.holes)):
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


def _count_in(demand: NDArray[np.float64], stretches: NDArray[np.float64], quantity: int) -> None:
    """Add to ``demand`` the length along x over which chords are so many whole grid steps long."""
    least, most, along = stretches.T
    even = most - least <= _EVEN
    np.add.at(demand, (least[even] + _EVEN).astype(np.int64), along[even] * quantity)
    for low, high, long in stretches[~even].tolist():
        cells = np.arange(int(low), int(high) + 1)
        share = np.minimum(high + _EVEN, cells + 1) - np.maximum(low + _EVEN, cells)
        demand[cells] += np.maximum(share, 0.0) * (long / (high - low) * quantity)


def _few(demand: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Give the sizes that are wanted and how much of each, sizes merged, rounding down, until few are left."""
    sizes = np.flatnonzero(demand[1:] > POINT_MM) + 1
    needs = demand[sizes]
    if len(sizes) > _MOST_SIZES:
        steps = np.searchsorted(np.cumsum(needs * sizes), np.linspace(0, float(needs @ sizes), _MOST_SIZES + 1)[:-1])
        keep = np.unique(np.concatenate([[0], steps]))
        keep = keep[keep < len(sizes)]
        group = np.searchsorted(keep, np.arange(len(sizes)), side="right") - 1
        sizes, needs = sizes[keep], np.bincount(group, weights=needs, minlength=len(keep)).astype(np.float64)
    return sizes, needs


def _cheapest_mix(
    sizes: NDArray[np.int64], needs: NDArray[np.float64], wholes: Sequence[tuple[int, float]]
) -> tuple[NDArray[np.float64], float]:
    """Give prices of chords that no cross-section can beat, and the lead that they prove for ``needs``.

    Column generation; what it proves is valid at every step, also when it stops early.
    """
    from scipy.optimize import linprog

    columns: list[NDArray[np.float64]] = []
    costs: list[float] = []
    for i, size in enumerate(sizes.tolist()):
        fit, cost = min(((whole // size, cost) for whole, cost in wholes if whole >= size), key=lambda v: v[1] / v[0])
        column = np.zeros(len(sizes))
        column[i] = fit
        columns.append(column)
        costs.append(cost)
    best, best_prices = 0.0, np.zeros(len(sizes))
    for _ in range(_MOST_ROUNDS):
        found = linprog(costs, A_ub=-np.column_stack(columns), b_ub=-needs, method="highs-ds")
        if found.status != 0:
            break
        prices = np.maximum(-found.ineqlin.marginals, 0.0)
        worth, held = _knapsack(sizes, prices, wholes[-1][0])
        # Scaled down so that no cross-section is worth more than its roll width, the prices prove a bound.
        excess = max(float(worth[whole]) / cost for whole, cost in wholes)
        proved = float(prices @ needs) / max(excess, 1.0)
        if proved > best:
            best, best_prices = proved, prices / max(excess, 1.0)
        if excess <= 1.0 + POINT_MM:
            break
        for whole, cost in wholes:
            if worth[whole] > cost * (1.0 + POINT_MM):
                columns.append(_unpack(sizes, held, whole))
                costs.append(cost)
    return best_prices, best


def _knapsack(
    sizes: NDArray[np.int64], prices: NDArray[np.float64], room: int
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Give the most that chords can be worth in every room up to ``room``, and the last size used (-1: none)."""
    worth = np.zeros(room + 1)
    held = np.full(room + 1, -1, dtype=np.int64)
    for whole in range(int(sizes[0]), room + 1):
        fits = sizes[: int(np.searchsorted(sizes, whole, side="right"))]
        gains = worth[whole - fits] + prices[: len(fits)]
        pick = int(gains.argmax())
        if gains[pick] > worth[whole - 1]:
            worth[whole], held[whole] = gains[pick], pick
        else:
            worth[whole] = worth[whole - 1]
    return worth, held


def _unpack(sizes: NDArray[np.int64], held: NDArray[np.int64], whole: int) -> NDArray[np.float64]:
    column = np.zeros(len(sizes))
    while whole > 0:
        pick = int(held[whole])
        if pick < 0:
            whole -= 1
            continue
        column[pick] += 1
        whole -= int(sizes[pick])
    return column
