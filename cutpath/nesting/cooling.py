"""A stretch of annealing of some bundles: what one worker has for itself, how heat falls, and its share of the work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from cutpath import sure
from cutpath.nesting.anneal import anneal
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import Bundle, Loaded, Model, new_scratch, put_in, take_out
from cutpath.nesting.pool import Pool
from cutpath.nesting.shifts import FormArrays, Memory, new_memory
from cutpath.nesting.state import Scratch, Stock, Tuning
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.tolerances import CLOSE_RATIO

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SLICE = 250_000  # steps between two looks at the guard
_LATE = 0.1  # share of a cooling by which time may run ahead of work before work is skipped
_LOOKS, _LOOKS_FROM = 80, 0.4  # at the lanes of one start, from this share of it on
_LOOK_WORK = 10_000  # at least, between two looks, so that looking takes little of the time
_JOINTS_EVERY = 8  # moves of joints among all moves, where there are runs
LANE_SHARE = 0.05  # of the area of every lane in the cost


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
    bundle would count, and lanes beside it would stay badly filled. ``longest`` and ``beside`` are `Stock.charge`.
    """

    hot: float
    cold: float
    step_mm: float
    joints: bool
    kept: bool = True
    lanes: tuple[float, float] = (LANE_SHARE, LANE_SHARE)
    longest: float = 1.0
    beside: tuple[float, float] = (0.0, 0.0)

    def at(self, done: float) -> tuple[float, float, float]:
        """Return heat, share of lane area and what strips cost more when a share ``done`` of the cooling is over."""
        (first, last), (dear, cheap) = self.lanes, self.beside
        heat = self.hot * sure.power(self.cold / self.hot, done)
        return heat, first * sure.power(last / first, done), dear + (cheap - dear) * done

    def part(self, before: float, after: float) -> Cooling:
        """Return the stretch from share ``before`` to share ``after`` of this cooling."""
        (hot, lanes, beside), (cold, last, cheap) = self.at(before), self.at(after)
        return replace(self, hot=hot, cold=cold, lanes=(lanes, last), beside=(beside, cheap))


def anneal_among(
    model: Model, worker: Worker, bundles: Sequence[Bundle], elsewhere: NDArray[np.int64], cooling: Cooling,
    quota: Quota, seed: int, guard: Guard, pool: Pool | None = None, stock: Stock | None = None,
) -> list[Bundle]:  # fmt: skip
    """Anneal some bundles among themselves; on ``stock`` where it is given, instead of all that there is.

    Heat falls with the work done, or with the time passed where that is further on. ``pool`` receives the lanes that
    are about while it is no longer hot.
    """
    stock = stock or worker.stock
    loaded = put_in(model, stock, bundles, seed, elsewhere)
    cool(model, worker, stock, loaded, cooling, quota, guard, pool)
    return take_out(loaded)


def cool(
    model: Model, worker: Worker, stock: Stock, loaded: Loaded, cooling: Cooling, quota: Quota, guard: Guard,
    pool: Pool | None = None,
) -> None:  # fmt: skip
    """Anneal what is loaded, as `anneal_among` does."""
    if not cooling.kept:
        stock = stock._replace(worth=np.array([0.0, np.inf]))
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
        (hot, share, beside), (cold, _, _) = cooling.at(done), cooling.at(then)
        stock = stock._replace(charge=np.array([cooling.longest, beside]))
        anneal(
            worker.form_arrays, worker.memory, stock, loaded.kinds, Tuning(share / TICKS_PER_MM**2, step, every),
            loaded.state, worker.scratch, max(1, round(quota.work * (then - done))), hot, cold,
        )  # fmt: skip
        done = then if then < 1.0 - CLOSE_RATIO else 1.0
        if pool is not None and done > _LOOKS_FROM:
            pool.add(take_out(loaded))


def warm_up(model: Model, worker: Worker, bundles: list[Bundle]) -> None:
    """Have everything compiled, or fetched from where compiled code is kept."""
    nothing = np.zeros(len(model.stock.width), dtype=np.int64)
    loaded = put_in(model, worker.stock, bundles, 0, nothing)
    anneal(
        worker.form_arrays, worker.memory, worker.stock, loaded.kinds, Tuning(0.0, 1, 0), loaded.state,
        worker.scratch, 1, 1.0, 1.0,
    )  # fmt: skip
