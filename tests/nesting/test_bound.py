"""The lower bound: chords add up to the blank, and what is proved is what can be worked out by hand."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random

import numpy as np
import pytest
from hypothesis import strategies as st
from shapely import LineString, Polygon

from cutpath.nesting.bound import (
    _cheapest_mix,
    _ChordDemand,
    _cut_in_turn,
    _demand,
    _Program,
    _stretches,
    bound_mm2,
    least_area_mm2,
)
from cutpath.values.nest import Blank, NestProblem, Roll
from tests.nesting.shapes import plate, skyline
from tests.properties.surveys import for_all

GRID = 0.5


@for_all(st.integers(0, 10**6), st.sampled_from([0.0, 2.5]), gate=40)
def test_chords_sum_up_to_the_area_and_the_gap(seed, gap):
    blank = skyline(random.Random(seed), "K")
    least, most, along = _stretches((blank.outline,), gap).T
    area = float(((least + most) / 2 * GRID) @ along)
    assert area == pytest.approx(Polygon(blank.outline).area + gap * along.sum(), rel=1e-9)
    assert along.sum() == pytest.approx(np.ptp([x for x, _ in blank.outline]), rel=1e-9)


@pytest.mark.parametrize("turned", [False, True])
def test_a_chord_leaves_holes_out_whichever_way_rings_run(turned):
    outline = ((0.0, 0.0), (300.0, 0.0), (340.0, 200.0), (40.0, 200.0))
    hole = ((100.0, 50.0), (150.0, 50.0), (140.0, 120.0))
    blank = Blank("H", 1, outline[::-1] if turned else outline, (hole[::-1] if turned else hole,))
    solid = Polygon(outline, (hole,))
    at = 0.0
    for low, high, along in _stretches((blank.outline, *blank.holes), 0.0):
        middle = at + along / 2
        cut = LineString([(middle, -1.0), (middle, 201.0)]).intersection(solid).length
        assert (low + high) / 2 * GRID == pytest.approx(cut, rel=1e-9)
        at += along


def test_what_is_wanted_of_each_size_is_the_whole_length_once_for_each_copy():
    wedge = Blank("W", 3, ((0.0, 0.0), (400.0, 0.0), (400.0, 100.0), (0.0, 50.0)))
    demand = wedge.quantity * _demand(_stretches((wedge.outline,), 0.0), 300)
    assert demand.sum() == pytest.approx(1200.0)
    # from 50 to 100 mm in steps of half a millimetre, each over 4 mm of three copies
    assert demand[100:200] == pytest.approx(12.0, abs=1e-3)
    assert demand[:100].sum() + demand[201:].sum() == pytest.approx(0.0, abs=1e-3)


def test_plates_too_wide_to_lie_beside_each_other_need_a_whole_width_each():
    task = NestProblem((plate("P", 1000.0, 160.0, 4),), (Roll(300.0, 6000.0),))
    assert bound_mm2(task) == pytest.approx(4 * 1000.0 * 300.0)


@pytest.mark.parametrize("seed", range(12))
def test_a_mix_of_cross_sections_of_one_size_each_costs_what_the_solver_says(seed):
    """Blanks lie along the roll or across it, and every size is wanted by one of them at least."""
    chance = random.Random(seed)
    wanted = []
    for _ in range(5):
        ring = skyline(chance, "K").outline
        ways = [_demand(_stretches((way,), 0.0), 2000) for way in (ring, tuple((y, -x) for x, y in ring))]
        wanted.append(_ChordDemand(chance.randint(1, 9), np.array(ways)))
    program = _Program(wanted, np.array(sorted(chance.sample(range(20, 1500), 12))))
    columns = [chance.randint(1, 9) * (np.arange(12) == k) for k in range(12)]
    costs = [chance.uniform(100.0, 900.0) for _ in range(12)]
    each = np.array(costs) / np.sum(columns, axis=0)
    assert (program.demand(each) * each).sum() == pytest.approx(program.prices(columns, costs)[1], rel=1e-9)


def _some_demand(chance):
    """Sizes, how much of each is wanted, and roll widths that hold them all."""
    sizes = np.array(sorted(chance.sample(range(20, 1100), chance.randint(1, 14))))
    wholes = [(width, width / 2.0) for width in sorted(chance.sample(range(300, 1100), 3))] + [(1200, 600.0)]
    return np.array([chance.choice((0.0, chance.uniform(1.0, 900.0))) for _ in sizes]), sizes, wholes


@pytest.mark.parametrize("seed", range(20))
def test_cross_sections_cut_one_after_another_cost_no_less_than_the_cheapest_mix(seed):
    demand, sizes, wholes = _some_demand(random.Random(seed))
    ways = np.zeros((1, 1201))
    ways[0, sizes] = demand
    _, proved = _cheapest_mix([_ChordDemand(1, ways)], wholes, 0.0)
    cost = _cut_in_turn(demand, sizes, wholes)
    assert cost >= proved - 1e-6 * proved
    assert cost <= 600.0 * demand.sum() + 1e-6  # each piece of each size on the widest by itself


def test_no_solver_is_asked_where_the_area_is_more_than_a_mix_that_is_easily_had(monkeypatch):
    """Chords of a large batch of many shapes fill the widths, so that the area is the bound."""
    chance = random.Random(7)
    blanks = tuple(skyline(chance, f"K{k}") for k in range(12))
    task = NestProblem(blanks, (Roll(450.0, 6000.0), Roll(600.0, 6000.0)))
    known = bound_mm2.__wrapped__(task)
    monkeypatch.setattr(_Program, "prices", lambda *_: pytest.fail("a solver was asked"))
    assert bound_mm2.__wrapped__(task) == known == pytest.approx(least_area_mm2(task))
