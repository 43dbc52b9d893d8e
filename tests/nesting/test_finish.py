"""The exact finish against trying everything."""

from __future__ import annotations

import random
from itertools import combinations

import numpy as np
import pytest

from cutpath.nesting.finish import finish
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import Bundle, Lane, choose_rolls, cost_of, model_of, single
from cutpath.nesting.pool import Pool
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.stock import supply_of
from cutpath.values.nest import Roll
from tests.nesting.shapes import plate, problem

pytestmark = pytest.mark.nests

WIDTHS = (200.0, 300.0, 450.0)


def model(task):
    ways, spaces = forms(task), rooms(task)
    return model_of(task, ways, supply_of(task, spaces).stock, spaces)


def alone(known):
    return choose_rolls(known.stock, [single(known, p, int(b)) for p, b in enumerate(known.start)])


def partitions(items):
    if not items:
        yield []
        return
    head, rest = items[0], items[1:]
    for size in range(len(rest) + 1):
        for others in combinations(rest, size):
            left = [i for i in rest if i not in others]
            for part in partitions(left):
                yield [[head, *others], *part]


@pytest.mark.parametrize("seed", range(6))
def test_lanes_are_put_side_by_side_as_cheaply_as_trying_all(seed):
    rng = random.Random(seed)  # noqa: S311 - chance here makes cases, not secrets
    sizes = [(rng.randrange(400, 1200, 50), rng.randrange(60, 210, 10)) for _ in range(7)]
    task = problem(
        *(plate(f"P{i}", float(a), float(b)) for i, (a, b) in enumerate(sizes)),
        rolls=tuple(Roll(w, 6000.0) for w in WIDTHS),
    )
    known = model(task)
    least = min(
        sum(
            min((w for w in WIDTHS if w >= sum(sizes[i][1] for i in group)), default=1e9)
            * max(sizes[i][0] for i in group)
            for group in part
        )
        for part in partitions(list(range(7)))
    )
    best = alone(known)
    found = finish(known, Pool(known), best, 40_000_000, Guard()) or best
    assert cost_of(known.stock, found) == pytest.approx(least)
    assert sorted(int(p) for s in found for lane in s.lanes for p in lane.pieces) == list(range(7))


def test_copies_beyond_those_wanted_are_left_out():
    task = problem(plate("A", 800.0, 100.0, 3), rolls=(Roll(200.0, 6000.0),))
    known = model(task)
    one = alone(known)[0].lanes[0]
    two = Lane(np.repeat(one.codes, 2), np.array([0, 1]), np.array([0, one.length]), one.height, 2 * one.length)
    pool = Pool(known)
    pool.add([Bundle((two,))])
    found = finish(known, pool, alone(known), 40_000_000, Guard())
    assert found is not None
    assert cost_of(known.stock, found) == pytest.approx(200.0 * 1600.0)
    assert sorted(int(p) for s in found for lane in s.lanes for p in lane.pieces) == [0, 1, 2]


def test_nothing_better_is_none():
    task = problem(plate("A", 800.0, 200.0, 2), rolls=(Roll(200.0, 6000.0),))
    known = model(task)
    assert finish(known, Pool(known), alone(known), 40_000_000, Guard()) is None


def test_rolls_that_are_counted_are_not_overdrawn():
    task = problem(plate("A", 1000.0, 150.0, 4), rolls=(Roll(300.0, 2500.0, 1), Roll(150.0, 6000.0)))
    known = model(task)
    found = finish(known, Pool(known), alone(known), 40_000_000, Guard())
    used = np.zeros(len(known.stock.width))
    for s in found or alone(known):
        used[s.roll] += s.length
    assert (used <= known.stock.capacity).all()
