"""A nest of many pieces by a team of workers: chunks of like pieces first, which are then joined and cooled.

In a chunk (same hand and near pitch) good partners meet soon. Joined, all workers anneal one nest (`together`).

Three things cost more at first than in the end, or less, so that the search does not settle too early:

* The area of every lane counts. In the cost proper only the longest lane of a bundle does, so that a badly filled lane
  beside it, which is most of what is lost, would stay as it is.
* A bundle is charged by the mean length of its lanes: were it the longest at once, a lane could only join a bundle
  where it is full from end to end, and what fills a roll's width best would never be found. The longest counts more
  and more as chunks are joined and cooled.
* The strip beside the lanes of a bundle costs more than its price. Filling it takes pieces out of lanes all over the
  nest, of which there are fewer ways than of leaving it empty, so that heat alone would empty it again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from cutpath import sure
from cutpath.nesting.cooling import Cooling, Quota, Worker, anneal_among
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import Bundle, Model, cost_of, used_by, used_in_shares
from cutpath.nesting.near import Near
from cutpath.nesting.pool import Pool
from cutpath.nesting.together import Together

T = TypeVar("T")

TEAM_SEED = 7_000_003  # between the seeds of teams
ENOUGH_WORK = 600_000  # of a nest for each piece; with more it hardly gains
_LEAST_SHARE = 64  # pieces for each worker of a team
_ROUND = 2_000_000  # steps for each round of joined chunks
_LEAST_ROUNDS, _MOST_ROUNDS = 4, 40
_STRETCH = 120_000  # steps of each worker between two deals: measured, EXPERIMENTS.md
_CHUNK = 66  # pieces annealed together at first, or fewer: each worker has a chunk at least
_CHUNK_SHARE = 0.4  # of the work
_HOT, _CHUNK_COLD = 0.5, 0.04  # heat as a share of the mean area of a piece, while lanes count `_LANES_FIRST` times
_JOINED, _JOINED_COLD = 0.03, 0.007  # below that, 200 pieces and more hardly change
_QUICK, _QUICK_HOT, _QUICK_COLD = 15_000, 0.02, 0.004  # work for each piece in the first quick answer, and its heat
_LONGEST_FROM = 0.8  # of the cooling on, only the longest lane of a bundle counts; before that, lanes at their mean
_BESIDE, _BESIDE_UNTIL = 0.25, 0.9  # share by which strips cost more than their price, falling to 0 so far into it
_KEPT_FROM = 0.75  # of the cooling on, what is kept is worth something
_SLOW_UNTIL, _SLOW_SHARE = 0.6, 0.8  # of the cooling, in so much of the rounds: later on nests hardly change
_POOL_FROM = 2 / 3  # of the cooling on, lanes are remembered
_STEPS_MM = (4.0, 2.0, 0.5)  # of lane widths: in chunks, and in the first and the second half of the cooling
_LANES_FIRST = 3.0  # of the area of every lane in the cost while chunks are annealed


def dealt(crew: Sequence[T], pieces: int, work: int) -> list[Sequence[T]]:
    """Deal workers that have so much work each out to teams.

    There are as many teams as there is work for nests that more work would hardly better, and no more workers in one
    than have enough pieces each to find partners among.
    """
    by_work = int(work * len(crew) / (ENOUGH_WORK * max(1, pieces)))
    by_share = -(-_LEAST_SHARE * len(crew) // max(1, pieces))
    count = max(1, min(len(crew), max(by_work, by_share)))
    return [crew[t::count] for t in range(count)]


def _cooled(share: float) -> float:
    """Return how much of the cooling is over when a share of the rounds is."""
    if share < _SLOW_SHARE:
        return share * _SLOW_UNTIL / _SLOW_SHARE
    return _SLOW_UNTIL + (share - _SLOW_SHARE) * (1.0 - _SLOW_UNTIL) / (1.0 - _SLOW_SHARE)


def _beside(done: float) -> float:
    """Return what strips cost more when a share ``done`` of the cooling is over."""
    return _BESIDE * max(0.0, 1.0 - done / _BESIDE_UNTIL)


@dataclass(slots=True)
class Team:
    """A nest of its own by some of the workers.

    ``better`` hears of every nest, and tells whether it is good enough to stop. ``near`` holds the best so far and
    those next to it, ``pool`` the lanes of the last rounds.
    """

    model: Model
    seed: int
    crew: Sequence[Worker]
    guard: Guard
    better: Callable[[list[Bundle]], bool]
    near: Near = field(init=False)
    pool: Pool = field(init=False)

    def __post_init__(self) -> None:
        self.near = Near(self.model.stock)
        self.pool = Pool(self.model)

    def run(self, alone: Sequence[Bundle], whole: Quota) -> Team:
        """Nest ``alone``, single pieces of which like ones stand together; return the team itself."""
        with ThreadPoolExecutor(len(self.crew)) as threads:
            for bundles in self._stages(threads, alone, whole):
                self.near.add(cost_of(self.model.stock, bundles), bundles)
                if self.better(bundles):
                    break
        return self

    def _stages(self, threads: ThreadPoolExecutor, alone: Sequence[Bundle], whole: Quota) -> Iterator[list[Bundle]]:
        area = self.model.mean_area
        count = max(len(self.crew), -(-len(alone) // _CHUNK))
        chunks = [[alone[int(i)] for i in part] for part in np.array_split(np.arange(len(alone)), count)]
        quick = min(0.05, _QUICK * len(alone) / len(self.crew) / max(1, whole.work))
        cooling = Cooling(_QUICK_HOT * area, _QUICK_COLD * area, _STEPS_MM[0], joints=False, kept=False)
        yield self._in_parallel(threads, chunks, cooling, whole.part(0.0, quick), 0)
        cooling = Cooling(
            _HOT * area, _CHUNK_COLD * area, _STEPS_MM[0], joints=False, kept=False,
            lanes=(_LANES_FIRST, _LANES_FIRST), longest=0.0,
        )  # fmt: skip
        bundles = self._in_parallel(threads, chunks, cooling, whole.part(quick, _CHUNK_SHARE), 1)
        yield bundles
        rounds = max(_LEAST_ROUNDS, min(_MOST_ROUNDS, round(whole.work / _ROUND)))
        joined = whole.part(_CHUNK_SHARE, 1.0)
        falls = _JOINED_COLD / _JOINED
        nest = Together.of(self.model, self.crew, self.guard, bundles, self.seed, _STRETCH)
        for r in range(rounds):
            done, then = _cooled(r / rounds), _cooled((r + 1) / rounds)
            cooling = Cooling(
                _JOINED * area * sure.power(falls, done), _JOINED * area * sure.power(falls, then),
                _STEPS_MM[1 if done < 0.5 else 2],
                joints=True, kept=done >= _KEPT_FROM, longest=float(np.square(min(1.0, done / _LONGEST_FROM))),
                beside=(_beside(done), _beside(then)),
            )  # fmt: skip
            bundles = nest.anneal(threads, cooling, joined.part(r / rounds, (r + 1) / rounds))
            if done >= _POOL_FROM:
                self.pool.add(bundles)
            yield bundles

    def _in_parallel(
        self, threads: ThreadPoolExecutor, parts: list[list[Bundle]], cooling: Cooling, quota: Quota, turn: int
    ) -> list[Bundle]:
        """Anneal parts, each worker its share one after another; work is shared out by pieces."""
        sizes = [sum(len(lane.codes) for bundle in part for lane in bundle.lanes) for part in parts]
        own = np.stack([used_by(self.model.stock, part) for part in parts])
        elsewhere = used_in_shares(self.model.stock, own, turn) - own

        def go(w: int) -> list[Bundle]:
            mine = range(w, len(parts), len(self.crew))
            total = sum(sizes[i] for i in mine)
            out: list[Bundle] = []
            done = 0
            for i in mine:
                seed = self.seed * 1009 + turn * 131 + i
                part = quota.part(done / total, (done + sizes[i]) / total)
                out += anneal_among(self.model, self.crew[w], parts[i], elsewhere[i], cooling, part, seed, self.guard)
                done += sizes[i]
            return out

        jobs = [threads.submit(go, w) for w in range(len(self.crew))]
        return [bundle for job in jobs for bundle in job.result()]
