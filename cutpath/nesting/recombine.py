"""Whole rolls put together anew: what lanes of many trials would cost at best, and parts of that to go on from.

Lanes that were come across, side by side on rolls, make columns; rows are blanks to be cut and rolls that are counted.
The linear relaxation is solved by column generation (Gilmore and Gomory, 1961; see `finish`): at given prices of blanks
the best lanes for a roll are a knapsack. It comes out some 2 % under the best plan, and hardly ever whole: a roll holds
a dozen pieces, and pieces are mostly wanted once. But what is taken in part is good for its pieces. So some of it that
goes together is kept as it is, by chance, and the rest of the pieces is left to be annealed anew (`buying`).

Runs stay divided as in the plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.guard import Guard
from cutpath.nesting.knapsack import GRID, Knapsack, best_up_to, steps_of
from cutpath.nesting.model import Bundle, Lane, single
from cutpath.nesting.opened import Opened, Shop
from cutpath.nesting.pool import Pool, blanks_in

if TYPE_CHECKING:
    from numpy.typing import NDArray

_MOST_LANES = 1000
_MOST_ROUNDS = 40
_EACH_ROUND = 100  # columns
_GAIN_MM2 = 1.0  # less is not worth a column
_IN_USE = 0.01  # of a column
_NEAR = 400  # columns that the next relaxation begins with


@dataclass(frozen=True, slots=True)
class _RollColumn:
    """Lanes of each bundle by their index, the longest last, on a kind of roll."""

    bundles: tuple[tuple[int, ...], ...]
    room: int

    @property
    def lanes(self) -> tuple[int, ...]:
        return tuple(i for bundle in self.bundles for i in bundle)


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The relaxation of a plan.

    Attributes
    ----------
    value : float
        What it costs, in mm2; no plan of its lanes costs less.
    used : tuple of (Opened, float)
        Rolls that it takes, and how much of each; their pieces are those that the lanes had when they were found.
    near : tuple of Opened
        These and those next to them, for the next relaxation.
    """

    value: float
    used: tuple[tuple[Opened, float], ...]
    near: tuple[Opened, ...]


def relax(shop: Shop, pool: Pool, plan: Sequence[Opened], known: Iterable[Opened], guard: Guard) -> Relaxed | None:
    """Relax the problem of cutting what ``plan`` cuts from lanes of a pool, those of the plan and of known rolls.

    None where the solver finds no end.
    """
    wanted = Counter(shop.blanks(plan).tolist())
    return _Relaxation(shop, pool.best(_MOST_LANES), plan, known, wanted).solve(guard)


def part_of(
    shop: Shop, relaxed: Relaxed, plan: Sequence[Opened], share: float, rng: np.random.Generator
) -> tuple[list[Opened], list[Bundle]]:
    """Keep rolls of a relaxation that go together, by chance, up to a share of the area of all pieces.

    Return them, with pieces of the plan, and the rest of its pieces each as a bundle of its own.
    """
    model = shop.model
    left: dict[int, list[int]] = {}
    for blank, piece in sorted(shop.cut(plan)):
        left.setdefault(blank, []).append(piece)
    most = share * fsum(float(model.area[blank]) * len(pieces) for blank, pieces in left.items())
    rolls, parts = [opened for opened, _ in relaxed.used], np.array([part for _, part in relaxed.used])
    kept: list[Opened] = []
    held = 0.0
    rooms: Counter[int] = Counter()
    for i in np.argsort(-parts * rng.random(len(parts)), kind="stable").tolist():
        blanks = shop.blanks([rolls[i]])
        area = float(model.area[blanks].sum())
        number = shop.number[rolls[i].room]
        if number is not None and rooms[rolls[i].room] >= number:
            continue
        if held + area > most or any(len(left.get(b, ())) < n for b, n in Counter(blanks.tolist()).items()):
            continue
        held += area
        rooms[rolls[i].room] += 1
        kept.append(_with_pieces(shop, rolls[i], left))
    return kept, [single(model, piece, blank) for blank, pieces in left.items() for piece in pieces]


def _with_pieces(shop: Shop, opened: Opened, left: dict[int, list[int]]) -> Opened:
    """Return a roll with pieces that are left for its blanks, which are taken away there."""

    def filled(lane: Lane) -> Lane:
        return replace(lane, pieces=np.array([left[b].pop() for b in blanks_in(shop.model, lane).tolist()]))

    return replace(opened, bundles=tuple(replace(b, lanes=tuple(map(filled, b.lanes))) for b in opened.bundles))


class _Relaxation:
    """Lanes and columns while columns are generated."""

    def __init__(
        self, shop: Shop, lanes: Sequence[Lane], plan: Sequence[Opened], known: Iterable[Opened], wanted: Counter[int]
    ) -> None:
        self.shop = shop
        rolls = [*plan, *known]
        laid = (lane for opened in rolls for bundle in opened.bundles for lane in bundle.lanes)
        by_id = {id(lane): lane for lane in (*laid, *lanes)}
        inside = {key: Counter(blanks_in(shop.model, lane).tolist()) for key, lane in by_id.items()}
        of_use = [key for key, own in inside.items() if own <= wanted]
        of_use.sort(key=lambda key: by_id[key].length)
        self.lanes = [by_id[key] for key in of_use]
        self.length = np.array([lane.length for lane in self.lanes], dtype=np.int64)
        self.cover = np.array([[inside[key][blank] for blank in wanted] for key in of_use], dtype=np.float64)
        self.wanted = np.array([float(count) for count in wanted.values()])
        self.counted = [room for room, number in enumerate(shop.number) if number is not None]
        self.price = np.array([[self._cost(r, int(along)) for along in self.length] for r in range(len(shop.rooms))])
        at = {key: i for i, key in enumerate(of_use)}
        self.columns: list[_RollColumn] = []
        self.seen: set[_RollColumn] = set()
        for opened in rolls:
            keys = [[id(lane) for lane in bundle.lanes] for bundle in opened.bundles]
            if all(key in at for bundle in keys for key in bundle):
                self._take([_RollColumn(tuple(tuple(sorted(at[k] for k in b)) for b in keys), opened.room)])

    def solve(self, guard: Guard) -> Relaxed | None:
        """Generate columns until none is missing."""
        once = np.flatnonzero(self.wanted == 1.0)
        taken = _bits(self.cover[:, once] > 0.0)
        heights = steps_of([lane.height for lane in self.lanes])
        found = None
        for _ in range(_MOST_ROUNDS):
            solved = self._solved()
            if solved is None:
                break
            found = solved
            _, _, worth, dearer = solved
            better = sorted(self._missing(heights, taken, worth, dearer), key=lambda pair: pair[0])
            if not self._take(column for _, column in better[:_EACH_ROUND]) or guard.left_s() <= 0.0:
                break
        return None if found is None else self._relaxed(*found)

    def _cost(self, room: int, along: int) -> float:
        """Return what a roll costs of which so much is drawn; infinite where it is too short."""
        if along > self.shop.length[room]:
            return float("inf")
        return self.shop.cost_of(room, along)

    def _take(self, columns: Iterable[_RollColumn]) -> int:
        fresh = [column for column in columns if column not in self.seen]
        self.columns += fresh
        self.seen.update(fresh)
        return len(fresh)

    def _costs(self) -> NDArray[np.float64]:
        along = [sum(int(self.length[bundle[-1]]) for bundle in column.bundles) for column in self.columns]
        return np.array([self._cost(column.room, long) for column, long in zip(self.columns, along, strict=True)])

    def _solved(self) -> tuple[float, NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None:
        """Solve the program of the columns so far: value, parts, what each lane is worth, what rolls cost besides."""
        from scipy.optimize import linprog

        cuts = np.array([self.cover[list(column.lanes)].sum(axis=0) for column in self.columns])
        takes = np.array([[column.room == room for room in self.counted] for column in self.columns], dtype=np.float64)
        most = np.array([float(self.shop.number[room] or 0) for room in self.counted])
        rows = np.concatenate([-cuts, takes.reshape(len(cuts), -1)], axis=1)
        found = linprog(self._costs(), A_ub=rows.T, b_ub=np.concatenate([-self.wanted, most]), method="highs")
        if found.status != 0:
            return None
        dual = -found.ineqlin.marginals
        dearer = np.zeros(len(self.shop.rooms))
        dearer[self.counted] = dual[len(self.wanted) :]
        worth = (self.cover * dual[: len(self.wanted)]).sum(axis=1)
        return float(found.fun or 0.0), np.asarray(found.x), worth, dearer

    def _missing(
        self, heights: NDArray[np.int64], taken: NDArray[np.uint64], worth: NDArray[np.float64],
        dearer: NDArray[np.float64],
    ) -> list[tuple[float, _RollColumn]]:  # fmt: skip
        """Return for each longest lane and kind of roll the best bundle there, when it would pay, by reduced cost."""
        rooms = self.shop.width // GRID
        side_by_side = Knapsack(heights, taken, int(rooms.max()))
        most = np.full((len(rooms), len(heights)), -np.inf)
        choice = np.empty(most.shape, dtype=np.int64)
        for i, base in side_by_side.through(worth):
            top, where = best_up_to(base)
            left = rooms - heights[i]
            fits = left >= 0
            most[fits, i] = top[left[fits]]
            choice[fits, i] = side_by_side.choice[where[left[fits]]]
        reduced = self.price + dearer[:, None] - worth - most
        paths = side_by_side.paths()
        return [
            (float(reduced[c, i]), _RollColumn(((*paths.lanes(int(choice[c, i])), i),), c))
            for c, i in np.argwhere(reduced < -_GAIN_MM2).tolist()
        ]

    def _relaxed(
        self, value: float, parts: NDArray[np.float64], worth: NDArray[np.float64], dearer: NDArray[np.float64]
    ) -> Relaxed:
        columns = self.columns[: len(parts)]
        used = [(self._opened(columns[j]), float(parts[j])) for j in np.flatnonzero(parts > _IN_USE).tolist()]
        saved = [fsum(worth[list(column.lanes)].tolist()) - dearer[column.room] for column in columns]
        near = np.argsort(self._costs()[: len(parts)] - saved, kind="stable")[:_NEAR]
        return Relaxed(value, tuple(used), tuple(self._opened(columns[j]) for j in near.tolist()))

    def _opened(self, column: _RollColumn) -> Opened:
        return Opened(column.room, tuple(Bundle(tuple(self.lanes[i] for i in bundle)) for bundle in column.bundles))


def _bits(held: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """Return each row as the bits of words, shape (rows, words)."""
    words = np.zeros((len(held), held.shape[1] // 64 + 1), dtype=np.uint64)
    for bit in range(held.shape[1]):
        words[:, bit // 64] |= held[:, bit].astype(np.uint64) << np.uint64(bit % 64)
    return words
