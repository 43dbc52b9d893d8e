"""What bundles are charged by while the search is young: the mean length of their lanes, and strips beside them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cutpath.nesting.cooling import Cooling, Quota, anneal_among, new_worker
from cutpath.nesting.guard import Guard
from cutpath.nesting.model import choose_rolls, cost_of, model_of, single
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.stock import supply_of
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import OffcutRule, Roll
from tests.nesting.shapes import plate, problem

pytestmark = pytest.mark.nests

# Side by side on 200 mm, the two have a mean length of 750 mm: 0.15 m2, where 0.165 m2 are drawn from rolls of 110 mm.
# By the longer lane it is 0.2 m2.
SIZES = ((1000.0, 100.0), (500.0, 100.0))
WIDTHS = 110.0, 200.0
# Apart, on 102 and 63 mm, these draw 0.1587 m2 and leave strips of 0.0037 m2; side by side on 160 mm, 0.16 m2 and none.
STRIPS = ((1000.0, 100.0), (900.0, 60.0))
MM2 = 1000.0


def annealed(longest, beside=0.0, sizes=SIZES, widths=WIDTHS):
    plates = (plate(f"P{i}", *size) for i, size in enumerate(sizes))
    task = problem(*plates, rolls=tuple(Roll(width, 1100.0) for width in widths))
    task = replace(task, offcuts=OffcutRule(worth=0.0))
    ways, spaces = forms(task), rooms(task)
    model = model_of(task, ways, supply_of(task, spaces).stock, spaces)
    start = choose_rolls(model.stock, [single(model, p, int(b)) for p, b in enumerate(model.start)])
    cooling = Cooling(
        5.0 * MM2, 0.1 * MM2, 5.0, joints=False, lanes=(0.05, 0.05), longest=longest, beside=(beside, beside)
    )
    nothing = np.zeros(len(widths), dtype=np.int64)
    found = anneal_among(model, new_worker(model), start, nothing, cooling, Quota(200_000, 0.0, 1.0), 1, Guard())
    assert sorted(np.concatenate([lane.pieces for bundle in found for lane in bundle.lanes]).tolist()) == [0, 1]
    return found, cost_of(model.stock, found)


def test_by_their_mean_length_lanes_of_any_length_fill_a_width():
    found, _ = annealed(0.0)
    (bundle,) = found
    assert len(bundle.lanes) == 2
    assert bundle.across == 200 * TICKS_PER_MM


def test_by_the_longest_lane_they_stay_apart():
    found, cost = annealed(1.0)
    assert all(len(bundle.lanes) == 1 for bundle in found)
    assert cost == pytest.approx(0.165e6)


@pytest.mark.parametrize(("beside", "bundles", "drawn"), [(0.0, 2, 0.1587e6), (0.5, 1, 0.16e6)])
def test_where_strips_are_dear_lanes_fill_a_width(beside, bundles, drawn):
    found, cost = annealed(1.0, beside, STRIPS, (63.0, 102.0, 160.0))
    assert len(found) == bundles
    assert cost == pytest.approx(drawn)
