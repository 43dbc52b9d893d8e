"""Lanes: what is turned down before it is laid would have been too long."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random

import numpy as np
import pytest

from cutpath.nesting.anneal import _least_length
from cutpath.nesting.compiled import compiled
from cutpath.nesting.lanes import TOO_LONG, lay_lane
from cutpath.nesting.shapes import forms
from cutpath.nesting.shifts import form_arrays, new_memory
from cutpath.nesting.state import Scratch
from cutpath.values.nest import QUARTER_TURNS, Blank
from tests.nesting.shapes import plate, problem, skyline, stepped

pytestmark = pytest.mark.nests

HOOK = Blank("H", 1, ((0, 0), (300, 0), (300, 120), (180, 120), (180, 90), (260, 90), (260, 40), (0, 40)))
EARS = Blank("E", 1, ((0, 0), (600, 0), (600, 150), (500, 150), (500, 250), (100, 250), (100, 150), (0, 150)))
KITE = Blank("D", 1, ((0, 0), (90, 120), (0, 260), (-70, 120)), turns_deg=QUARTER_TURNS)


@compiled
def least_length(shapes, scratch):
    return _least_length(shapes, scratch, 0)


@pytest.mark.parametrize("gap", [0.0, 3.0])
@pytest.mark.parametrize("seed", range(8))
def test_no_lane_is_shorter_than_its_least_length_and_a_limit_never_hides_one_that_fits(seed, gap):
    rng = random.Random(seed)
    blanks = (HOOK, EARS, KITE, stepped("S", 5), stepped("L", 6, left=True), skyline(rng, "K"), plate("P", 300.0, 90.0))
    ways = forms(problem(*blanks, gap=gap))
    shapes, memory = form_arrays(ways), new_memory(12)
    n, endless = 8, 1 << 40
    room = [np.zeros(n, dtype=np.int64) for _ in range(3)]
    for _ in range(40):
        codes = np.array([2 * rng.randrange(len(ways)) + rng.randrange(2) for _ in range(n)], dtype=np.int64)
        wide = max(ways[code >> 1].width for code in codes.tolist())
        height = rng.randrange(wide, 2 * wide)
        long = lay_lane(shapes, memory, codes, n, 0, height, endless, *room)
        plan = np.array([[0, n, 0, height], [-1, 0, 0, 0]], dtype=np.int64)
        scratch = Scratch(np.array([codes, codes]), np.zeros((2, n), dtype=np.int64), np.zeros((2, n), dtype=np.int64),
                          room[1], room[2], plan)  # fmt: skip
        assert least_length(shapes, scratch) <= long
        xs = room[0].copy()
        assert lay_lane(shapes, memory, codes, n, 0, height, long, *room) == long
        assert lay_lane(shapes, memory, codes, n, 0, height, long - 1, *room) == TOO_LONG
        room[0][:] = xs
        assert lay_lane(shapes, memory, codes, n, 4, height, long, *room) == long
        assert (room[0] == xs).all()
