"""Trials of up to some eighty pieces on whole rolls, by one worker: rolls exchanged, parts of a relaxation refilled.

* **Cheaper rolls for a few.** Some rolls are taken, mostly those with most left on them, and cheaper ones chosen in the
  place of up to three of them: one less, one narrower or shorter, one for two. Their pieces are annealed on the rolls
  chosen, whose lead is nearly free up to their ends and dear behind them, beside new lead that is dearer. What is left
  on new lead in the end is packed on rolls too. The result is kept where it costs less.
* **Sets of rolls** (`roll_sets`): all pieces from nothing, on rolls chosen in the same way.
* **Pieces from nothing**, each bundle on a roll of its own, whichever that is: now and then those of some rolls, and
  those that parts of a relaxation leave over (`recombine`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations, combinations_with_replacement, product
from math import fsum, inf

import numpy as np

from cutpath import sure
from cutpath.nesting.anneal import anneal
from cutpath.nesting.cooling import Worker
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import Bundle, choose_rolls, put_in, single, take_out
from cutpath.nesting.opened import Opened, Shop
from cutpath.nesting.pool import Pool, blanks_in
from cutpath.nesting.recombine import Relaxed, part_of
from cutpath.nesting.roll_sets import RollSet
from cutpath.nesting.state import NONE, Stock, Tuning
from cutpath.nesting.ticks import TICKS_PER_MM

_GROUP = 70  # pieces on rolls that are exchanged together
_FREE = 0.3  # how often pieces of an exchange take any rolls from nothing
_SOME = 0.3  # how often fewer, where all pieces are no more than that
_LEAST_SLACK = 0.02  # of a roll: how likely full rolls are taken
_MOST_AT_ONCE, _TRIPLES = 2, 20  # rolls exchanged, and how many threes are looked at
_MOST_KINDS = 40  # of rolls that are looked at for an exchange
_NEAR = 40  # exchanges about as cheap as wanted, of which one is taken
_LEAST_SAVING, _MOST_SAVING = 0.05, 1.1  # wanted, of what is left on rolls
_FULL_SAVING = 0.02  # of the cost of full ones
_KEPT = (0.3, 0.8)  # share of all pieces, by area, that stays as the relaxation has it
_WORK, _LEAST_WORK = 600, 60_000  # of one trial, times the square of its pieces
_LEFT = (0.5, 1.0)  # share of what is left of a roll that counts where bundles have rolls of their own
_WARM, _HOT, _COLD = 0.05, 0.5, 0.0008  # heat from what is there, from nothing, and at the end
_COLD_ON_SETS = 0.015  # heat at the end where sets of rolls are gone through
_LANES = (0.05, 3.0)  # share of lane area in the cost at first, from nothing, in turn
_LANE_SHARE = 0.05
_STEP_MM = 6.0  # of lane widths
_SLICES, _POOL_FROM = 20, 14  # of a trial, and after how many of them lanes are remembered
_LOOK_WARM, _LOOK = 3, 15  # slices after which a trial on chosen rolls may end early
_JOINTS_EVERY = 8
_GAIN_MM2 = 1.0


@dataclass(frozen=True, slots=True)
class _Trial:
    """How pieces are annealed: from what is there or from nothing, share of lane area at first, heat, work, seed."""

    warm: bool
    lanes: float
    work: int
    seed: int
    cold: float

    def heat(self, area: float) -> tuple[float, float]:
        """Return heat at first and at the end, in mm2, for pieces of a mean area."""
        return (_WARM if self.warm else _HOT * (2.0 if self.lanes > 1.0 else 1.0)) * area, self.cold * area


@dataclass(slots=True)
class Trials:
    """What one worker tries; ``pool`` receives the lanes that come up."""

    shop: Shop
    worker: Worker
    guard: Guard
    rng: np.random.Generator
    pool: Pool = field(init=False)

    def __post_init__(self) -> None:
        self.pool = Pool(self.shop.model)

    def exchanged(self, plan: Sequence[Opened], work: int) -> list[Opened]:
        """Exchange rolls for cheaper ones until the work is done."""
        shop, rng = self.shop, self.rng
        best = list(plan)
        while work > 0 and self.guard.left_s() > 0.0:
            group = self._group(best)
            mine = [best[i] for i in group]
            free = bool(rng.random() < _FREE)
            rooms = () if free else self._cheaper(mine)
            if rooms is None:
                work -= _LEAST_WORK
                continue
            warm = not free and bool(rng.integers(2))
            trial = self._trial(sum(opened.pieces for opened in mine), work, warm=warm)
            work -= trial.work
            bundles = [bundle for opened in mine for bundle in opened.bundles]
            if not warm:
                bundles = [single(shop.model, piece, blank) for blank, piece in shop.cut(mine)]
            bundles.sort(key=lambda bundle: -bundle.length * bundle.across)
            new = self._on_chosen(bundles, rooms, trial)[0] if rooms else self._on_their_own(bundles, trial)
            if not new:
                continue
            now = [*(opened for i, opened in enumerate(best) if i not in group), *new]
            if shop.cost(new) < shop.cost(mine) - _GAIN_MM2 and shop.in_number(now):
                best = now
        return best

    def refilled(self, relaxed: Relaxed, plan: Sequence[Opened], work: int) -> list[Opened]:
        """Keep parts of a relaxation and anneal the rest, again and again; return the cheapest, at worst the plan."""
        best = list(plan)
        while work > 0 and self.guard.left_s() > 0.0:
            kept, rest = part_of(self.shop, relaxed, plan, float(self.rng.uniform(*_KEPT)), self.rng)
            trial = self._trial(len(rest), work, warm=False)
            work -= trial.work
            now = [*kept, *self._on_their_own(sorted(rest, key=lambda b: -b.length * b.across), trial)]
            if self.shop.cost(now) < self.shop.cost(best) - _GAIN_MM2:
                best = now
        return best

    def on_sets(
        self, sets: Sequence[RollSet], plan: Sequence[Opened], steps: int, tries: int
    ) -> tuple[list[Opened], list[float]]:
        """Try to cut what a plan cuts from each of some sets of rolls, so often, in so many steps each time.

        Return the cheapest plan, at worst the given one, and for each set the lead in mm2 that it was short of, or that
        would have had to stay on its rolls, to cost less: the least of all tries, and no end of it where it cannot.
        """
        shop = self.shop
        best, cost = list(plan), shop.cost(plan)
        worth = shop.outlay.problem.offcuts.worth
        bundles = [single(shop.model, piece, blank) for blank, piece in shop.cut(plan)]
        bundles.sort(key=lambda bundle: -bundle.length * bundle.across)
        lacks = [inf] * len(sets)
        for (i, rolls), _ in product(enumerate(sets), range(tries)):
            if rolls.least_mm2 >= cost - _GAIN_MM2 or self.guard.left_s() <= 0.0:
                continue
            seed = int(self.rng.integers(1 << 40))
            trial = _Trial(warm=False, lanes=_LANES[-1], work=steps, seed=seed, cold=_COLD_ON_SETS)
            found, short = self._on_chosen(bundles, rolls.rooms, trial)
            now = shop.cost(found)
            if short > 0.0:
                lacks[i] = min(lacks[i], short)
            elif now < cost - _GAIN_MM2:
                best, cost, lacks[i] = found, now, 0.0
            elif worth > 0.0:
                lacks[i] = min(lacks[i], (now - cost) / worth)
        return best, lacks

    def _trial(self, pieces: int, work: int, *, warm: bool) -> _Trial:
        lanes = _LANE_SHARE if warm else _LANES[int(self.rng.integers(2))]
        steps = min(max(_LEAST_WORK, _WORK * pieces * pieces), work)
        return _Trial(warm, lanes, steps, int(self.rng.integers(1 << 40)), _COLD)

    def _group(self, plan: Sequence[Opened]) -> list[int]:
        """Choose rolls by chance; mostly all of them, where they hold few pieces."""
        sizes = [opened.pieces for opened in plan]
        few = sum(sizes) <= _GROUP
        if few and (len(plan) <= _MOST_AT_ONCE + 1 or self.rng.random() > _SOME):
            return list(range(len(plan)))
        most = sum(sizes) * 2 // 3 if few else _GROUP
        price = self.shop.price[[opened.room for opened in plan]]
        left = np.array([self.shop.price[o.room] * (1.0 - o.length / self.shop.length[o.room]) for o in plan])
        weight = left + _LEAST_SLACK * price
        group: list[int] = []
        free = list(range(len(plan)))
        while free:
            i = free[int(self.rng.choice(len(free), p=weight[free] / weight[free].sum()))]
            if group and sum(sizes[k] for k in group) + sizes[i] > most:
                break
            group.append(i)
            free.remove(i)
        return group

    def _cheaper(self, mine: Sequence[Opened]) -> tuple[int, ...] | None:
        """Choose cheaper rolls for those of some, about as much cheaper as is wanted; None where there are none."""
        shop, rng = self.shop, self.rng
        cost, drawn = shop.cost(mine), shop.drawn(mine)
        now = [opened.room for opened in mine]
        kinds = rng.permutation(len(shop.rooms))[:_MOST_KINDS].tolist()
        adds = [more for n in range(_MOST_AT_ONCE + 1) for more in combinations_with_replacement(kinds, n)]
        takes = [take for n in range(1, _MOST_AT_ONCE + 1) for take in combinations(range(len(now)), n)]
        if len(now) > _MOST_AT_ONCE:
            takes += [tuple(rng.permutation(len(now))[: _MOST_AT_ONCE + 1].tolist()) for _ in range(_TRIPLES)]
        whole = float(shop.price[now].sum())
        price = whole - np.array([[shop.price[[now[i] for i in take]].sum()] for take in takes])
        price = price + np.array([shop.price[list(more)].sum() if more else 0.0 for more in adds])
        # What would stay on the rolls is worth something, if they are filled as well as now.
        cheaper = cost - (price - shop.outlay.problem.offcuts.worth * np.maximum(0.0, price - drawn))
        wanted = max(_FULL_SAVING * whole, whole - drawn) * rng.uniform(_LEAST_SAVING, _MOST_SAVING)
        away = np.where((cheaper > _GAIN_MM2) & (price > 0.0), np.abs(whole - price - wanted), np.inf).ravel()
        near = np.argsort(away, kind="stable")[:_NEAR]
        blanks = shop.blanks(mine)
        for pick in rng.permutation(near[np.isfinite(away[near])]).tolist():
            take, more = takes[pick // len(adds)], adds[pick % len(adds)]
            rooms = (*(room for i, room in enumerate(now) if i not in take), *more)
            if rooms and shop.holds(blanks, rooms):
                return rooms
        return None

    def _on_their_own(self, bundles: Sequence[Bundle], trial: _Trial) -> list[Opened]:
        """Anneal pieces, each bundle on a roll of its own, whichever that is; return the rolls."""
        shop = self.shop
        stock = shop.own_rolls(float(self.rng.uniform(*_LEFT)))
        return shop.packed(self._annealed(bundles, stock, trial), stock.width.tolist())

    def _on_chosen(self, bundles: Sequence[Bundle], rooms: Sequence[int], trial: _Trial) -> tuple[list[Opened], float]:
        """Anneal pieces on rolls chosen, beside new lead; return the rolls, and what lies elsewhere, in mm2 of lead.

        There are no rolls where one of those chosen is too full.
        """
        shop = self.shop
        order = sorted(rooms, key=lambda room: (shop.width[room], shop.length[room]))
        stock = shop.chosen_rolls(order)
        found = self._annealed(bundles, stock, trial)
        used = np.bincount([b.roll for b in found], [b.length for b in found], len(stock.width))
        over = np.maximum(0, used - stock.full)
        short = float((over * stock.width).sum()) / TICKS_PER_MM**2
        if over[: len(order)].any():
            return [], short
        on_them = [
            shop.on_cheapest(Opened(room, tuple(mine)))
            for c, room in enumerate(order)
            if (mine := [bundle for bundle in found if bundle.roll == c])
        ]
        return on_them + shop.packed((b for b in found if b.roll >= len(order)), stock.width.tolist()), short

    def _annealed(self, bundles: Sequence[Bundle], stock: Stock, trial: _Trial) -> list[Bundle]:
        """Anneal bundles on a stock; it ends early where rolls that are to be filled hold them all."""
        worker, model = self.worker, replace(self.shop.model, stock=stock)
        start = choose_rolls(stock, [replace(bundle, roll=NONE) for bundle in bundles])
        loaded = put_in(model, stock, start, trial.seed, np.zeros(len(stock.width), dtype=np.int64))
        blanks = np.concatenate([blanks_in(model, lane) for bundle in bundles for lane in bundle.lanes])
        hot, cold = trial.heat(fsum(model.area[blanks].tolist()) / len(blanks))
        every, step = _JOINTS_EVERY if model.kinds.table.size else 0, round(_STEP_MM * TICKS_PER_MM)
        for k in range(_SLICES):
            lanes = trial.lanes * sure.power(_LANE_SHARE / trial.lanes, k / _SLICES)
            first, last = (hot * sure.power(cold / hot, at / _SLICES) for at in (k, k + 1))
            anneal(
                worker.form_arrays, worker.memory, stock, loaded.kinds, Tuning(lanes / TICKS_PER_MM**2, step, every),
                loaded.state, worker.scratch, max(1, trial.work // _SLICES), first, last,
            )  # fmt: skip
            if k + 1 >= _POOL_FROM:
                self.pool.add(take_out(loaded))
            enough = k + 1 >= (_LOOK_WARM if trial.warm else _LOOK)
            if self.guard.left_s() <= 0.0 or (enough and (loaded.state.used <= stock.full).all()):
                break
        return take_out(loaded)
