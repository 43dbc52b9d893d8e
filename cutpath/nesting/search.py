"""The search: staged annealing on two threads, all of it counted in work; time is at most a guard.

Pieces are annealed first in chunks of like ones (same hand and near pitch), where good partners meet soon. The
chunks are then joined and cooled; in each round the bundles are dealt out to the workers anew, so that all cores work
on disjoint parts of one nest. Fewer pieces are annealed as one from many short starts instead, and then some bundles
at a time. The lanes that were about are put together exactly in the end (`finish`). Joints of runs move once the even
division is well nested.

At first the area of every lane counts. In the cost proper only the longest lane of a bundle does, so that a badly
filled lane beside it, which is most of what is lost, would stay as it is. And at first a bundle is charged by the mean
length of its lanes: were it the longest at once, a lane could only join a bundle where it is full from end to end, and
what fills a roll's width best would never be found. The longest counts more and more as chunks are joined and cooled.

Determinism: the same problem, work, seed and workers give the same nest. What the threads found is merged in a fixed
order, each with a memory of its own, and no clock is read. Where the budget is seconds, they are turned into work by
`STEPS_PER_SECOND`, which ordinary machines surpass. On a machine that is too slow or too busy for that, heat falls with
the time that has passed, so that the search still ends cold and in time; the nest is sound, but may then differ from
run to run.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from cutpath.nesting.anneal import anneal
from cutpath.nesting.finish import Pool, finish
from cutpath.nesting.greedy import first_bundles
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import (
    Bundle,
    Model,
    choose_rolls,
    chunk_order,
    cost_of,
    drawn_of,
    new_scratch,
    put_in,
    single,
    take_out,
    used_by,
)
from cutpath.nesting.shifts import FormArrays, Memory, new_memory
from cutpath.nesting.state import COUNTED, NONE, Scratch, Stock, Tuning
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import STEPS_PER_SECOND

if TYPE_CHECKING:
    from numpy.typing import NDArray

T = TypeVar("T")

_SLICE = 250_000  # steps between two looks at the guard
_ROUND = 2_000_000  # steps for each round of joined chunks, with at least 4 rounds and at most 40
_LATE = 0.1  # share of a cooling by which time may run ahead of work before work is skipped
_WHOLE = 80  # up to so many pieces are annealed as one, from many starts
_CHUNK = 66  # pieces annealed together at first
_CHUNK_SHARE = 0.4  # of the work
_HOT, _CHUNK_COLD = 0.5, 0.04  # heat as a share of the mean area of a piece, while lanes count `_LANES_FIRST` times
_JOINED, _JOINED_COLD = 0.03, 0.007  # below that, 200 pieces and more hardly change
_LONGEST_FROM = 0.8  # of the rounds on, only the longest lane of a bundle counts; before that, lanes at their mean
_START_WORK = 1_500  # in one of many starts, times the square of the number of pieces
_LEAST_START = 100_000
_HOTTEST, _WARM, _COLD = 0.5, 0.05, 0.0008  # heat of a start from nothing, from the best so far, and at the end
_START_STEP_MM = 6.0  # of lane widths
_FEW = 16  # up to so many pieces are also started less hot with finer widths, and on some of the widths only
_FEW_HOTTEST, _FEW_STEP_MM, _WIDTHS_SHARE = 0.2, 1.0, 0.4
_AGAIN = 4  # every so many starts one from the best so far, or from the first lanes
_LOOKS, _LOOKS_FROM = 80, 0.4  # at the lanes of one start, from this share of it on
_LOOK_WORK = 10_000  # at least, between two looks, so that looking takes little of the time
_JOINTS_EVERY = 8  # moves of joints among all moves, where there are runs
_FINISH_SHARE = 0.1  # of the work, for putting lanes of all starts together
_GROUPS_SHARE = 0.25  # of the work, for taking groups of bundles apart
_GROUP, _GROUP_STARTS = 16, 5  # pieces in a group, starts for each
_GROUP_FINISH, _GROUP_SECONDS = 10_000_000, 5.0  # for putting the lanes of a group together: work, and the guard
_STEPS_MM = (4.0, 2.0, 0.5)  # of lane widths: hot, cooler, cold
_LANE_SHARE = 0.05  # of the area of every lane in the cost
_LANES_FIRST = 3.0  # the same while chunks are annealed
_STARTS = ((1.0, 1.0), (3.0, 2.0))  # the same where starts begin, and how much hotter they are for it, in turn
_QUICK = 3000  # work for each piece in the first quick answer


@dataclass(frozen=True, slots=True)
class Quota:
    """Work for one worker, and the shares of the guard's seconds between which it should be done."""

    work: int
    opens: float
    closes: float

    def part(self, before: float, after: float) -> Quota:
        """Return the stretch from share ``before`` to share ``after`` of this quota."""
        long = self.closes - self.opens
        return Quota(round(self.work * (after - before)), self.opens + long * before, self.opens + long * after)


@dataclass(slots=True)
class Worker:
    """What one thread has for itself: memory of intervals, scratch lanes, and copies of what all read."""

    memory: Memory
    scratch: Scratch
    form_arrays: FormArrays
    stock: Stock


def new_worker(model: Model) -> Worker:
    """Return a worker; copies keep threads from counting references on the same arrays."""
    pieces = len(model.start)
    shapes = FormArrays._make(array.copy() for array in model.form_arrays)
    stock = Stock._make(array.copy() for array in model.stock)
    return Worker(new_memory(min(20, 13 + pieces.bit_length())), new_scratch(model), shapes, stock)


@dataclass(frozen=True, slots=True)
class Cooling:
    """A stretch of annealing: from ``hot`` to ``cold`` in mm2, and the step of lane widths in mm.

    ``joints`` tells whether joints of runs move, ``kept`` whether what is kept is worth anything. ``lanes`` is the
    share of lane area in the cost at first and at the end: were it small from the start, only the longest lane of a
    bundle would count, and lanes beside it would stay badly filled. ``longest`` is `Stock.longest`.
    """

    hot: float
    cold: float
    step_mm: float
    joints: bool
    kept: bool = True
    lanes: tuple[float, float] = (_LANE_SHARE, _LANE_SHARE)
    longest: float = 1.0

    def at(self, done: float) -> tuple[float, float]:
        """Return the heat and the share of lane area when a share ``done`` of the cooling is over."""
        first, last = self.lanes
        return self.hot * (self.cold / self.hot) ** done, first * (last / first) ** done


def anneal_among(
    model: Model, worker: Worker, bundles: Sequence[Bundle], elsewhere: NDArray[np.int64], cooling: Cooling,
    quota: Quota, seed: int, guard: Guard, pool: Pool | None = None, stock: Stock | None = None,
) -> list[Bundle]:  # fmt: skip
    """Anneal some bundles among themselves; on ``stock`` where it is given, instead of all that there is.

    Heat falls with the work done, or with the time passed where that is further on. ``pool`` receives the lanes that
    are about while it is no longer hot.
    """
    stock = (stock or worker.stock)._replace(longest=np.array([cooling.longest]))
    if not cooling.kept:
        stock = stock._replace(worth=np.array([0.0, np.inf]))
    loaded = put_in(model, stock, bundles, seed, elsewhere)
    every = _JOINTS_EVERY if cooling.joints and model.kinds.table.size else 0
    step = max(1, round(cooling.step_mm * TICKS_PER_MM))
    slices = max(1, round(quota.work / _SLICE), 0 if pool is None else min(_LOOKS, quota.work // _LOOK_WORK))
    done = 0.0
    while done < 1.0:
        passed = (guard.share() - quota.opens) / (quota.closes - quota.opens)
        if passed > done + max(_LATE, 1.0 / slices):
            done = passed
        if done >= 1.0:
            break
        then = min(1.0, done + 1.0 / slices)
        (hot, share), (cold, _) = cooling.at(done), cooling.at(then)
        anneal(
            worker.form_arrays, worker.memory, stock, loaded.kinds, Tuning(share / TICKS_PER_MM**2, step, every),
            loaded.state, worker.scratch, max(1, round(quota.work * (then - done))), hot, cold,
        )  # fmt: skip
        done = then if then < 1.0 - 1e-9 else 1.0
        if pool is not None and done > _LOOKS_FROM:
            pool.add(take_out(loaded))
    return take_out(loaded)


@dataclass(slots=True)
class Search:
    """The search for one problem; it stops early when no more than ``enough`` is drawn, in mm2."""

    model: Model
    seed: int
    workers: int
    guard: Guard
    report: Callable[[list[Bundle]], None]
    enough: float = 0.0
    alone: list[Bundle] = field(default_factory=list)
    in_lanes: list[Bundle] = field(default_factory=list)
    best: list[Bundle] = field(default_factory=list)
    best_cost: float = float("inf")

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
                    self._starts(threads, crew, first)
                else:
                    self._chunks_first(threads, crew, first)
                if apart:
                    self._groups(threads, crew, whole.part(1 - _GROUPS_SHARE, 1.0))
        except KeyboardInterrupt:
            self.guard.break_off()
        return self.best

    def _keep(self, bundles: list[Bundle]) -> None:
        cost = cost_of(self.model.stock, bundles)
        if cost < self.best_cost:
            self.best, self.best_cost = bundles, cost
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

    def _chunks_first(self, threads: ThreadPoolExecutor, crew: list[Worker], whole: Quota) -> None:
        area = self.model.mean_area
        pool = Pool(self.model)
        chunks = self._chunks()
        quick = min(0.05, _QUICK * len(self.model.start) / len(crew) / max(1, whole.work))
        cooling = Cooling(0.02 * area, 0.004 * area, _STEPS_MM[0], joints=False, kept=False)
        self._keep(self._in_parallel(threads, crew, chunks, cooling, whole.part(0.0, quick), 0))
        lanes = _LANES_FIRST, _LANES_FIRST
        cooling = Cooling(
            _HOT * area, _CHUNK_COLD * area, _STEPS_MM[0], joints=False, kept=False, lanes=lanes, longest=0.0
        )
        bundles = self._in_parallel(threads, crew, chunks, cooling, whole.part(quick, _CHUNK_SHARE), 1)
        self._keep(bundles)
        rounds = max(4, min(40, round(whole.work / _ROUND)))
        hot, cold = _JOINED * area, _JOINED_COLD * area
        for r in range(rounds):
            cooling = Cooling(
                hot * (cold / hot) ** (r / rounds), hot * (cold / hot) ** ((r + 1) / rounds),
                _STEPS_MM[1] if r < rounds // 2 else _STEPS_MM[2], joints=True,
                kept=r >= rounds * 3 // 4, longest=min(1.0, r / (_LONGEST_FROM * rounds)) ** 2,
            )  # fmt: skip
            quota = whole.part(
                _CHUNK_SHARE + (1 - _CHUNK_SHARE) * r / rounds,
                _CHUNK_SHARE + (1 - _CHUNK_SHARE) * (r + 1) / rounds,
            )
            bundles = self._in_parallel(threads, crew, self._deal(bundles, r), cooling, quota, r + 2)
            self._keep(bundles)
            if r >= rounds * 2 // 3:
                pool.add(bundles)
        self._finish(pool, whole)

    def _starts(self, threads: ThreadPoolExecutor, crew: list[Worker], whole: Quota) -> None:
        """Start often from nothing, and put the best together from the lanes of all starts."""
        last = 1 - _FINISH_SHARE
        each = max(_LEAST_START, _START_WORK * len(self.model.start) ** 2)
        pool = Pool(self.model)
        pool.add(self.alone)
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
                pool.join(lanes)
            if r + 1 in (rounds // 2, rounds):
                self._finish(pool, whole)

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
        lanes, hotter = (_LANE_SHARE, 1.0) if again else _STARTS[turn % len(_STARTS)]
        area = self.model.mean_area
        return Cooling(hottest * hotter * area, _COLD * area, step_mm, joints, lanes=(lanes, _LANE_SHARE))

    def _some_widths(self, r: int, w: int) -> Stock:
        """Return the stock with some of its widths by chance, the widest among them.

        A width that most pieces suit keeps the search from others, which may do better once all pieces are on them.
        """
        stock = self.model.stock
        kept = np.random.default_rng([self.seed, 4243, r, w]).random(len(stock.width)) < _WIDTHS_SHARE
        kept |= stock.width == stock.width.max()
        kept |= stock.length > stock.length[stock.width == stock.width.max()].max()
        return stock._replace(capacity=np.where(kept, stock.capacity, 0), endless=stock.endless & kept)

    def _finish(self, pool: Pool, whole: Quota) -> None:
        """Put the best together from a pool, as far as its share of the work goes."""
        work = round(_FINISH_SHARE * whole.work)
        left = self.guard.left_s(whole.closes)
        found = finish(self.model, pool, self.best, work, self.guard.within(min(left, 2 * work / STEPS_PER_SECOND)))
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

    def _chunks(self) -> list[list[Bundle]]:
        order = self._order()
        count = max(1, round(len(order) / _CHUNK))
        bundles = self._alone([single(self.model, int(p), int(self.model.start[p])) for p in order])
        return [[bundles[int(i)] for i in part] for part in np.array_split(np.arange(len(bundles)), count)]

    def _deal(self, bundles: list[Bundle], turn: int) -> list[list[Bundle]]:
        """Deal bundles out to the workers, each time otherwise."""
        rng = np.random.default_rng([self.seed, turn])
        order = rng.permutation(len(bundles))
        return [[bundles[i] for i in part] for part in np.array_split(order, self.workers) if len(part)]

    def _elsewhere(self, parts: list[list[Bundle]], turn: int) -> list[NDArray[np.int64]]:
        """Return for each part what the others use of the stock; what is left of a counted roll goes to one part."""
        stock = self.model.stock
        each = [used_by(stock, part) for part in parts]
        total = np.sum(each, axis=0)
        entries = np.arange(len(total))
        full = np.minimum(stock.capacity, COUNTED)
        counted = stock.capacity < COUNTED
        return [
            np.where(counted & ((entries + turn) % len(parts) != i), full, total) - own for i, own in enumerate(each)
        ]

    def _in_parallel(
        self, threads: ThreadPoolExecutor, crew: list[Worker], parts: list[list[Bundle]], cooling: Cooling,
        quota: Quota, turn: int,
    ) -> list[Bundle]:  # fmt: skip
        """Anneal parts, each worker its share one after another; work is shared out by pieces."""
        sizes = [sum(len(lane.codes) for bundle in part for lane in bundle.lanes) for part in parts]
        elsewhere = self._elsewhere(parts, turn)

        def go(w: int) -> list[Bundle]:
            mine = range(w, len(parts), len(crew))
            total = sum(sizes[i] for i in mine)
            out: list[Bundle] = []
            done = 0
            for i in mine:
                seed = self.seed * 1009 + turn * 131 + i
                part = quota.part(done / total, (done + sizes[i]) / total)
                out += anneal_among(self.model, crew[w], parts[i], elsewhere[i], cooling, part, seed, self.guard)
                done += sizes[i]
            return out

        results = self._gather([threads.submit(go, w) for w in range(len(crew))])
        return [bundle for found in results for bundle in found]


def warm_up(model: Model, worker: Worker, bundles: list[Bundle]) -> None:
    """Have everything compiled, or fetched from where compiled code is kept."""
    nothing = np.zeros(len(model.stock.width), dtype=np.int64)
    loaded = put_in(model, worker.stock, bundles, 0, nothing)
    anneal(
        worker.form_arrays, worker.memory, worker.stock, loaded.kinds, Tuning(0.0, 1, 0), loaded.state,
        worker.scratch, 1, 1.0, 1.0,
    )  # fmt: skip
