"""Small cases that can be solved by trying everything."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random
from dataclasses import replace
from itertools import permutations, product

import numpy as np
import pytest
import shapely
from shapely import Polygon, affinity

from cutpath.nesting import nest
from cutpath.values.nest import Budget, Nest, NestProblem, OffcutRule, Roll
from tests.gate import gate
from tests.nesting.shapes import plate, problem, skyline, stepped

pytestmark = pytest.mark.nests


def partitions(items: list[float]):
    if not items:
        yield []
        return
    head, rest = items[0], items[1:]
    for part in partitions(rest):
        yield [[head], *part]
        for i in range(len(part)):
            yield [*part[:i], [head, *part[i]], *part[i + 1 :]]


@pytest.mark.parametrize("seed", gate(range(4), 0, 1))
def test_strips_of_one_length_are_grouped_as_well_as_trying_all_groups(seed):
    rng = random.Random(seed)
    widths = [200.0, 300.0, 450.0]
    heights = [float(rng.randrange(60, 290, 10)) for _ in range(6)]
    least = min(
        sum(min((w for w in widths if w >= sum(group)), default=1e9) for group in part) for part in partitions(heights)
    )
    task = problem(
        *(plate(f"P{i}", 1000.0, h) for i, h in enumerate(heights)), rolls=tuple(Roll(w, 6000.0) for w in widths)
    )
    assert nest(task, Budget(work=333_333), seed=seed).drawn_mm2 <= least * 1000.0 + 1.0


def least_length(shapes: list[Polygon], width: float, step: float) -> float:
    """Try every order, turn and side of the roll, each piece as far left as a sliding search finds.

    Each lies along an edge of the roll; with three pieces, one may lie between the others instead.
    """
    best = 1e9
    for order in permutations(range(len(shapes))):
        for sides in product((0, 1), repeat=len(shapes)):
            laid = Polygon()
            for i in order:
                shape = shapes[i]
                if sides[i]:
                    shape = affinity.rotate(shape, 180.0, origin="center")
                x0, y0, _, y1 = shape.bounds
                shape = affinity.translate(shape, -x0, (width - y1) if sides[i] else -y0)
                ends = np.arange(0.0, 2 * step if laid.is_empty else laid.bounds[2] + step, step)
                moved = shapely.polygons(shapely.get_coordinates(shape) + np.stack([ends, 0 * ends], axis=1)[:, None])
                clear = shapely.area(shapely.intersection(moved, laid)) <= 1e-6
                laid = shapely.union(laid, moved[np.argmax(clear)])
                if laid.bounds[2] >= best:
                    break
            else:
                best = laid.bounds[2]
    return best


@pytest.mark.parametrize("seed", gate(range(5), 1))
def test_three_skylines_on_one_width_are_laid_as_short_as_trying_all(seed):
    rng = random.Random(seed)
    blanks = [skyline(rng, "A"), skyline(rng, "B"), stepped("S", 4)]
    blanks = [type(b)(b.id, 1, b.outline) for b in blanks]
    step = 2.0
    tried = least_length([Polygon(b.outline) for b in blanks], 240.0, step)
    found = nest(problem(*blanks, rolls=(Roll(240.0, 6000.0),)), Budget(work=333_333), seed=seed)
    assert found.rolls[0].drawn_mm <= tried + 1e-3
    if seed != 4:  # there, the nest lays one piece on the tallest, between the edges of the roll
        assert found.rolls[0].drawn_mm >= tried - 3 * step


def kept(rule: OffcutRule, across: float, along: float) -> float:
    """Area of a free rectangle where it is worth keeping."""
    long, short = max(across, along), min(across, along)
    return across * along if long >= rule.least_length_mm and short >= rule.least_width_mm else 0.0


@pytest.mark.parametrize("seed", gate(range(4), 0, 2))
def test_strips_are_grouped_for_the_least_lead_less_the_worth_of_what_is_kept(seed):
    """Widths are far apart, so that a wider roll may cost less for the strip that is kept beside the pieces."""
    rng = random.Random(seed)
    rule = OffcutRule(300.0, 100.0, worth=0.8)
    widths = [200.0, 320.0, 450.0, 600.0]
    heights = [float(rng.randrange(60, 190, 10)) for _ in range(5)]
    least = min(
        sum(
            min(w - rule.worth * kept(rule, w - sum(group), 1000.0) / 1000.0 for w in widths if w >= sum(group))
            for group in part
        )
        for part in partitions(heights)
        if all(sum(group) <= widths[-1] for group in part)
    )
    task = problem(
        *(plate(f"P{i}", 1000.0, h) for i, h in enumerate(heights)), rolls=tuple(Roll(w, 6000.0) for w in widths)
    )
    found = nest(replace(task, offcuts=rule), Budget(work=500_000), seed=seed)
    assert found.drawn_mm2 - rule.worth * found.offcuts_mm2 <= least * 1000.0 + 1.0


def with_worth(task: NestProblem, worth: float) -> Nest:
    return nest(replace(task, offcuts=OffcutRule(300.0, 150.0, worth)), Budget(work=333_333), seed=1)


def test_a_wider_roll_is_taken_for_what_it_keeps():
    task = problem(plate("A", 1000.0, 310.0), rolls=(Roll(330.0, 6000.0), Roll(480.0, 6000.0)))
    narrow, wide = (with_worth(task, worth) for worth in (0.5, 0.95))
    assert [nested.roll.width_mm for nested in narrow.rolls] == [330.0]
    assert [nested.roll.width_mm for nested in wide.rolls] == [480.0]
    assert wide.offcuts_mm2 == pytest.approx(170.0 * 1000.0)


def test_what_is_free_behind_a_short_lane_counts():
    """Two lanes on one roll: the short one goes where its end is kept, unless nothing is worth keeping."""
    task = problem(
        plate("A", 1000.0, 200.0), plate("B", 500.0, 200.0), rolls=(Roll(250.0, 6000.0), Roll(400.0, 6000.0))
    )
    apart, beside = (with_worth(task, worth) for worth in (0.0, 0.9))
    assert apart.drawn_mm2 == pytest.approx(1500.0 * 250.0)
    assert beside.drawn_mm2 == pytest.approx(1000.0 * 400.0)
    assert beside.offcuts_mm2 == pytest.approx(500.0 * 200.0)
