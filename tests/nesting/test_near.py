"""Of nests that cost about the same, the one that is least work to cut."""

from __future__ import annotations

import numpy as np
import pytest

from cutpath.nesting import search
from cutpath.nesting.model import Bundle, Lane, cost_of, drawn_of
from cutpath.nesting.near import EQUAL_LEAD, Near, handling
from cutpath.nesting.run import nest
from cutpath.nesting.shapes import rooms
from cutpath.nesting.stock import supply_of
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import Budget, Roll
from tests.nesting.shapes import LADDER, plate, problem, stepped

pytestmark = pytest.mark.nests

NONE = np.empty(0, dtype=np.int64)


def stock_of(*rolls):
    task = problem(plate("P", 500.0, 100.0), rolls=rolls)
    return supply_of(task, rooms(task)).stock


def bundle(roll, length_mm, width_mm=100.0):
    lane = Lane(NONE, NONE, NONE, round(width_mm * TICKS_PER_MM), round(length_mm * TICKS_PER_MM))
    return Bundle((lane,), roll)


def test_work_is_rolls_and_widths_to_fetch_and_cuts_right_across():
    stock = stock_of(Roll(150.0, 3000.0), Roll(300.0, 3000.0))
    assert handling(stock, []) == 0
    assert handling(stock, [bundle(0, 2000.0)]) == 3
    assert handling(stock, [bundle(0, 2000.0), bundle(0, 1000.0)]) == 1 + 1 + 2
    assert handling(stock, [bundle(0, 2000.0), bundle(0, 1001.0)]) == 2 + 1 + 2
    assert handling(stock, [bundle(0, 2000.0), bundle(1, 1000.0)]) == 2 + 2 + 2


def test_counted_rolls_of_one_width_are_rolls_each_and_one_width():
    stock = stock_of(Roll(150.0, 3000.0, 2))
    assert (stock.width[:2] == stock.width[0]).all()
    assert handling(stock, [bundle(0, 1000.0), bundle(1, 1000.0)]) == 2 + 1 + 2


def test_a_nest_is_near_within_its_share_of_the_cheapest():
    near = Near(stock_of(*LADDER))
    for cost in (1000.0, 1001.9, 1002.1, 999.0, 998.0):
        near.add(cost, [bundle(0, cost)])
    assert [cost for cost, _ in near.found] == [998.0, 999.0]
    near.add(1500.0, [])
    near.add(999.9, [])
    assert [cost for cost, _ in near.found] == [998.0, 999.0, 999.9]


def test_only_the_cheapest_of_many_near_ones_are_remembered():
    near = Near(stock_of(*LADDER))
    for k in range(100):
        near.add(1000.0 + (37 * k % 100) / 100, [])
    assert [cost for cost, _ in near.found] == [1000.0 + k / 100 for k in range(30)]


@pytest.mark.parametrize(("more", "easy"), [(0.0, True), (0.0002, True), (0.0004, False)])
def test_a_cut_less_is_worth_a_little_lead_and_no_more(more, easy):
    near = Near(stock_of(*LADDER))
    two = [bundle(0, 1500.0), bundle(0, 1500.0)]
    one = [bundle(0, 3000.0)]
    near.add(1000.0, two)
    near.add(1000.0 * (1 + more), one)
    assert near.easiest() == (one if easy else two)


def test_a_nest_is_no_more_work_than_the_cheapest_and_costs_no_more_than_its_share(monkeypatch):
    seen = {}
    searched = search.Search.run

    def kept(own, work):
        seen["own"], seen["best"] = own, searched(own, work)
        return seen["best"]

    monkeypatch.setattr(search.Search, "run", kept)
    blanks = [stepped(f"S{k}", 4 + k, 30.0 + 2 * k, quantity=3) for k in range(4)]
    found = nest(problem(*blanks), Budget(work=666_666))
    stock, near = seen["own"].model.stock, seen["own"].near
    easy = near.easiest()
    assert handling(stock, easy) <= handling(stock, seen["best"])
    assert cost_of(stock, easy) <= (1 + EQUAL_LEAD) * cost_of(stock, seen["best"])
    assert found.drawn_mm2 == pytest.approx(drawn_of(stock, easy))
