"""Sets of rolls that may cost less than a plan: none is left out, and what they hold is found."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import combinations, combinations_with_replacement
from math import fsum

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.nesting.buying import Buying
from cutpath.nesting.cooling import new_worker
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import choose_rolls, model_of, single
from cutpath.nesting.opened import _BEHIND, _NEW, _OWN, Opened, Shop
from cutpath.nesting.outlay import Outlay
from cutpath.nesting.pool import Pool
from cutpath.nesting.roll_sets import RollSet, cheaper_sets
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.state import marginal
from cutpath.nesting.stock import supply_of
from cutpath.nesting.trials import Trials
from cutpath.values.nest import NestProblem, Objective, OffcutRule, Roll
from tests.nesting.shapes import LADDER, plate

pytestmark = pytest.mark.nests


def alone(task: NestProblem) -> tuple[Shop, list[Opened]]:
    """Return the shop of a problem, and a plan where each piece is a bundle of its own."""
    spaces = rooms(task)
    stock = supply_of(task, spaces).stock
    model = model_of(task, forms(task), stock, spaces)
    shop = Shop(model, spaces, Outlay.of(task))
    pieces = [single(model, piece, blank) for piece, blank in enumerate(model.start.tolist())]
    return shop, shop.packed(choose_rolls(stock, pieces), stock.width.tolist())


@settings(max_examples=25)
@given(st.integers(0, 10**6), st.sampled_from([0.0, 0.5]))
def test_no_set_that_may_cost_less_is_left_out(seed, worth):
    rng = random.Random(seed)
    plates = [plate(f"P{i}", rng.uniform(300, 1500), rng.uniform(100, 500)) for i in range(rng.randint(2, 7))]
    rolls = (*rng.sample(LADDER, 3), Roll(600.0, 3000.0))
    shop, plan = alone(NestProblem(tuple(plates), rolls, 0.0, 0.0, OffcutRule(worth=worth), objective=Objective.BOUGHT))
    least = rng.uniform(0.8, 1.0) * shop.area(plan)
    sets = cheaper_sets(shop, plan, least)
    found = [rolls.rooms for rolls in sets]
    assert len(set(found)) == len(found)
    sizes = [(room.roll.width_mm, room.roll.length_mm) for room in shop.rooms]

    def one_for(a, b):
        return sizes[a][0] == sizes[b][0] and (sizes[a][0], sizes[a][1] + sizes[b][1]) in sizes

    for count in range(1, len(plan) + 2):
        for chosen in combinations_with_replacement(range(len(sizes)), count):
            lead = fsum(sizes[i][0] * sizes[i][1] for i in chosen)
            cost = lead - worth * max(0.0, lead - least)
            serves = lead >= least and cost < shop.cost(plan) and shop.holds(shop.blanks(plan), chosen)
            serves = serves and not any(one_for(*pair) for pair in combinations(chosen, 2))
            assert serves == (chosen in found) or abs(cost - shop.cost(plan)) < 1e-6
    for rolls in sets:  # what may be drawn of them just costs as much as the plan, or all of them costs less
        lead = fsum(sizes[i][0] * sizes[i][1] for i in rolls.rooms)
        costs = lead - worth * (lead - rolls.most_mm2)
        assert costs == pytest.approx(min(lead, shop.cost(plan)))
    assert [rolls.most_mm2 for rolls in sets] == sorted((rolls.most_mm2 for rolls in sets), reverse=True)


@pytest.fixture
def strips():
    """A plate that is a whole roll of 210 mm, and six that fill one of 390 mm but lie on two."""
    plates = (plate("A", 3000.0, 210.0), plate("B", 500.0, 390.0, 6))
    rolls = tuple(Roll(width, 3000.0) for width in (210.0, 240.0, 360.0, 390.0, 510.0))
    shop, plan = alone(NestProblem(plates, rolls, 0.0, 0.0, OffcutRule(worth=0.0), objective=Objective.BOUGHT))
    a, b = sorted(plan, key=lambda opened: opened.pieces)
    return shop, [a, replace(b, bundles=b.bundles[:3]), replace(b, bundles=b.bundles[3:])]


def widths(shop: Shop, rooms: Sequence[int]) -> list[float]:
    return sorted(shop.rooms[room].roll.width_mm for room in rooms)


def test_a_set_tells_by_how_much_it_is_too_small(strips):
    shop, plan = strips
    sets = [RollSet((0, 3), 0.0, 0.0), RollSet((1, 2), 0.0, 0.0)]
    trials = Trials(shop, new_worker(shop.model), Guard(), np.random.default_rng(1))
    found, (held, short) = trials.on_sets(sets, plan, 30_000, 2)
    assert widths(shop, [o.room for o in found]) == [210.0, 390.0]
    assert held == 0.0
    assert short >= 6 * 500.0 * 390.0  # none of these goes on 360 mm
    again, lacks = trials.on_sets(sets, found, 30_000, 2)
    assert again == found
    assert lacks[0] == float("inf")  # as cheap, so no way to be cheaper


@pytest.mark.parametrize("workers", [1, 2])
def test_rolls_that_hold_all_are_found_by_going_through_sets(strips, workers):
    shop, plan = strips
    assert widths(shop, [o.room for o in plan]) == [210.0, 390.0, 390.0]
    told: list[float] = []
    search = Buying(shop, Pool(shop.model), 1, workers, Guard(), lambda opened: told.append(shop.cost(opened)))
    search.crew = [new_worker(shop.model) for _ in range(workers)]
    with ThreadPoolExecutor(workers) as threads:
        found, spent = search._on_sets(threads, plan, shop.area(plan), 10_000_000)
    assert 0 < spent <= 10_000_000
    assert widths(shop, [o.room for o in found]) == [210.0, 390.0]
    assert told == sorted(told, reverse=True)
    assert told[-1] == shop.cost(found) == 600.0 * 3000.0


def test_lead_behind_the_end_of_a_roll_is_dear_however_it_comes_there(strips):
    shop, _ = strips
    stock = shop.chosen_rolls([0])
    end = int(stock.full[0])
    lead = 210.0 * 3000.0
    whole = marginal(stock, 0, 0, end + end // 10, end + end // 10)
    assert whole == pytest.approx(lead * (_OWN + 0.1 * _BEHIND))
    for first in (end // 3, end, end + end // 20):
        rest = end + end // 10 - first
        assert marginal(stock, 0, 0, first, first) + marginal(stock, 0, first, rest, rest) == pytest.approx(whole)
    assert (stock.full[1:] == 0).all()
    assert marginal(stock, 1, 0, end, end) == pytest.approx(lead * _NEW)
