"""A list and its mirror image come to one problem, and nests of it come back sound."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random
from dataclasses import replace

import pytest
from hypothesis import strategies as st

from cutpath.nesting import judge, one_after_another
from cutpath.nesting.home import at_home
from cutpath.values.nest import Blank, OffcutRule
from tests.nesting.shapes import plate, problem, skyline, stepped
from tests.properties.surveys import for_all

pytestmark = pytest.mark.nests

QUARTERS = (0.0, 90.0, 180.0, 270.0)


def mirrored(blank: Blank, shift: float = 0.0, begin: int = 0) -> Blank:
    rings = [[(shift - x, y + shift) for x, y in reversed(ring)] for ring in (blank.outline, *blank.holes)]
    outline, *holes = (tuple(ring[begin % len(ring) :] + ring[: begin % len(ring)]) for ring in rings)
    return replace(blank, outline=outline, holes=tuple(holes))


def some(seed: int) -> list[Blank]:
    rng = random.Random(seed)
    ring = Blank("R", 2, ((0, 0), (200, 0), (240, 140), (0, 140)), (((50, 40), (50, 100), (150, 90), (150, 40)),))
    blanks = [skyline(rng, f"K{i}") for i in range(rng.randint(1, 5))]
    blanks += [stepped("S", 7, left=rng.random() < 0.5), ring, plate("C", 900.0, 110.0, 2)]
    turned = [replace(b, turns_deg=rng.choice(((0.0, 180.0), QUARTERS)), may_flip=rng.random() < 0.3) for b in blanks]
    return rng.sample(turned, len(turned))


@for_all(st.integers(0, 10**6), st.sampled_from([0.0, 17.3, -400.1]), gate=25)
def test_a_list_and_its_mirror_image_are_one_problem(seed, shift):
    blanks = some(seed)
    one = at_home(problem(*blanks))
    other = at_home(problem(*(mirrored(b, shift, begin=i) for i, b in enumerate(blanks))))
    assert one.problem == other.problem


@for_all(st.integers(0, 10**6), st.sampled_from([(0.0, 0.0), (3.0, 4.0)]))
def test_what_comes_back_is_judged_like_what_was_found_at_home(seed, spaces):
    blanks = some(seed)
    rule = OffcutRule(100.0, 40.0)
    for given_ in (blanks, [mirrored(b) for b in blanks]):
        task = replace(problem(*given_, gap=spaces[0], trim=spaces[1]), offcuts=rule)
        home = at_home(task)
        found = one_after_another(home.problem, known_mm2=1.0)  # no bound is asked for here
        assert judge(home.problem, found) == ()
        assert judge(task, home.back(found)) == ()


def test_of_a_list_and_its_mirror_image_one_is_mirrored():
    blank = stepped("S", 7)
    assert at_home(problem(blank)).mirrored is not at_home(problem(mirrored(blank))).mirrored


@pytest.mark.parametrize("turns", [(0.0,), (0.0, 90.0), (30.0, 210.0)])
def test_turns_that_leave_no_way_back_leave_the_list_as_it_is(turns):
    task = problem(replace(stepped("S", 7), turns_deg=turns), plate("C", 500.0, 90.0))
    home = at_home(task)
    assert home.problem is task
    found = one_after_another(task)
    assert home.back(found) is found
