"""The exact finish: the cheapest choice of bundles that can be put together from a pool of lanes.

The search leaves behind many good lanes. Which of them go side by side, and on which roll widths, so that every blank
is cut and every run is divided soundly, is a set partitioning problem: a column is a bundle (lanes across one roll
width); a row is a blank to be cut, or a joint of a run at which as many lengths end as begin. Its linear relaxation is
solved by column generation (Gilmore and Gomory, 1961): the best bundle at given prices is a knapsack of lanes, of
which the longest sets the length. The columns found then go to HiGHS as an integer program, with those of the best
nest so far.

HiGHS comes with scipy. How many lanes and nodes it gets to look at is counted; the guard's seconds, where it has any,
are only for machines that are too slow for that.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.guard import Guard
from cutpath.nesting.knapsack import GRID, Knapsack, best_up_to, steps_of
from cutpath.nesting.model import Bundle, Lane, Model, cost_of, kept_of
from cutpath.nesting.pool import Pool, blanks_in
from cutpath.nesting.quiet import no_output
from cutpath.nesting.state import COUNTED, NONE

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

_MOST_LANES = 2500  # that are put together; those that waste least are kept
_WORK_PER_LANE = 8_000  # four times of what was measured, so that a guard on time stays out of it
_LEAST_LANES = 100  # which take about a tenth of a second
_LEAST_GUARD_S = 0.5
_RELAX_SHARE = 0.4  # of the guard's seconds, for the relaxation
_MOST_ROUNDS = 40
_EACH_ROUND = 100  # columns
_MOST_COLUMNS = 4000  # in the integer program
_MOST_NODES = 2000
_GAIN_MM2 = 1.0  # less is not worth a column, nor another nest


def finish(model: Model, pool: Pool, best: Sequence[Bundle], work: int, guard: Guard) -> list[Bundle] | None:
    """Return the cheapest bundles for the pieces of ``best`` that the pool allows; None when they save nothing.

    Parameters
    ----------
    work : int
        Steps of the search in whose place this is done; they decide how many lanes are looked at.
    guard : Guard
        Ends it in any case.
    """
    if guard.left_s() <= 0.0:
        return None
    most = max(_LEAST_LANES, min(_MOST_LANES, work // _WORK_PER_LANE))
    return _Program(model, pool.best(most), best).solve(guard.at_least(_LEAST_GUARD_S))


@dataclass(frozen=True, slots=True)
class _BundleColumn:
    """Lanes by their index, the longest last, on one entry of the stock."""

    lanes: tuple[int, ...]
    roll: int


class _Program:
    """The set partitioning problem over the lanes of a pool."""

    def __init__(self, model: Model, lanes: Sequence[Lane], best: Sequence[Bundle]) -> None:
        self.model, self.stock = model, model.stock
        given = [lane for bundle in best for lane in bundle.lanes]
        known = {id(lane) for lane in given}
        self.lanes = sorted([*given, *(o for o in lanes if id(o) not in known)], key=lambda lane: lane.length)
        self.length = np.array([lane.length for lane in self.lanes], dtype=np.float64)
        self.height = steps_of([lane.height for lane in self.lanes])
        blanks = [blanks_in(model, lane) for lane in self.lanes]
        self.demand = _demand(model, best)
        self.rows, self.least, self.most = _rows(model, self.demand)
        self.cover = _counts(blanks, len(model.area)) @ self.rows.T
        self.taken = _taken(model, self.demand, blanks)
        at = {id(lane): i for i, lane in enumerate(self.lanes)}
        self.columns = [_BundleColumn(tuple(sorted(at[id(lane)] for lane in s.lanes)), s.roll) for s in best]
        self.seen = set(self.columns)
        self.kept: dict[_BundleColumn, float] = {}
        self.limit = cost_of(self.stock, best)

    def solve(self, guard: Guard) -> list[Bundle] | None:
        """Return the best bundles, or None when they save nothing."""
        relaxed = self._relax(guard)
        if relaxed is None:
            return None
        value, row, length = relaxed
        gap = self.limit - value
        if gap < _GAIN_MM2:
            return None
        near = sorted(self._bundles_under(gap, row, length), key=lambda found: found[0])
        self._take(column for _, column in near)
        kept = self.columns[:_MOST_COLUMNS]
        chosen = self._whole(kept, guard.left_s())
        return None if chosen is None else self._built(chosen)

    def _take(self, columns: Iterable[_BundleColumn]) -> int:
        fresh = [column for column in columns if column not in self.seen]
        self.columns += fresh
        self.seen.update(fresh)
        return len(fresh)

    def _costs(self, columns: Sequence[_BundleColumn]) -> tuple[NDArray[np.float64], csr_array, NDArray[np.float64]]:
        """Return what columns cost, less what they keep; what rows they serve; lengths on stock."""
        from scipy.sparse import csr_array

        inside = csr_array(
            (
                np.ones(sum(len(c.lanes) for c in columns)),
                (
                    np.repeat(np.arange(len(columns)), [len(c.lanes) for c in columns]),
                    np.concatenate([c.lanes for c in columns]),
                ),
            ),
            shape=(len(columns), len(self.lanes)),
        )
        rolls = np.array([c.roll for c in columns])
        along = self.length[[c.lanes[-1] for c in columns]]
        use = np.zeros((len(columns), len(self.stock.width)))
        use[np.arange(len(columns)), rolls] = along
        cost = self.stock.price[rolls] * along
        cost -= [self._kept_of(c) for c in columns]
        return cost, inside @ self.cover, use

    def _kept_of(self, column: _BundleColumn) -> float:
        """Return the worth of what a column keeps, worked out once for all rounds."""
        if column not in self.kept:
            bundle = Bundle(tuple(self.lanes[i] for i in column.lanes), column.roll)
            self.kept[column] = kept_of(self.stock, [bundle])
        return self.kept[column]

    def _matrix(
        self, columns: Sequence[_BundleColumn]
    ) -> tuple[NDArray[np.float64], csr_array, NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
        """Return costs, rows, their least and most, and the entries of stock whose length is a row."""
        from scipy.sparse import block_array, csr_array

        cost, serves, use = self._costs(columns)
        counted = np.flatnonzero(self.stock.capacity < COUNTED)
        rows = block_array(
            [[serves.T], [csr_array(use[:, counted].T)]] if len(counted) else [[serves.T]],
            format="csr",
        )
        least = np.concatenate([self.least, np.full(len(counted), -np.inf)])
        return cost, rows, least, np.concatenate([self.most, self.stock.capacity[counted]]), counted

    def _relax(self, guard: Guard) -> tuple[float, NDArray[np.float64], NDArray[np.float64]] | None:
        """Generate columns until none is missing; return the value, and prices of rows and of length on each entry."""
        from scipy.optimize import linprog

        relaxed = None
        for _ in range(_MOST_ROUNDS):
            cost, rows, least, most, counted = self._matrix(self.columns)
            equal = least == most
            signs = np.where(np.isfinite(most), 1.0, -1.0)[~equal]
            found = linprog(
                cost,
                A_ub=rows[~equal].multiply(signs[:, None]).tocsr(),
                b_ub=np.where(signs > 0, most[~equal], -least[~equal]),
                A_eq=rows[equal] if equal.any() else None,
                b_eq=least[equal] if equal.any() else None,
                method="highs",
            )
            if found.status != 0:
                break
            dual = np.zeros(len(least))
            dual[~equal] = found.ineqlin.marginals * signs
            dual[equal] = found.eqlin.marginals if equal.any() else 0.0
            length = self.stock.price.copy()
            length[counted] -= dual[len(self.least) :]
            relaxed = float(found.fun or 0.0), dual[: len(self.least)], length
            better = sorted(self._bundles_under(-_GAIN_MM2, *relaxed[1:]), key=lambda found: found[0])
            if not self._take(column for _, column in better[:_EACH_ROUND]) or guard.share() > _RELAX_SHARE:
                break
        return relaxed

    def _bundles_under(
        self, limit: float, row: NDArray[np.float64], length: NDArray[np.float64]
    ) -> list[tuple[float, _BundleColumn]]:
        """Return for each longest lane and roll the best bundle there, when its reduced cost is under ``limit``.

        What is kept beside the lanes counts; what is kept behind them only tells once a column is priced.
        """
        worth = self.cover @ row
        stock = self.stock
        rooms = np.minimum(stock.width // GRID, stock.width.max() // GRID).tolist()
        side_by_side = Knapsack(self.height, self.taken, max(rooms))
        steps = np.arange(side_by_side.wide + 1)
        found: list[tuple[float, int, int, int]] = []
        for i, base in side_by_side.through(worth):
            high = int(self.height[i])
            top, where = best_up_to(base)
            slope, need = self._strip(float(self.length[i]))
            top_beside, where_beside = best_up_to(base - slope * steps) if slope else (top, where)
            for c, room in enumerate(rooms):
                if high <= room and self.length[i] <= stock.length[c]:
                    left = room - high
                    most, width = top[left], where[left]
                    if slope and left >= need:
                        beside = top_beside[left - need] + slope * (left - stock.kept[2] / GRID)
                        if beside > most:
                            most, width = beside, where_beside[left - need]
                    reduced = length[c] * self.length[i] - worth[i] - most
                    if reduced < limit:
                        found.append((float(reduced), int(side_by_side.choice[width]), i, c))
        paths = side_by_side.paths()
        return [(reduced, _BundleColumn((*paths.lanes(choice), i), c)) for reduced, choice, i, c in found]

    def _strip(self, along: float) -> tuple[float, int]:
        """Return what a step of width of a kept strip beside lanes is worth, 0 where none is, and its least width."""
        long, short, gap = self.stock.kept.tolist()
        if along - gap < short:
            return 0.0, 0
        least = short if along - gap >= long else long
        return float(self.stock.worth[0]) * (along - gap) * GRID, -(-(least + gap) // GRID)

    def _whole(self, columns: Sequence[_BundleColumn], seconds: float) -> list[tuple[_BundleColumn, int]] | None:
        """Solve the integer program; None when nothing better than before was found."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        if seconds <= 0.0:
            return None
        cost, rows, least, most, _ = self._matrix(columns)
        with no_output():
            found = milp(
                cost,
                constraints=LinearConstraint(rows, least, most),
                bounds=Bounds(0, np.inf),
                integrality=np.ones(len(cost), dtype=np.int64),
                options={"time_limit": seconds, "node_limit": _MOST_NODES},
            )
        if found.x is None or found.fun > self.limit - _GAIN_MM2:
            return None
        times = np.round(found.x).astype(np.int64)
        return [(columns[j], int(times[j])) for j in np.flatnonzero(times).tolist()]

    def _built(self, chosen: Sequence[tuple[_BundleColumn, int]]) -> list[Bundle]:
        """Return each form its piece; copies beyond those wanted are left out."""
        lanes = [self.lanes[i] for column, times in chosen for i in column.lanes * times]
        pieces = _pieces(self.model, self.demand, lanes)
        bundles = []
        for column, times in chosen:
            for _ in range(times):
                kept = [own for i in column.lanes if (own := self._filled(self.lanes[i], pieces)) is not None]
                if kept:
                    bundles.append(Bundle(tuple(kept), column.roll))
        return bundles

    def _filled(self, lane: Lane, pieces: dict[int, list[int]]) -> Lane | None:
        """Return a lane pieces for its forms; those that there are none for are left out."""
        own = np.array([pieces[b].pop() if pieces[b] else NONE for b in blanks_in(self.model, lane).tolist()])
        kept = own != NONE
        if not kept.any():
            return None
        ends = lane.xs[kept] + self.model.form_arrays.length[lane.codes[kept] >> 1]
        return Lane(lane.codes[kept], own[kept], lane.xs[kept], lane.height, int(ends.max()))


@dataclass(frozen=True, slots=True)
class _Demand:
    """What is to be cut: pieces of each blank that is given, and stretches of runs as (pieces, first, last joint)."""

    given: dict[int, list[int]]
    stretches: tuple[tuple[list[int], int, int], ...]
    table_at: tuple[int, ...]


def _demand(model: Model, best: Sequence[Bundle]) -> _Demand:
    """Read from bundles what they are to cut; lengths of a run that follow each other make one stretch."""
    kinds = model.kinds
    laid = sorted(
        (piece, blank)
        for bundle in best
        for lane in bundle.lanes
        for piece, blank in zip(lane.pieces.tolist(), blanks_in(model, lane).tolist(), strict=True)
    )
    given: dict[int, list[int]] = {}
    stretches: list[tuple[list[int], int, int]] = []
    tables: list[int] = []
    for piece, blank in laid:
        first, last = kinds.joints[blank].tolist()
        if first == NONE:
            given.setdefault(blank, []).append(piece)
        elif stretches and kinds.follows[stretches[-1][0][-1]] == piece:
            pieces, start, _ = stretches[-1]
            stretches[-1] = [*pieces, piece], start, last
        else:
            stretches.append(([piece], first, last))
            tables.append(int(kinds.table_at[blank]))
    return _Demand(given, tuple(stretches), tuple(tables))


def _lengths_of(model: Model, demand: _Demand) -> list[NDArray[np.int64]]:
    """Return the lengths (blanks) that each stretch may be made of."""
    kinds = model.kinds
    return [
        np.flatnonzero((kinds.table_at == at) & (kinds.joints[:, 0] >= first) & (kinds.joints[:, 1] <= last))
        for (_, first, last), at in zip(demand.stretches, demand.table_at, strict=True)
    ]


def _rows(model: Model, demand: _Demand) -> tuple[csr_array, NDArray[np.float64], NDArray[np.float64]]:
    """Return what a blank adds to each row, and the least and the most of each row."""
    from scipy.sparse import csr_array

    entries = [(row, blank, 1.0) for row, blank in enumerate(demand.given)]
    least = [float(len(pieces)) for pieces in demand.given.values()]
    most = [np.inf] * len(least)
    for (pieces, _, _), lengths in zip(demand.stretches, _lengths_of(model, demand), strict=True):
        joints, places = np.unique(model.kinds.joints[lengths], return_inverse=True)
        for blank, (low, high) in zip(lengths.tolist(), (places.reshape(-1, 2) + len(least)).tolist(), strict=True):
            entries += [(low, blank, -1.0), (high, blank, 1.0), (len(least) + len(joints), blank, 1.0)]
        exact = [-1.0, *([0.0] * (len(joints) - 2)), 1.0, float(len(pieces))]
        least += exact
        most += exact
    row, blank, value = (np.array(part) for part in zip(*entries, strict=True))
    rows = csr_array((value, (row, blank)), shape=(len(least), len(model.area)))
    return rows, np.array(least), np.array(most)


def _counts(blanks: Sequence[NDArray[np.int64]], count: int) -> csr_array:
    """Return how often each blank lies in each lane."""
    from scipy.sparse import csr_array

    sizes = [len(own) for own in blanks]
    at = np.repeat(np.arange(len(blanks)), sizes), np.concatenate(blanks)
    return csr_array((np.ones(sum(sizes)), at), shape=(len(blanks), count))


def _taken(model: Model, demand: _Demand, blanks: Sequence[NDArray[np.int64]]) -> NDArray[np.uint64]:
    """Return the bits of what only one lane can hold: blanks wanted once, and the steps between two joints of a run."""
    bits: dict[int, range] = {}
    size = 0
    for blank, pieces in demand.given.items():
        if len(pieces) == 1:
            bits[blank] = range(size, size + 1)
            size += 1
    for (_, first, last), lengths in zip(demand.stretches, _lengths_of(model, demand), strict=True):
        for blank, (low, high) in zip(lengths.tolist(), model.kinds.joints[lengths].tolist(), strict=True):
            bits[blank] = range(size + low - first, size + high - first)
        size += last - first
    out = np.zeros((len(blanks), size // 64 + 1), dtype=np.uint64)
    for i, own in enumerate(blanks):
        for bit in (bit for blank in own.tolist() for bit in bits.get(blank, ())):
            out[i, bit // 64] |= np.uint64(1) << np.uint64(bit % 64)
    return out


def _pieces(model: Model, demand: _Demand, lanes: Sequence[Lane]) -> dict[int, list[int]]:
    """Return the pieces that may be taken for each blank laid: its copies, or its place in its run."""
    laid = np.concatenate([blanks_in(model, lane) for lane in lanes])
    out: dict[int, list[int]] = {blank: [] for blank in laid.tolist()}
    for blank, pieces in demand.given.items():
        out[blank] = list(pieces)
    for (pieces, _, _), lengths in zip(demand.stretches, _lengths_of(model, demand), strict=True):
        chosen = np.intersect1d(lengths, laid)
        for blank, piece in zip(chosen[np.argsort(model.kinds.joints[chosen, 0])].tolist(), pieces, strict=True):
            out[blank].append(piece)
    return out
