"""One nest that several workers anneal at once: its lanes and bundles are the same arrays for all of them.

Each worker moves the pieces of some of the bundles, and neither reads nor writes what is another's, so that what they
come to does not depend on which of them is faster. Pieces of different shares do not meet until bundles are dealt out
anew, which costs as much as it takes long: so that is done often, in place (measured: EXPERIMENTS.md). Only where the
clock is ahead of the work does speed tell: then nobody waits for the slowest share.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from cutpath.nesting.cooling import Cooling, Quota, Worker, cool
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import ROOM, Bundle, Loaded, Model, first_chance, put_in, take_out, used_in_shares
from cutpath.nesting.shifts import STOP
from cutpath.nesting.state import BUNDLES, LANES, NONE, Stock

_LEAST_BUNDLES = 2  # for each worker that has any: a bundle by itself has nothing to change with


@dataclass(slots=True)
class Together:
    """A nest in the arrays of the search, and the share that each of the crew has of it.

    ``stretch`` is how many steps each of them takes between two deals.
    """

    model: Model
    crew: Sequence[Worker]
    guard: Guard
    seed: int
    loaded: Loaded
    shares: list[Loaded]
    stretch: int
    deals: int = 0

    @classmethod
    def of(
        cls, model: Model, crew: Sequence[Worker], guard: Guard, bundles: Sequence[Bundle], seed: int, stretch: int
    ) -> Together:
        """Return bundles, which are all of the nest, as one that a crew anneals at once."""
        nothing = np.zeros(len(model.stock.width), dtype=np.int64)
        loaded = put_in(model, model.stock, bundles, seed, nothing, len(crew))
        shares = []
        for w in range(len(crew)):
            count = np.array([0, 0, first_chance(seed + w), 0], dtype=np.int64)
            state = loaded.state._replace(
                used=loaded.state.used.copy(), free=loaded.state.free.copy(), count=count, mine=loaded.state.mine.copy()
            )
            shares.append(replace(loaded, state=state))
        return cls(model, crew, guard, seed, loaded, shares, stretch)

    def anneal(
        self, threads: ThreadPoolExecutor, cooling: Cooling, quota: Quota, stock: Stock | None = None
    ) -> list[Bundle]:
        """Anneal with so much work for each worker; return the bundles as they then are.

        Where ``stock`` is given, costs are those of it; its entries are the model's.
        """
        times = max(1, round(quota.work / self.stretch)) if len(self.crew) > 1 else 1
        for k in range(times):
            if self.guard.left_s() <= 0.0:
                break
            stretch, part = cooling.part(k / times, (k + 1) / times), quota.part(k / times, (k + 1) / times)
            passed = self.guard.share()
            if passed >= part.closes:
                continue
            self._deal()
            late = passed > part.opens
            first, *others = (
                partial(self._anneal_share, worker, stock or worker.stock, share, stretch, part, late=late)
                for worker, share in zip(self.crew, self.shares, strict=True)
                if share.state.own.size
            )
            jobs = [threads.submit(other) for other in others]
            first()
            for job in jobs:
                job.result()
            for worker in self.crew:
                worker.memory.count[STOP] = 0
        return take_out(self.loaded)

    def _anneal_share(
        self, worker: Worker, stock: Stock, share: Loaded, cooling: Cooling, quota: Quota, *, late: bool
    ) -> None:
        """Anneal a share; where the clock is ahead of the work, whoever is through first stops the others."""
        cool(self.model, worker, stock, share, cooling, quota, self.guard)
        if late:
            for each in self.crew:
                each.memory.count[STOP] = 1

    def _deal(self) -> None:
        """Deal bundles out by chance, and with them their pieces, what is free, and what is left of counted rolls."""
        state = self.loaded.state
        taken = np.flatnonzero(state.bundle_n)
        many = max(1, min(len(self.crew), len(taken) // _LEAST_BUNDLES))
        order = np.random.default_rng([self.seed, self.deals]).permutation(taken)
        of_bundle = np.full(len(state.bundle_n), NONE, dtype=np.int64)
        for w, part in enumerate(np.array_split(order, many)):
            of_bundle[part] = w
        of_lane = np.where(state.lane_bundle == NONE, NONE, of_bundle[state.lane_bundle])
        of_piece = of_lane[state.piece_lane]
        lanes, bundles = np.flatnonzero(of_lane == NONE), np.flatnonzero(of_bundle == NONE)
        stock = self.model.stock
        length = np.zeros((many, len(stock.width)), dtype=np.int64)
        np.add.at(length, (of_bundle[taken], state.bundle_class[taken]), state.bundle_length[taken])
        used = used_in_shares(stock, length, self.deals)
        for w, share in enumerate(self.shares):
            own = share.state
            np.equal(of_piece, w, out=own.mine)
            pieces = np.flatnonzero(own.mine)
            own.used[:] = used[min(w, many - 1)]  # who has no share needs none
            for kind, free, has in (
                (LANES, lanes, np.count_nonzero(of_lane == w)), (BUNDLES, bundles, np.count_nonzero(of_bundle == w)),
            ):  # fmt: skip
                wants = len(pieces) + ROOM - has
                own.free[kind, :wants] = free[:wants]
                own.count[kind] = wants
                if kind == LANES:
                    lanes = free[wants:]
                else:
                    bundles = free[wants:]
            self.shares[w] = replace(share, state=own._replace(own=pieces))
        self.deals += 1
