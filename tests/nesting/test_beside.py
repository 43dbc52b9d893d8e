"""The table of free placement against the intervals themselves."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from cutpath.nesting.beside import WORK, find, high_of, low_of, many, new_beside
from cutpath.nesting.compiled import compiled
from cutpath.nesting.shapes import forms
from cutpath.nesting.shifts import form_arrays, new_memory, work_out
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import QUARTER_TURNS, Blank
from tests.gate import gate
from tests.nesting.shapes import plate, problem, skyline

pytestmark = pytest.mark.nests

GRID = 2 * TICKS_PER_MM
HOOK = Blank("H", 1, ((0, 0), (300, 0), (300, 120), (180, 120), (180, 90), (260, 90), (260, 40), (0, 40)))
RING = Blank("R", 1, ((0, 0), (200, 0), (200, 140), (0, 140)), (((50, 40), (50, 100), (150, 100), (150, 40)),))
DART = Blank("D", 2, ((0.0, 0.0), (97.43718292, 31.1), (12.00012345, 140.333333), (40.0, 50.0)))


@compiled
def kept(shapes, table, a, b, up, out):
    at, sign, move = find(shapes, table, a, b, up)
    n = many(table, at)
    for k in range(n):
        low, high = sign * low_of(table, at, k) + move, sign * high_of(table, at, k) + move
        out[2 * k], out[2 * k + 1] = min(low, high), max(low, high)
    return n


@compiled
def exact(shapes, a, b, dy, work):
    return work_out(shapes, shapes.twin[a], shapes.twin[b], dy, work)


@pytest.mark.parametrize(
    ("rows", "gap", "flip"),
    gate(product((64, 1 << 30), (0.0, 3.0), (False, True)), (64, 0.0, True), (64, 3.0, False), (1 << 30, 3.0, True)),
)
def test_what_is_kept_is_what_pairs_forbid(rows, gap, flip):
    rng = random.Random(f"{rows}{gap}{flip}")
    blanks = [HOOK, RING, DART, skyline(rng, "K"), plate("P", 120.0, 60.0)]
    blanks = tuple(replace(blank, turns_deg=QUARTER_TURNS, may_flip=flip) for blank in blanks)
    ways = forms(problem(*blanks, gap=gap))
    shapes, work = form_arrays(ways), new_memory(4).work
    table, out = new_beside(ways, GRID, rows), np.zeros(64, dtype=np.int64)
    assert len(table.rows) <= 4 * 2 * rows
    if flip and not gap:
        assert len(table.image) == (len(ways) + sum(table.image[:, 1] < 0)) / 2 < len(ways)
    for _ in range(1500):
        a, b = rng.randrange(len(ways)), rng.randrange(len(ways))
        up = rng.randrange(1 - table.wide[b], table.wide[a])
        n = exact(shapes, a, b, up * GRID, work)
        assert kept(shapes, table, a, b, up, out) == n
        mine = np.sort(out[: 2 * n].reshape(-1, 2), axis=0)
        wider = np.column_stack([work[: 2 * n : 2] - mine[:, 0], mine[:, 1] - work[1 : 2 * n : 2]])
        assert (wider >= 0).all()
        assert (wider <= 2).all()


def test_a_pair_is_worked_out_once_however_its_two_are_named():
    ways = forms(problem(replace(HOOK, turns_deg=QUARTER_TURNS), replace(DART, turns_deg=QUARTER_TURNS)))
    shapes, table, out = form_arrays(ways), new_beside(ways, GRID, 1 << 30), np.zeros(64, dtype=np.int64)
    a, b = 1, 6
    kept(shapes, table, a, b, 5, out)
    done = table.count[WORK]
    assert done > 0
    kept(shapes, table, b, a, -5, out)
    assert table.count[WORK] == done
    kept(shapes, table, a, b, 6, out)
    assert table.count[WORK] > done
