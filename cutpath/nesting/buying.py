"""Least bought: whole rolls, as few and as cheap as can be found for what lies on them.

A nest that draws little may open many rolls: its bundles are as long as suits the pieces, and what is left behind them
on each roll was bought all the same. So the search goes on from such a nest.

* **Each bundle on a roll of its own**, where there are many pieces. The cost of a bundle is what it draws and a
  share of what is left of its roll, less of it for bundles that are still short. So short bundles lose pieces to
  long ones until they are gone, and it always pays to draw less. At first, bundles are charged by the mean length of
  their lanes as well as by the longest. Where what is left counts whole, a lane that lies closer saves nothing until
  its roll is another; so with very many pieces the area of lanes counts as well.
* **Sets of rolls**, where there are so few pieces that all that may cost less can be gone through (`roll_sets`).
* **Parts of a relaxation**, where there are few pieces (`recombine`). All lanes come across so far, from the nest that
  draws least on, tell what rolls of them would cost at best. Workers exchange rolls of the best plan for cheaper ones,
  and keep parts of the relaxation and anneal the rest (`trials`). What lanes that leaves serve the next relaxation.

All of it is counted in work, and what the workers found is merged in a fixed order, as in `search`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from itertools import count
from math import inf
from typing import TypeVar

import numpy as np

from cutpath.nesting.cooling import Cooling, Quota, Worker, new_worker
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import choose_rolls
from cutpath.nesting.opened import Opened, Shop
from cutpath.nesting.pool import Pool
from cutpath.nesting.recombine import Relaxed, relax
from cutpath.nesting.roll_sets import RollSet, cheaper_sets
from cutpath.nesting.state import NONE
from cutpath.nesting.team import TEAM_SEED, dealt
from cutpath.nesting.together import Together
from cutpath.nesting.trials import Trials

T = TypeVar("T")


_MANY = 80  # with more pieces, all of them anew, each bundle on a roll of its own
_ROUND, _LEAST_ROUNDS, _MOST_ROUNDS = 200_000, 24, 80  # steps for each round of it, and how many
_STRETCH = 60_000  # steps of each worker between two deals: measured, EXPERIMENTS.md
_ROUNDS_HOT, _ROUNDS_COLD = 0.04, 0.007  # heat as a share of the mean area of a piece
_LEFT_FIRST, _LEFT_FROM = 0.3, 0.7  # share of what is left of a roll that counts at first; all of it from here on
_LONGEST_FROM = 0.6  # from here on only the longest lane of a bundle counts; before that, lanes at their mean as well
_BETWEEN, _RELAX_WORK = 12_000_000, 3_000_000  # steps between two relaxations, and what one of them stands for
_EXCHANGE_SHARE = 0.15  # of the work, for exchanging rolls
_SETS_SHARE = 0.5  # of the work, for sets of a few rolls
_TRY, _LEAST_TRY = 150, 30_000  # steps of one try of them at first, times the square of the pieces
_LONGER_TRIES, _TRIES = (
    2,
    3,
)  # rounds after which a try takes twice the steps; tries until then, twice as many after that
_FIRST_ROUND, _FEWEST_SETS = 0.3, 8  # share of their work for the first round; sets that go on
_SCARCE = 400  # with more pieces, each comes by so few steps that lanes must count to stay well filled
_LANE_SHARE, _LANE_SHARE_SCARCE = 0.05, 0.5  # of the area of every lane in the cost
_STEPS_MM = (2.0, 0.5)  # of lane widths, in the first and in the last rounds
_GAIN_MM2 = 1.0


@dataclass(slots=True)
class Buying:
    """The search for one problem; ``report`` hears of each better plan, ``pool`` holds lanes that are known."""

    shop: Shop
    pool: Pool
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
                many = sum(opened.pieces for opened in best) > _MANY
                best = (self._by_teams if many else self._recombined)(threads, best, work)
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
        if not bundles:
            return plan
        lanes = _LANE_SHARE_SCARCE if sum(opened.pieces for opened in plan) > _SCARCE else _LANE_SHARE
        kinds = shop.kinds()
        widths = shop.width[kinds].tolist()
        best = plan
        rounds = max(_LEAST_ROUNDS, min(_MOST_ROUNDS, work // _ROUND))
        crew = [self.crew[w] for w in team]
        stock = shop.own_rolls(_LEFT_FIRST)
        start = choose_rolls(stock, [replace(bundle, roll=NONE) for bundle in bundles])
        nest = Together.of(replace(shop.model, stock=stock), crew, self.guard, start, seed, _STRETCH)
        area = shop.model.mean_area
        whole = Cooling(_ROUNDS_HOT * area, _ROUNDS_COLD * area, _STEPS_MM[0], joints=True, lanes=(lanes, lanes))
        for r in range(rounds):
            if self.guard.left_s() <= 0.0:
                break
            done, then = r / rounds, (r + 1) / rounds
            stock = shop.own_rolls(_LEFT_FIRST + (1.0 - _LEFT_FIRST) * min(1.0, done / _LEFT_FROM))
            cooling = replace(
                whole.part(done, then), step_mm=_STEPS_MM[0 if done < 0.5 else 1],
                longest=float(np.square(min(1.0, done / _LONGEST_FROM))),
            )  # fmt: skip
            bundles = nest.anneal(threads, cooling, Quota(work // rounds, done, then), stock)
            now = counted + shop.packed(bundles, widths)
            if shop.cost(now) < shop.cost(best) - _GAIN_MM2:
                best = now
                if team[0] == 0:
                    self.report(best)
        return best

    def _on_sets(
        self, threads: ThreadPoolExecutor, plan: list[Opened], least_mm2: float, work: int
    ) -> tuple[list[Opened], int]:
        """Go through sets of rolls that may cost less; return the cheapest plan, and the work that it took."""
        best, spent = plan, 0
        least = max(_LEAST_TRY, _TRY * sum(opened.pieces for opened in plan) ** 2)
        most = int(_FIRST_ROUND * work * self.workers / (_TRIES * least))
        sets = cheaper_sets(self.shop, plan, least_mm2)[:most]
        for r in count():
            steps = least * 2 ** min(r, _LONGER_TRIES)
            tries = _TRIES * 2 ** max(0, r - _LONGER_TRIES)
            takes = steps * tries * -(-len(sets) // self.workers)
            if not sets or spent + takes > work or self.guard.left_s() <= 0.0:
                break
            spent += takes
            shares = [sets[w :: self.workers] for w in range(self.workers)]
            jobs = [
                threads.submit(self._trials(41, r, w).on_sets, mine, best, steps, tries)
                for w, mine in enumerate(shares)
            ]
            lacking: list[tuple[float, RollSet]] = []
            for mine, (found, lacks) in zip(shares, self._gather(jobs), strict=True):
                lacking += zip(lacks, mine, strict=True)
                if self.shop.cost(found) < self.shop.cost(best) - _GAIN_MM2:
                    best = found
            self.report(best)
            near = sorted((one for one in lacking if one[0] < inf), key=lambda one: one[0])
            sets = [rolls for _, rolls in near[: max(_FEWEST_SETS, len(sets) // 3)]]
        return best, spent

    def _recombined(self, threads: ThreadPoolExecutor, plan: list[Opened], work: int) -> list[Opened]:
        """Relax what all lanes so far would cost, and let workers go on from parts of that, until the work is done.

        After the first time, sets of rolls are gone through where they are few.
        """
        best = plan
        known: tuple[Opened, ...] = ()
        r = 0
        while work > 0 and self.guard.left_s() > 0.0:
            relaxed = relax(self.shop, self.pool, best, known, self.guard)
            if relaxed is None:
                break
            known = relaxed.near
            each = min(_BETWEEN, work)
            jobs = [threads.submit(self._tried, w, r, relaxed, best, each) for w in range(self.workers)]
            for found, lanes in self._gather(jobs):
                self.pool.join(lanes)
                if self.shop.cost(found) < self.shop.cost(best) - _GAIN_MM2:
                    best = found
            self.report(best)
            work -= each + _RELAX_WORK
            if r == 0:
                best, spent = self._on_sets(threads, best, self.shop.area(plan), round(_SETS_SHARE * work))
                work -= spent
            r += 1
        return best

    def _tried(self, w: int, r: int, relaxed: Relaxed, plan: list[Opened], work: int) -> tuple[list[Opened], Pool]:
        """Let a worker exchange rolls of a plan and refill parts of a relaxation; return the cheaper, and all lanes."""
        trials = self._trials(31, r, w)
        first = round(_EXCHANGE_SHARE * work)
        found = [trials.exchanged(plan, first), trials.refilled(relaxed, plan, work - first)]
        return min(found, key=self.shop.cost), trials.pool

    def _trials(self, kind: int, r: int, w: int) -> Trials:
        return Trials(self.shop, self.crew[w], self.guard, np.random.default_rng([self.seed, kind, r, w]))

    def _gather(self, jobs: Sequence[Future[T]]) -> list[T]:
        try:
            return [job.result() for job in jobs]
        except KeyboardInterrupt:
            self.guard.break_off()
            return [job.result() for job in jobs]
