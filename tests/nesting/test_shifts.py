"""Forbidden shifts against plain geometry."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random

import numpy as np
import pytest
from shapely import Polygon, affinity

from cutpath.nesting.compiled import compiled
from cutpath.nesting.shapes import forms
from cutpath.nesting.shifts import clear_behind, form_arrays, new_memory, work_out
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import Blank
from tests.nesting.shapes import problem, skyline, stepped

pytestmark = pytest.mark.nests

HOOK = Blank("H", 1, ((0, 0), (300, 0), (300, 120), (180, 120), (180, 90), (260, 90), (260, 40), (0, 40)))
RING = Blank("R", 1, ((0, 0), (200, 0), (200, 140), (0, 140)), (((50, 40), (50, 100), (150, 100), (150, 40)),))


@compiled
def intervals(shapes, a, b, dy, work):
    return work_out(shapes, a, b, dy, work)


@compiled
def clear(shapes, a, b, dy):
    return clear_behind(shapes, a, b, dy)


def laid(form, blank: Blank) -> Polygon:
    shape = Polygon(blank.outline, blank.holes)
    shape = affinity.rotate(shape, form.turn_deg, origin=(0, 0))
    return affinity.translate(shape, -form.corner[0], -form.corner[1])


@pytest.mark.parametrize("seed", range(6))
def test_shifts_are_forbidden_where_shapes_overlap_and_only_there(seed):
    rng = random.Random(seed)
    blanks = (HOOK, RING, stepped("S", 4), stepped("L", 5, left=True), skyline(rng, "K"))
    task = problem(*blanks)
    ways = forms(task)
    shapes, work = form_arrays(ways), new_memory(4).work
    for _ in range(60):
        a, b = rng.randrange(len(ways)), rng.randrange(len(ways))
        one, two = laid(ways[a], blanks[ways[a].blank]), laid(ways[b], blanks[ways[b].blank])
        dy = rng.randrange(-ways[b].width, ways[a].width)
        n = intervals(shapes, a, b, dy, work)
        ends = work[: 2 * n].copy()
        assert (np.diff(ends.reshape(-1)) >= 0).all()
        inside = [(low + high) // 2 for low, high in ends.reshape(-1, 2)]
        between = [*(ends[1::2][:-1] + ends[2::2]) // 2, ends[0] - 5, ends[-1] + 5] if n else [0]
        for shift, forbidden in [(s, True) for s in inside] + [(s, False) for s in between]:
            other = affinity.translate(two, shift / TICKS_PER_MM, dy / TICKS_PER_MM)
            depth = one.intersection(other).area
            if forbidden:
                assert depth > 0.0
            else:
                assert depth < 1e-2, (shift, ends)


@pytest.mark.parametrize("seed", range(3))
def test_a_form_lies_clear_behind_another_from_the_end_of_the_last_interval_on(seed):
    rng = random.Random(seed)
    blanks = (HOOK, RING, stepped("S", 4), stepped("L", 5, left=True), skyline(rng, "K"))
    ways = forms(problem(*blanks, gap=rng.choice((0.0, 3.0))))
    shapes, work = form_arrays(ways), new_memory(4).work
    for a, one in enumerate(ways):
        for b, two in enumerate(ways):
            for dy in (0, one.width - two.width, rng.randrange(-two.width, one.width), one.width + 1):
                n = intervals(shapes, a, b, dy, work)
                assert clear(shapes, a, b, dy) == (work[2 * n - 1] if n else -(1 << 40))


def test_a_gap_keeps_forms_apart_by_the_gap():
    blanks = (HOOK, stepped("S", 4))
    task = problem(*blanks, gap=5.0)
    ways = forms(task)
    shapes, work = form_arrays(ways), new_memory(4).work
    for a in range(len(ways)):
        for b in range(len(ways)):
            dy = 10 * TICKS_PER_MM
            n = intervals(shapes, a, b, dy, work)
            other = affinity.translate(
                laid(ways[b], blanks[ways[b].blank]), work[2 * n - 1] / TICKS_PER_MM, dy / TICKS_PER_MM
            )
            apart = laid(ways[a], blanks[ways[a].blank]).distance(other)
            assert 5.0 - 1e-6 <= apart <= 5.25  # chords round corners stand up to 4.6 % outside
