"""The lower bound: chords add up to the blank, and what is proved is what can be worked out by hand."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random

import numpy as np
import pytest
from hypothesis import strategies as st
from shapely import LineString, Polygon

from cutpath.nesting.bound import _ChordDemand, _demand, _Program, _stretches, bound_mm2
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
    assert program.alone(columns, costs) == pytest.approx(program.prices(columns, costs)[1], rel=1e-9)
