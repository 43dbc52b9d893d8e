"""Least bought: whole rolls, as few and as cheap as can be found for what lies on them.

A nest that draws little may open many rolls: its bundles are as long as suits the pieces, and what is left behind them
on each roll was bought all the same. So the search goes on from such a nest.

* **Each bundle on a roll of its own**, where there are many pieces. The cost of a bundle is what it draws and a
  share of what is left of its roll, less of it for bundles that are still short. So short bundles lose pieces to
  long ones until they are gone, and it always pays to draw less. At first, bundles are charged by the mean length of
  their lanes as well as by the longest.
* **Cheaper rolls for a few.** Some rolls are taken, mostly those with most left on them, and cheaper ones chosen in the
  place of up to three of them: one less, one narrower or shorter, one for two. Their pieces are annealed on the rolls
  chosen, whose lead is nearly free, beside new lead that is dear. What is left on new lead in the end is packed on
  rolls too. The result is kept where it costs less.
* **A few pieces from nothing**, now and then, each bundle on a roll of its own, whichever that is.

All of it is counted in work, and what the workers found is merged in a fixed order, as in `search`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from itertools import combinations, combinations_with_replacement
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from cutpath import sure
from cutpath.nesting.anneal import anneal
from cutpath.nesting.cooling import Worker, new_worker
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import Bundle, Model, choose_rolls, put_in, single, take_out
from cutpath.nesting.opened import Opened, Shop
from cutpath.nesting.state import ENDLESS, NONE, Stock, Tuning
from cutpath.nesting.team import TEAM_SEED, dealt
from cutpath.nesting.ticks import TICKS_PER_MM

T = TypeVar("T")

if TYPE_CHECKING:
    from numpy.typing import NDArray

_MANY = 80  # with more pieces, first each bundle on a roll of its own
_ROUNDS_SHARE = 0.95  # of the work
_ROUND, _LEAST_ROUNDS, _MOST_ROUNDS = 200_000, 24, 80  # steps for each round of it, and how many
_ROUNDS_HOT, _ROUNDS_COLD = 0.04, 0.007  # heat as a share of the mean area of a piece
_LEFT_FIRST, _LEFT_FROM = 0.3, 0.7  # share of what is left of a roll that counts at first; all of it from here on
_LONGEST_FROM = 0.6  # from here on only the longest lane of a bundle counts; before that, lanes at their mean as well
_GROUP = 70  # pieces on rolls that are exchanged together
_FREE, _FREE_LEFT = 0.3, (0.5, 1.0)  # how often pieces take any rolls from nothing; share of what is left that counts
_SOME = 0.3  # how often fewer, where all pieces are no more than that
_LEAST_SLACK = 0.02  # of a roll: how likely full rolls are taken
_WORK, _LEAST_WORK = 600, 60_000  # of one trial, times the square of its pieces
_MOST_AT_ONCE, _TRIPLES = 2, 20  # rolls exchanged, and how many threes are looked at
_MOST_KINDS = 40  # of rolls that are looked at for an exchange
_NEAR = 40  # exchanges about as cheap as wanted, of which one is taken
_LEAST_SAVING, _MOST_SAVING, _FULL_SAVING = (
    0.05,
    1.1,
    0.02,
)  # wanted, of what is left on rolls; of the cost of full ones
_OWN, _NEW = 0.1, 1.6  # price of lead on the rolls chosen, and of new lead
_WARM, _HOT, _COLD = 0.05, 0.5, 0.0008  # heat from what is there, from nothing, and at the end
_LANES = (0.05, 3.0)  # share of lane area in the cost at first, from nothing, in turn
_LANE_SHARE = 0.05
_STEPS_MM = (6.0, 2.0, 0.5)  # of lane widths: in trials, in the first rounds and in the last
_SLICES, _LOOK_WARM, _LOOK = 20, 3, 15  # of a trial, and after how many of them it may end early
_JOINTS_EVERY = 8
_GAIN_MM2 = 1.0


@dataclass(frozen=True, slots=True)
class _Trial:
    """Rolls of a plan by their place in it, those to try instead (none: any, each for one bundle), and how."""

    places: tuple[int, ...]
    rooms: tuple[int, ...]
    warm: bool
    lanes: float
    left: float
    work: int
    seed: int


@dataclass(slots=True)
class Buying:
    """The search for one problem; ``report`` hears of each better plan."""

    shop: Shop
    seed: int
    workers: int
    guard: Guard
    report: Callable[[Sequence[Opened]], None]
    crew: list[Worker] = field(default_factory=list)

    def run(self, plan: Sequence[Opened], work: int) -> list[Opened]:
        """Spend ``work`` units in each worker; return opened rolls that cost no more than those of ``plan``."""
        best = [self.shop.on_cheapest(opened) for opened in plan]
        if not best or not self.shop.widths:
            return list(plan)
        self.crew = [new_worker(self.shop.model) for _ in range(self.workers)]
        try:
            with ThreadPoolExecutor(self.workers) as threads:
                if sum(opened.pieces for opened in best) > _MANY:
                    first = round(_ROUNDS_SHARE * work)
                    best = self._by_teams(threads, best, first)
                    work -= first
                best = self._exchanged(threads, best, work)
        except KeyboardInterrupt:
            self.guard.break_off()
        return best

    def _by_teams(self, threads: ThreadPoolExecutor, plan: list[Opened], work: int) -> list[Opened]:
        """Let each team of workers go on from a plan by itself, bundles on rolls of their own; return the cheapest."""
        teams = dealt(range(self.workers), sum(opened.pieces for opened in plan), work)
        with ThreadPoolExecutor(len(teams)) as leaders:
            jobs = [
                leaders.submit(self._each_on_its_own, threads, team, plan, work, self.seed + TEAM_SEED * t)
                for t, team in enumerate(teams)
            ]
            best = min(self._gather(jobs), key=self.shop.cost)
        self.report(best)
        return best

    def _each_on_its_own(
        self, threads: ThreadPoolExecutor, team: Sequence[int], plan: list[Opened], work: int, seed: int
    ) -> list[Opened]:
        """Anneal bundles that have a roll each by some of the workers; return the cheapest plan come across."""
        shop = self.shop
        counted = [opened for opened in plan if not shop.endless[opened.room]]
        bundles = [s for opened in plan if shop.endless[opened.room] for s in opened.bundles]
        kinds = self._kinds()
        widths = shop.width[kinds].tolist()
        best = plan
        rounds = max(_LEAST_ROUNDS, min(_MOST_ROUNDS, work // _ROUND)) if bundles else 0
        for r in range(rounds):
            if self.guard.left_s() <= 0.0:
                break
            done = r / rounds
            stock = self._whole_rolls(kinds, _LEFT_FIRST + (1.0 - _LEFT_FIRST) * min(1.0, done / _LEFT_FROM))
            stock = stock._replace(charge=np.array([np.square(min(1.0, done / _LONGEST_FROM)), 0.0]))
            falls, area = _ROUNDS_COLD / _ROUNDS_HOT, shop.model.mean_area
            hot, cold = (_ROUNDS_HOT * area * sure.power(falls, at / rounds) for at in (r, r + 1))
            rng = np.random.default_rng([seed, 37, r])
            parts = np.array_split(rng.permutation(len(bundles)), min(len(team), len(bundles)))
            step = _STEPS_MM[1] if done < 0.5 else _STEPS_MM[2]
            jobs = [
                threads.submit(
                    self._annealed, w, [bundles[int(i)] for i in part], stock, _Heat(hot, cold, step),
                    work // rounds, seed * 1009 + r * 131 + w,
                )
                for w, part in zip(team, parts, strict=False)
            ]  # fmt: skip
            bundles = [bundle for found in self._gather(jobs) for bundle in found]
            now = counted + shop.packed(bundles, widths)
            if shop.cost(now) < shop.cost(best) - _GAIN_MM2:
                best = now
                if team[0] == 0:
                    self.report(best)
        return best

    def _kinds(self) -> list[int]:
        """Return the rooms that there is no end of, the narrow and short ones first."""
        shop = self.shop
        return sorted(np.flatnonzero(shop.endless).tolist(), key=lambda r: (shop.width[r], shop.length[r]))

    def _whole_rolls(self, kinds: Sequence[int], left: float) -> Stock:
        """Return a stock of these rooms in which a bundle takes a roll of its own; ``left`` as in `Stock`."""
        shop = self.shop
        width, length = shop.width[kinds], shop.length[kinds]
        none = np.zeros(len(kinds), dtype=np.bool_)
        return Stock(
            width, length, shop.price[kinds] / length, np.full(len(kinds), ENDLESS, dtype=np.int64),
            np.full(len(kinds), left), none,
            np.array([0.0, np.inf]), shop.model.stock.kept, np.array([1.0, 0.0]),
        )  # fmt: skip

    def _annealed(
        self, w: int, bundles: Sequence[Bundle], stock: Stock, heat: _Heat, work: int, seed: int
    ) -> list[Bundle]:
        model = replace(self.shop.model, stock=stock)
        start = choose_rolls(stock, [replace(bundle, roll=NONE) for bundle in bundles])
        loaded = put_in(model, stock, start, seed, np.zeros(len(stock.width), dtype=np.int64))
        every = _JOINTS_EVERY if model.kinds.table.size else 0
        tuning = Tuning(_LANE_SHARE / TICKS_PER_MM**2, round(heat.step_mm * TICKS_PER_MM), every)
        worker = self.crew[w]
        anneal(
            worker.form_arrays, worker.memory, stock, loaded.kinds, tuning, loaded.state, worker.scratch, max(1, work),
            heat.hot, heat.cold,
        )  # fmt: skip
        return take_out(loaded)

    def _exchanged(self, threads: ThreadPoolExecutor, plan: list[Opened], work: int) -> list[Opened]:
        """Exchange rolls for cheaper ones until the work is done."""
        shop = self.shop
        r = 0
        while work > 0 and self.guard.left_s() > 0.0:
            rng = np.random.default_rng([self.seed, 31, r])
            groups = self._groups(plan, rng)
            trials = [self._trial(plan, groups[w % len(groups)], rng, work) for w in range(self.workers)]
            work -= max((trial.work for trial in trials if trial), default=_LEAST_WORK)
            r += 1
            tried = [trial for trial in trials if trial]
            jobs = [threads.submit(self._tried, w, plan, trial) for w, trial in enumerate(tried)]
            found = list(zip(tried, self._gather(jobs), strict=True))
            saved = [shop.cost(plan[i] for i in trial.places) - shop.cost(new) for trial, new in found]
            gone: set[int] = set()
            fresh: list[Opened] = []
            for k in sorted(range(len(found)), key=lambda k: -saved[k]):
                trial, new = found[k]
                if saved[k] < _GAIN_MM2 or gone.intersection(trial.places):
                    continue
                left = [o for i, o in enumerate(plan) if i not in gone and i not in trial.places]
                if shop.in_number([*left, *fresh, *new]):
                    gone.update(trial.places)
                    fresh += new
            if gone:
                plan = [o for i, o in enumerate(plan) if i not in gone] + fresh
                self.report(plan)
        return plan

    def _groups(self, plan: Sequence[Opened], rng: np.random.Generator) -> list[list[int]]:
        """Choose disjoint groups of rolls by chance, one for each worker; all of them where they hold few pieces."""
        sizes = [opened.pieces for opened in plan]
        few = sum(sizes) <= _GROUP
        if few and (len(plan) <= _MOST_AT_ONCE + 1 or rng.random() > _SOME):
            return [list(range(len(plan)))]
        most = sum(sizes) * 2 // 3 if few else _GROUP
        price = self.shop.price[[opened.room for opened in plan]]
        left = np.array([self.shop.price[o.room] * (1.0 - o.length / self.shop.length[o.room]) for o in plan])
        weight = left + _LEAST_SLACK * price
        groups: list[list[int]] = []
        free = list(range(len(plan)))
        while free and len(groups) < self.workers:
            group: list[int] = []
            while free:
                i = free[int(rng.choice(len(free), p=weight[free] / weight[free].sum()))]
                if group and sum(sizes[k] for k in group) + sizes[i] > most:
                    break
                group.append(i)
                free.remove(i)
            groups.append(group)
        return groups

    def _trial(
        self, plan: Sequence[Opened], group: Sequence[int], rng: np.random.Generator, work: int
    ) -> _Trial | None:
        """Choose cheaper rolls for a group, about as much cheaper as is wanted; None where there are none."""
        mine = [plan[i] for i in group]
        free = bool(rng.random() < _FREE)
        rooms = () if free else self._cheaper(mine, rng)
        warm, lanes, seed = not free and bool(rng.integers(2)), _LANES[int(rng.integers(2))], int(rng.integers(1 << 40))
        left = float(rng.uniform(*_FREE_LEFT))
        if rooms is None:
            return None
        steps = min(max(_LEAST_WORK, _WORK * sum(opened.pieces for opened in mine) ** 2), work)
        return _Trial(tuple(group), rooms, warm, _LANE_SHARE if warm else lanes, left, steps, seed)

    def _cheaper(self, mine: Sequence[Opened], rng: np.random.Generator) -> tuple[int, ...] | None:
        shop = self.shop
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

    def _tried(self, w: int, plan: Sequence[Opened], trial: _Trial) -> list[Opened]:
        """Anneal the pieces of a trial on its rolls, beside new lead; return rolls that hold them all."""
        shop, worker = self.shop, self.crew[w]
        mine = [plan[i] for i in trial.places]
        order = sorted(trial.rooms, key=lambda room: (shop.width[room], shop.length[room]))
        stock = self._chosen(order) if order else self._whole_rolls(self._kinds(), trial.left)
        model = replace(shop.model, stock=stock)
        bundles = [bundle for opened in mine for bundle in opened.bundles]
        if not trial.warm:
            bundles = _apart(model, bundles)
        bundles.sort(key=lambda bundle: -bundle.length * bundle.across)
        start = choose_rolls(stock, [replace(bundle, roll=NONE) for bundle in bundles])
        loaded = put_in(model, stock, start, trial.seed, np.zeros(len(stock.width), dtype=np.int64))
        area = float(model.area[shop.blanks(mine)].mean())
        hot, cold = (_WARM if trial.warm else _HOT * (2.0 if trial.lanes > 1.0 else 1.0)) * area, _COLD * area
        every, step = _JOINTS_EVERY if model.kinds.table.size else 0, round(_STEPS_MM[0] * TICKS_PER_MM)
        for k in range(_SLICES):
            lanes = trial.lanes * sure.power(_LANE_SHARE / trial.lanes, k / _SLICES)
            first, last = (hot * sure.power(cold / hot, at / _SLICES) for at in (k, k + 1))
            anneal(
                worker.form_arrays, worker.memory, stock, loaded.kinds, Tuning(lanes / TICKS_PER_MM**2, step, every),
                loaded.state, worker.scratch, max(1, trial.work // _SLICES), first, last,
            )  # fmt: skip
            enough = k + 1 >= (_LOOK_WARM if trial.warm else _LOOK)
            if self.guard.left_s() <= 0.0 or (order and enough and not loaded.state.used[len(order) :].any()):
                break
        found = take_out(loaded)
        return self._opened(found, order) if order else shop.packed(found, shop.width[self._kinds()].tolist())

    def _chosen(self, order: Sequence[int]) -> Stock:
        """Return a stock of the rolls chosen, each by itself, and new lead of every width."""
        shop = self.shop
        new = [shop.longest(width) for width in shop.widths]
        rooms, n, k = [*order, *new], len(order), len(new)
        length = shop.length[rooms]
        price = shop.price[rooms] / length * np.repeat([_OWN, _NEW], [n, k])
        capacity = np.concatenate([length[:n], np.full(k, ENDLESS)])
        none = np.zeros(n + k)
        return Stock(
            shop.width[rooms], length, price, capacity, none, none.astype(np.bool_),
            np.array([0.0, np.inf]), shop.model.stock.kept, np.array([1.0, 0.0]),
        )  # fmt: skip

    def _opened(self, found: Sequence[Bundle], order: Sequence[int]) -> list[Opened]:
        shop = self.shop
        out = [
            shop.on_cheapest(Opened(room, tuple(mine)))
            for c, room in enumerate(order)
            if (mine := [bundle for bundle in found if bundle.roll == c])
        ]
        widths = [*shop.width[list(order)].tolist(), *shop.widths]
        return out + shop.packed((bundle for bundle in found if bundle.roll >= len(order)), widths)

    def _gather(self, jobs: Sequence[Future[T]]) -> list[T]:
        try:
            return [job.result() for job in jobs]
        except KeyboardInterrupt:
            self.guard.break_off()
            return [job.result() for job in jobs]


@dataclass(frozen=True, slots=True)
class _Heat:
    """Heat of a stretch of annealing in mm2, and the step of lane widths."""

    hot: float
    cold: float
    step_mm: float


def _apart(model: Model, bundles: Sequence[Bundle]) -> list[Bundle]:
    """Return each piece of some bundles a bundle of its own."""
    blanks: NDArray[np.int64] = model.kinds.form_blank
    return [
        single(model, int(piece), int(blanks[code >> 1]))
        for bundle in bundles
        for lane in bundle.lanes
        for piece, code in zip(lane.pieces, lane.codes, strict=True)
    ]
