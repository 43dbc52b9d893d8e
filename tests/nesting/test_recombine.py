"""Whole rolls from a pool of lanes: the knapsack against trying all, the relaxation, and parts of it."""

from __future__ import annotations

import random
from collections import Counter
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.nesting.guard import Guard
from cutpath.nesting.knapsack import NOTHING, Knapsack, best_up_to
from cutpath.nesting.model import Bundle, choose_rolls, model_of, single
from cutpath.nesting.opened import Opened, Shop
from cutpath.nesting.outlay import Outlay
from cutpath.nesting.pool import Pool
from cutpath.nesting.recombine import part_of, relax
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.stock import supply_of
from cutpath.values.nest import NestProblem, Objective, OffcutRule, Roll
from tests.nesting.shapes import plate, problem

pytestmark = pytest.mark.nests


@settings(max_examples=25)
@given(st.integers(0, 10**6))
def test_a_knapsack_of_lanes_is_worth_the_most_that_goes_together(seed):
    """Each lane that is asked for, with the best of those before it on a width; two with one piece never meet."""
    rng = random.Random(seed)  # noqa: S311 - chance here makes cases, not secrets
    count, wide = rng.randint(1, 7), rng.randint(1, 14)
    heights = [rng.randint(1, 6) for _ in range(count)]
    held = [1 << rng.randrange(3) if rng.random() < 0.5 else 0 for _ in range(count)]
    worth = [float(rng.randint(-2, 9)) for _ in range(count)]
    lanes = Knapsack(np.array(heights), np.array([[bits] for bits in held], dtype=np.uint64), wide)
    asked: list[tuple[int, float, int]] = []
    for i, base in lanes.through(np.array(worth)):
        if heights[i] <= wide:
            top, where = best_up_to(base)
            left = wide - heights[i]
            asked.append((i, worth[i] + float(top[left]), int(lanes.choice[where[left]])))
    paths = lanes.paths()
    for i, value, choice in asked:
        chosen = (*paths.lanes(choice), i)
        assert value == sum(int(worth[k]) for k in chosen)
        assert sum(heights[k] for k in chosen) <= wide
        assert sum(held[k] for k in chosen) == int(np.bitwise_or.reduce([held[k] for k in chosen]))
        if all(w >= 0 for w in worth) and not any(held):
            ways = (c for n in range(i + 1) for c in combinations(range(i), n))
            fits = [c for c in ways if sum(heights[k] for k in c) + heights[i] <= wide]
            assert value == worth[i] + max(sum(int(worth[k]) for k in c) for c in fits)
    assert paths.lanes(NOTHING) == ()


def shop_of(task: NestProblem) -> tuple[Shop, list[Opened]]:
    """Return the shop of a problem, and the plan of a roll for each piece."""
    spaces = rooms(task)
    stock = supply_of(task, spaces).stock
    shop = Shop(model_of(task, forms(task), stock, spaces), spaces, Outlay.of(task))
    model = shop.model
    alone = choose_rolls(stock, [single(model, piece, blank) for piece, blank in enumerate(model.start.tolist())])
    return shop, [shop.on_cheapest(Opened(shop.longest(int(stock.width[b.roll])), (b,))) for b in alone]


def bought(*plates: object, rolls: tuple[Roll, ...]) -> NestProblem:
    task = problem(*plates, rolls=rolls)  # type: ignore[arg-type]
    return NestProblem(task.blanks, rolls, task.gap_mm, objective=Objective.BOUGHT, offcuts=OffcutRule(worth=0.0))


def test_lanes_of_single_pieces_are_put_together_on_one_roll():
    """Three plates 100, 200 and 300 wide that each lay on a roll of their own fill one of 600, and so it is told."""
    task = bought(
        *(plate(f"P{w}", 2900.0, float(w)) for w in (100, 200, 300)),
        rolls=tuple(Roll(w, 3000.0) for w in (150.0, 210.0, 310.0, 600.0)),
    )
    shop, plan = shop_of(task)
    assert shop.cost(plan) == pytest.approx((150 + 210 + 310) * 3000)
    relaxed = relax(shop, Pool(shop.model), plan, (), Guard())
    assert relaxed is not None
    assert relaxed.value == pytest.approx(600 * 3000)
    ((opened, part),) = relaxed.used
    assert part == pytest.approx(1.0)
    assert shop.width[opened.room] == max(shop.width)
    kept, rest = part_of(shop, relaxed, plan, 1.0, np.random.default_rng(1))
    assert [len(o.bundles[0].lanes) for o in kept] == [3]
    assert rest == []


@pytest.mark.parametrize("number", [1, 2, 3])
def test_rolls_that_are_counted_are_not_taken_more_often(number):
    """Four plates on rolls of 450; of those of 300, which serve as well, there are few."""
    task = bought(plate("P", 2900.0, 290.0, 4), rolls=(Roll(300.0, 3000.0, number), Roll(450.0, 3000.0)))
    spaces = rooms(task)
    model = model_of(task, forms(task), supply_of(task, spaces).stock, spaces)
    shop = Shop(model, spaces, Outlay.of(task))
    plan = [Opened(1, (single(model, piece, 0),)) for piece in range(4)]
    relaxed = relax(shop, Pool(model), plan, (), Guard())
    assert relaxed is not None
    assert relaxed.value == pytest.approx((300 * number + 450 * (4 - number)) * 3000.0)
    for seed in range(5):
        kept, _ = part_of(shop, relaxed, plan, 1.0, np.random.default_rng(seed))
        assert shop.in_number(kept)


@settings(max_examples=15)
@given(seed=st.integers(0, 10**6), share=st.floats(0.0, 1.0))
def test_parts_and_the_rest_are_the_pieces_of_the_plan(seed, share):
    rng = random.Random(seed)  # noqa: S311 - chance here makes cases, not secrets
    plates = [
        plate(f"P{i}", float(rng.randrange(400, 2900, 100)), float(rng.randrange(60, 290, 10)), rng.randint(1, 3))
        for i in range(rng.randint(1, 6))
    ]
    shop, plan = shop_of(bought(*plates, rolls=tuple(Roll(w, 3000.0) for w in (150.0, 300.0, 450.0))))
    relaxed = relax(shop, Pool(shop.model), plan, (), Guard())
    assert relaxed is not None
    assert relaxed.value <= shop.cost(plan) + 1e-6
    again = relax(shop, Pool(shop.model), plan, relaxed.near, Guard())
    assert again is not None
    assert again.value == pytest.approx(relaxed.value)
    kept, rest = part_of(shop, relaxed, plan, share, np.random.default_rng(seed))
    found = Counter(shop.cut([*kept, *(Opened(0, (bundle,)) for bundle in rest)]))
    assert found == Counter(shop.cut(plan))
    area = shop.model.area
    assert float(area[shop.blanks(kept)].sum()) <= share * float(area[shop.model.start].sum()) + 1e-6 if kept else True
    assert all(isinstance(bundle, Bundle) and len(bundle.lanes) == 1 for bundle in rest)
