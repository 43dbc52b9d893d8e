"""One nest that several workers anneal at once: nobody touches another's share, and nobody's speed tells in it."""

from __future__ import annotations

import random
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from cutpath.nesting import together as of_together
from cutpath.nesting.cooling import Cooling, Quota, cool, new_worker
from cutpath.nesting.guard import Guard
from cutpath.nesting.lanes import lay_lane
from cutpath.nesting.model import ROOM, choose_rolls, cost_of, model_of, single, take_out
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.shifts import STOP, WORK
from cutpath.nesting.state import BUNDLES, COUNTED, LANES
from cutpath.nesting.stock import supply_of
from cutpath.nesting.together import Together
from cutpath.values.nest import Roll
from tests.nesting.shapes import plate, problem, skyline, stepped

pytestmark = pytest.mark.nests

WORKERS = 3


def together(workers=WORKERS, seed=1):
    rng = random.Random(5)  # noqa: S311 - chance here makes cases, not secrets
    task = problem(
        stepped("S", 5, quantity=12), stepped("L", 6, left=True, quantity=9), plate("P", 300.0, 90.0, 6),
        *(skyline(rng, f"K{k}") for k in range(9)),
        rolls=(Roll(240.0, 3000.0), Roll(330.0, 6000.0), Roll(330.0, 2500.0, offcut=True, quantity=1)),
    )  # fmt: skip
    spaces = rooms(task)
    model = model_of(task, forms(task), supply_of(task, spaces).stock, spaces)
    alone = choose_rolls(model.stock, [single(model, p, int(b)) for p, b in enumerate(model.start)])
    return Together.of(model, [new_worker(model) for _ in range(workers)], Guard(), alone, seed, 60_000)


def annealed(nest, work=130_000):
    area = nest.model.mean_area
    cooling = Cooling(0.2 * area, 0.01 * area, 2.0, joints=False, lanes=(3.0, 0.05), longest=0.5, beside=(0.5, 0.0))
    with ThreadPoolExecutor(len(nest.crew)) as threads:
        return nest.anneal(threads, cooling, Quota(work, 0.0, 1.0))


def shares_are_apart(nest):
    """Hold that pieces, lanes and bundles belong to one share each, and that each knows what is used of the stock."""
    state = nest.loaded.state
    own = [share.state for share in nest.shares]
    assert np.array_equal(np.sort(np.concatenate([one.own for one in own])), np.arange(len(state.piece_lane)))
    total = np.bincount(
        state.bundle_class[state.bundle_n > 0], state.bundle_length[state.bundle_n > 0], len(nest.model.stock.width)
    )
    lanes, bundles = [], []
    for one in own:
        assert np.array_equal(np.flatnonzero(one.mine), one.own)
        its = np.unique(state.piece_lane[one.own])
        assert one.mine[np.concatenate([state.lane_piece[lane, : state.lane_n[lane]] for lane in its])].all()
        held = np.unique(state.lane_bundle[its])
        assert set(np.concatenate([state.bundle_lane[b, : state.bundle_n[b]] for b in held])) == set(its.tolist())
        for kind, used, every in ((LANES, its, lanes), (BUNDLES, held, bundles)):
            free = one.free[kind, : one.count[kind]].tolist()
            assert len(used) + len(free) == len(one.own) + ROOM
            every += used.tolist() + free
        its_own = np.bincount(state.bundle_class[held], state.bundle_length[held], len(total))
        full = nest.model.stock.capacity
        assert all(u in (t, f + o) for u, t, f, o in zip(one.used, total, full, its_own, strict=True))
    assert sorted(lanes) == list(range(len(state.lane_n)))
    assert sorted(bundles) == list(range(len(state.bundle_n)))
    for entry, capacity in enumerate(nest.model.stock.capacity.tolist()):
        left = [one.used[entry] for one in own if one.used[entry] < min(capacity, COUNTED)]
        assert left == [total[entry]] * (1 if capacity < COUNTED else WORKERS)


def test_shares_stay_apart_from_deal_to_deal():
    nest = together()
    for _ in range(4):
        annealed(nest, 40_000)
        nest._deal()
        shares_are_apart(nest)


def test_all_that_is_annealed_is_in_one_place_and_laid_as_from_nothing():
    nest = together()
    alone = cost_of(nest.model.stock, take_out(nest.loaded))
    found = annealed(nest)
    assert sorted(p for bundle in found for lane in bundle.lanes for p in lane.pieces) == list(
        range(len(nest.model.start))
    )
    for bundle in found:
        assert bundle.across <= nest.model.stock.width[bundle.roll]
        for lane in bundle.lanes:
            n = len(lane.codes)
            room = [np.zeros(n, dtype=np.int64) for _ in range(3)]
            worker = nest.crew[0]
            long = lay_lane(worker.form_arrays, worker.memory, lane.codes, n, 0, lane.height, 1 << 40, *room)
            assert (long, room[0].tolist()) == (lane.length, lane.xs.tolist())
    assert cost_of(nest.model.stock, found) < 0.8 * alone


@pytest.mark.parametrize("workers", [1, 2, 5])
def test_what_comes_of_it_does_not_depend_on_who_is_faster(workers):
    runs = [
        [(bundle.roll, [(lane.codes.tolist(), lane.pieces.tolist()) for lane in bundle.lanes]) for bundle in found]
        for found in (annealed(together(workers)) for _ in range(2))
    ]
    assert runs[0] == runs[1]


def test_workers_for_whom_there_are_too_few_bundles_have_nothing_to_do():
    nest = together(9)
    before = len(annealed(nest, 40_000))
    found = annealed(nest, 80_000)
    nest._deal()
    assert before > len(found) < 2 * 9
    assert [bool(share.state.own.size) for share in nest.shares] == [w < len(found) // 2 for w in range(9)]
    assert sum(len(lane.pieces) for bundle in found for lane in bundle.lanes) == len(nest.model.start)


class _Clock(Guard):
    """A clock that stands still."""

    at = 0.0

    def share(self) -> float:
        return self.at


def _by_steps_of_two_kinds(monkeypatch, at, long):
    """Anneal one stretch in which the first worker has 1,000 steps and each other so many; return what they took."""
    nest = together()
    nest.guard = _Clock()
    nest.guard.at = at

    def uneven(model, worker, stock, share, cooling, quota, guard):
        work = 1_000 if worker is nest.crew[0] else long
        cool(model, worker, stock, share, cooling, Quota(work, 0.0, 1.0), guard)

    monkeypatch.setattr(of_together, "cool", uneven)
    annealed(nest, nest.stretch)
    assert not any(worker.memory.count[STOP] for worker in nest.crew)
    nest._deal()
    return nest, [int(worker.memory.count[WORK]) for worker in nest.crew[1:]]


def test_nobody_waits_for_the_slowest_share_once_the_clock_is_ahead(monkeypatch):
    nest, taken = _by_steps_of_two_kinds(monkeypatch, 0.05, 100_000_000)
    assert max(taken) < 100_000_000
    shares_are_apart(nest)


def test_all_wait_for_each_other_while_the_work_is_ahead(monkeypatch):
    _, taken = _by_steps_of_two_kinds(monkeypatch, 0.0, 400_000)
    assert min(taken) >= 400_000


def test_a_stretch_whose_time_is_over_is_passed_over():
    nest = together()
    nest.guard = _Clock()
    nest.guard.at = 0.6  # of two stretches, the first should be done by 0.5
    annealed(nest, 2 * nest.stretch)
    assert nest.deals == 1
