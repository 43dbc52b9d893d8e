"""The search: staged annealing on several threads, all of it counted in work; time is at most a guard.

Few pieces are annealed as one from many short starts, and then some bundles at a time. Many are nested by teams of
workers (`team`), each a nest of its own where there is work enough; with forty to eighty, teams begin and starts go on.
Lanes that were about in starts are put together exactly in the end (`finish`). Joints of runs move once the even
division is well nested.

Determinism: the same problem, work, seed and workers give the same nest. What the threads found is merged in a fixed
order, each with a memory of its own, and no clock is read. Where the budget is seconds, they are turned into work by
`STEPS_PER_SECOND`, which many machines surpass. On a machine that is too slow or too busy for that, heat falls with
the time that has passed, so that the search still ends cold and in time; the nest is sound, but may then differ from
run to run.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from threading import Lock
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from cutpath.nesting.cooling import LANE_SHARE, Cooling, Quota, Worker, anneal_among, new_worker, warm_up
from cutpath.nesting.finish import finish
from cutpath.nesting.greedy import first_bundles
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import (
    Bundle,
    Model,
    choose_rolls,
    chunk_order,
    cost_of,
    drawn_of,
    single,
)
from cutpath.nesting.near import Near
from cutpath.nesting.pool import Pool
from cutpath.nesting.state import COUNTED, NONE, Stock
from cutpath.nesting.team import ENOUGH_WORK, TEAM_SEED, Team, dealt
from cutpath.values.nest import STEPS_PER_SECOND

if TYPE_CHECKING:
    from numpy.typing import NDArray

T = TypeVar("T")

_MOST_TIMES = 8  # nests one after another by one team
_WHOLE = 80  # up to so many pieces are annealed as one, from many starts
_SOME, _TEAMS_SHARE = 40, 0.4  # with more pieces teams begin, where so much of the work is enough for a nest
_START_WORK = 750  # in one of many starts, times the square of the number of pieces
_LEAST_START = 100_000
_HOTTEST, _WARM, _COLD = 0.5, 0.05, 0.01  # heat of a start from nothing, from the best so far, and at the end
_START_STEP_MM = 6.0  # of lane widths
_FEW = 16  # up to so many pieces are also started less hot with finer widths, and on some of the widths only
_FEW_HOTTEST, _FEW_STEP_MM, _WIDTHS_SHARE = 0.2, 1.0, 0.4
_AGAIN = 4  # every so many starts one from the best so far, or from the first lanes
_FINISH_SHARE = 0.1  # of the work, for putting lanes of all starts together
_GROUPS_SHARE = 0.25  # of the work, for taking groups of bundles apart
_GROUP, _GROUP_STARTS = 16, 5  # pieces in a group, starts for each
_GROUP_FINISH, _GROUP_SECONDS = 10_000_000, 5.0  # for putting the lanes of a group together: work, and the guard
_STARTS = (
    (1.0, 1.0),
    (3.0, 2.0),
)  # share of lane area in the cost where starts begin, and how much hotter they are for it, in turn
_QUICK = 15_000  # work for each piece in the first quick answer


@dataclass(slots=True)
class Search:
    """The search for one problem; it stops early when no more than ``enough`` is drawn, in mm2.

    ``report`` hears of each better nest, by ``hearing`` from one team at a time; ``heard`` is the cost of the last.
    """

    model: Model
    seed: int
    workers: int
    guard: Guard
    report: Callable[[list[Bundle]], None]
    enough: float = 0.0
    near: Near = field(init=False)
    pool: Pool = field(init=False)
    alone: list[Bundle] = field(default_factory=list)
    in_lanes: list[Bundle] = field(default_factory=list)
    best: list[Bundle] = field(default_factory=list)
    best_cost: float = float("inf")
    heard: float = float("inf")
    hearing: Lock = field(default_factory=Lock)

    def __post_init__(self) -> None:
        self.near = Near(self.model.stock)
        self.pool = Pool(self.model)

    def run(self, work: int) -> list[Bundle]:
        """Spend ``work`` units in each worker; return the best bundles found."""
        crew = [new_worker(self.model) for _ in range(self.workers)]
        pieces = len(self.model.start)
        try:
            self.alone = choose_rolls(
                self.model.stock, [single(self.model, p, int(b)) for p, b in enumerate(self.model.start)]
            )
            self._keep(self.alone)
            warm_up(self.model, crew[0], self.best)
            self.guard.begin()
            self.in_lanes = self._greedy()
            self._keep(self.in_lanes)
            whole = Quota(work, 0.0, 1.0)
            with ThreadPoolExecutor(self.workers) as threads:
                endless = self._endless_suffices()
                apart = endless and _GROUP < pieces <= _WHOLE
                first = whole.part(0.0, 1 - _GROUPS_SHARE) if apart else whole
                if pieces <= _WHOLE or not endless:
                    if endless and pieces > _SOME and _TEAMS_SHARE * work * self.workers > ENOUGH_WORK * pieces:
                        self._by_teams(crew, first.part(0.0, _TEAMS_SHARE))
                        first = first.part(_TEAMS_SHARE, 1.0)
                    self._starts(threads, crew, first)
                else:
                    self._by_teams(crew, first)
                if apart:
                    self._groups(threads, crew, whole.part(1 - _GROUPS_SHARE, 1.0))
        except KeyboardInterrupt:
            self.guard.break_off()
        return self.best

    def _keep(self, bundles: list[Bundle]) -> None:
        cost = cost_of(self.model.stock, bundles)
        self.near.add(cost, bundles)
        if cost < self.best_cost:
            self.best, self.best_cost = bundles, cost
            if cost < self.heard:
                self.heard = cost
                self.report(bundles)
            if drawn_of(self.model.stock, bundles) <= self.enough:
                self.guard.stop.set()

    def _endless_suffices(self) -> bool:
        """Tell whether every piece goes on a roll that there is no end of."""
        return all(self.model.stock.capacity[bundle.roll] > COUNTED for bundle in self._alone(self.best))

    def _alone(self, bundles: list[Bundle]) -> list[Bundle]:
        stock = self.model.stock
        counted = stock.capacity < COUNTED
        endless = stock._replace(capacity=np.where(counted, 0, stock.capacity))
        return choose_rolls(endless, [replace(bundle, roll=NONE) for bundle in bundles])

    def _by_teams(self, crew: list[Worker], whole: Quota) -> None:
        """Let all workers make one nest, or where there is work for more than one, make several by teams.

        Where even a single worker has work for more than one, they follow each other. Nests of different seeds differ;
        the best is kept, and their lanes are there for starts that follow.
        """
        pieces = len(self.model.start)
        teams = dealt(crew, pieces, whole.work)
        times = max(1, min(_MOST_TIMES, int(whole.work * len(crew) / (ENOUGH_WORK * pieces * len(teams)))))
        alone = self._alone([single(self.model, int(p), int(self.model.start[p])) for p in self._order()])
        with ThreadPoolExecutor(len(teams)) as leaders:
            for k in range(times):
                part = whole.part(k / times, (k + 1) / times)
                jobs = []
                for t, mine in enumerate(teams):
                    seed = self.seed + TEAM_SEED * (k * len(teams) + t)
                    team = Team(self.model, seed, mine, self.guard, self._heard)
                    jobs.append(leaders.submit(team.run, alone, part))
                for team in self._gather(jobs):
                    for _, bundles in team.near.found:
                        self._keep(bundles)
                    self.pool.join(team.pool)

    def _heard(self, bundles: list[Bundle]) -> bool:
        """Report a nest of a team where it is better; return whether it is good enough to stop."""
        cost = cost_of(self.model.stock, bundles)
        with self.hearing:
            if cost < self.heard:
                self.heard = cost
                self.report(bundles)
        return drawn_of(self.model.stock, bundles) <= self.enough

    def _starts(self, threads: ThreadPoolExecutor, crew: list[Worker], whole: Quota) -> None:
        """Start often from nothing, and put the best together from the lanes of all starts."""
        last = 1 - _FINISH_SHARE
        each = max(_LEAST_START, _START_WORK * len(self.model.start) ** 2)
        self.pool.add(self.alone)
        quick = min(0.05, _QUICK * len(self.model.start) / max(1, whole.work))
        self._keep(self._quickly(crew[0], whole.part(0.0, quick)))
        whole = whole.part(quick, 1.0)
        rounds = max(1, round(last * whole.work / each))
        for r in range(rounds):
            quota = whole.part(last * r / rounds, last * (r + 1) / rounds)
            late = r >= rounds // 2
            jobs = [threads.submit(self._start, crew[w], self.best, r, w, quota, late=late) for w in range(len(crew))]
            for bundles, lanes in self._gather(jobs):
                self._keep(bundles)
                self.pool.join(lanes)
            if r + 1 in (rounds // 2, rounds):
                self._finish(whole)

    def _quickly(self, worker: Worker, quota: Quota) -> list[Bundle]:
        """Return a first answer in a moment, in which pieces face each other; a start takes its time."""
        area = self.model.mean_area
        cooling = Cooling(_WARM * area, _COLD * area, _START_STEP_MM, joints=False)
        nothing = np.zeros(len(self.model.stock.width), dtype=np.int64)
        return anneal_among(self.model, worker, self.in_lanes, nothing, cooling, quota, self.seed, self.guard)

    def _start(
        self, worker: Worker, best: list[Bundle], r: int, w: int, quota: Quota, *, late: bool
    ) -> tuple[list[Bundle], Pool]:
        """Anneal everything from nothing; in one of `_AGAIN` rounds from the best so far, less hot.

        Joints of runs stay where they are at first; late, they move, and half of the starts are from the best so far.
        """
        joints = late and self.model.kinds.table.size > 0
        again = r % _AGAIN == _AGAIN - 1 or (joints and r % 2 == 1)
        few = len(self.model.start) <= _FEW
        hottest, step = (_FEW_HOTTEST, _FEW_STEP_MM) if few and (r + w) % 3 != 2 else (_HOTTEST, _START_STEP_MM)
        cooling = self._one_start(_WARM if again else hottest, step, r // 2 + w, joints=joints, again=again)
        start = best if again else self.in_lanes if (r + w) % _AGAIN == 0 else self.alone
        pool = Pool(self.model)
        nothing = np.zeros(len(self.model.stock.width), dtype=np.int64)
        seed = self.seed * 1009 + 31 * r + w
        stock = None
        if few and not again and self._endless_suffices() and (r + w) % 2:
            stock = self._some_widths(r, w)
            start = choose_rolls(stock, [replace(bundle, roll=NONE) for bundle in start])
        found = anneal_among(self.model, worker, start, nothing, cooling, quota, seed, self.guard, pool, stock)
        if stock is not None:
            found = choose_rolls(self.model.stock, [replace(bundle, roll=NONE) for bundle in found])
        return found, pool

    def _one_start(self, hottest: float, step_mm: float, turn: int, *, joints: bool, again: bool) -> Cooling:
        """Return a start from nothing, of the kind whose turn it is, or (``again``) from the best so far."""
        lanes, hotter = (LANE_SHARE, 1.0) if again else _STARTS[turn % len(_STARTS)]
        area = self.model.mean_area
        return Cooling(hottest * hotter * area, _COLD * area, step_mm, joints, lanes=(lanes, LANE_SHARE))

    def _some_widths(self, r: int, w: int) -> Stock:
        """Return the stock with some of its widths by chance, the widest among them.

        A width that most pieces suit keeps the search from others, which may do better once all pieces are on them.
        """
        stock = self.model.stock
        kept = np.random.default_rng([self.seed, 4243, r, w]).random(len(stock.width)) < _WIDTHS_SHARE
        kept |= stock.width == stock.width.max()
        kept |= stock.length > stock.length[stock.width == stock.width.max()].max()
        return stock._replace(capacity=np.where(kept, stock.capacity, 0), endless=stock.endless & kept)

    def _finish(self, whole: Quota) -> None:
        """Put the best together from a pool, as far as its share of the work goes."""
        work = round(_FINISH_SHARE * whole.work)
        left = self.guard.left_s(whole.closes)
        found = finish(
            self.model, self.pool, self.best, work, self.guard.within(min(left, 2 * work / STEPS_PER_SECOND))
        )
        if found is not None:
            self._keep(found)

    def _groups(self, threads: ThreadPoolExecutor, crew: list[Worker], whole: Quota) -> None:
        """Take some bundles apart at a time, and put their pieces together anew like a small nest."""
        each = max(_LEAST_START, _START_WORK * _GROUP**2) * _GROUP_STARTS
        rounds = max(1, round(whole.work / each))
        for r in range(rounds):
            quota = whole.part(r / rounds, (r + 1) / rounds)
            groups = self._related(r, len(crew))
            rest = [bundle for i, bundle in enumerate(self.best) if not any(i in group for group in groups)]
            jobs = [
                threads.submit(self._anew, crew[w], [self.best[i] for i in group], r, w, quota)
                for w, group in enumerate(groups)
            ]
            self._keep(rest + [bundle for part in self._gather(jobs) for bundle in part])

    def _related(self, r: int, many: int) -> list[list[int]]:
        """Choose disjoint groups of bundles by chance, each of bundles that hold like pieces."""
        rng = np.random.default_rng([self.seed, 7919, r])
        kinds = self.model.kinds
        likeness = np.array(
            [
                self.model.likeness[kinds.group[np.concatenate([lane.pieces for lane in s.lanes])]].mean(axis=0)
                for s in self.best
            ]
        )
        sizes = [sum(len(lane.pieces) for lane in s.lanes) for s in self.best]
        free = list(range(len(self.best)))
        groups: list[list[int]] = []
        for _ in range(many):
            if not free:
                break
            first = free[int(rng.integers(len(free)))]
            away = np.abs(likeness[free] - likeness[first]).sum(axis=1) * rng.uniform(0.3, 1.0, len(free))
            away[free.index(first)] = -1.0
            group: list[int] = []
            for i in (free[k] for k in np.argsort(away, kind="stable").tolist()):
                if group and sum(sizes[j] for j in group) + sizes[i] > _GROUP:
                    continue
                group.append(i)
            groups.append(group)
            free = [i for i in free if i not in group]
        return groups

    def _anew(self, worker: Worker, bundles: list[Bundle], r: int, w: int, quota: Quota) -> list[Bundle]:
        """Put the pieces of some bundles together anew; return the best found, at worst the bundles as they are."""
        model = self.model
        nothing = np.zeros(len(model.stock.width), dtype=np.int64)
        blanks = model.kinds.form_blank
        alone = choose_rolls(
            model.stock,
            [
                single(model, int(piece), int(blanks[code >> 1]))
                for bundle in bundles
                for lane in bundle.lanes
                for piece, code in zip(lane.pieces, lane.codes, strict=True)
            ],
        )
        pool = Pool(model)
        pool.add(bundles)
        best = bundles
        for k in range(_GROUP_STARTS):
            again = k == _GROUP_STARTS - 1
            cooling = self._one_start(_WARM if again else _HOTTEST, _START_STEP_MM, k, joints=True, again=again)
            part = quota.part(k / _GROUP_STARTS, (k + 1) / _GROUP_STARTS)
            seed = self.seed * 1009 + 524287 * r + 31 * k + w
            found = anneal_among(
                model, worker, best if again else alone, nothing, cooling, part, seed, self.guard, pool
            )
            best = min(best, found, key=lambda bundles: cost_of(model.stock, bundles))
        return finish(model, pool, best, _GROUP_FINISH, self.guard.within(_GROUP_SECONDS)) or best

    def _gather(self, jobs: list[Future[T]]) -> list[T]:
        """Wait for jobs; an interruption ends them early, with what they have."""
        try:
            return [job.result() for job in jobs]
        except KeyboardInterrupt:
            self.guard.break_off()
            return [job.result() for job in jobs]

    def _order(self) -> NDArray[np.int64]:
        """Return the pieces in an order that keeps like ones together."""
        kinds = self.model.kinds
        return np.concatenate([np.arange(kinds.piece_at[b], kinds.piece_at[b + 1]) for b in chunk_order(self.model)])

    def _greedy(self) -> list[Bundle]:
        """Return a first nest; pieces go by themselves where counted rolls leave it no room."""
        stock = self.model.stock
        real = len(stock.width) - (1 if stock.capacity.min() < COUNTED else 0)
        wide = int(stock.width[:real].max())
        long = int(stock.length[:real][stock.width[:real] == wide].max())
        return choose_rolls(stock, first_bundles(self.model, self._order().tolist(), wide, long))
