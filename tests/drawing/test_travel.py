"""The way in the air: held against every order there is, on small cases."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.drawing import route
from cutpath.drawing.toolline import ToolLine
from cutpath.drawing.travel import Chosen, Known, as_drawn, polished, shortened, travel_mm
from cutpath.values.drawing import Role
from tests.properties.surveys import for_all

START = (0.0, 0.0)
places = st.tuples(st.integers(0, 50), st.integers(0, 50)).map(lambda p: (float(p[0]), float(p[1])))
open_lines = st.lists(places, min_size=2, max_size=3, unique=True).map(
    lambda p: ToolLine(Role.MARK, "pen", "A", "line", tuple(p), closed=False)
)
rings = st.tuples(places, st.integers(1, 9)).map(
    lambda p: ToolLine(
        Role.OUTER,
        "pen",
        "A",
        "ring",
        (p[0], (p[0][0] + p[1], p[0][1]), (p[0][0], p[0][1] + p[1])),
        closed=True,
    )
)
some = st.lists(st.one_of(open_lines, rings), min_size=1, max_size=5)


def every_order(lines, groups, classes):
    for order in itertools.permutations(range(len(lines))):
        keys = [(groups[n], classes[n]) for n in order]
        seen = [k for k, _ in itertools.groupby(keys)]
        if len(seen) != len(set(seen)) or any(a[0] == b[0] and a[1] > b[1] for a, b in itertools.pairwise(seen)):
            continue
        by_group = [g for g, _ in itertools.groupby(g for g, _ in seen)]
        if len(by_group) != len(set(by_group)):
            continue
        options = [range(len(lines[n].points)) if lines[n].closed else range(2) for n in order]
        for starts in itertools.product(*options):
            yield [Chosen(n, s) for n, s in zip(order, starts, strict=True)]


@settings(max_examples=20)
@given(some, st.data())
def test_of_a_few_lines_the_order_is_the_best_of_all(lines, data) -> None:
    count = len(lines)
    groups = data.draw(st.lists(st.integers(0, 2), min_size=count, max_size=count))
    classes = [(c,) for c in data.draw(st.lists(st.integers(0, 1), min_size=count, max_size=count))]
    found = shortened(lines, groups, classes, START)
    assert sorted(c.line for c in found) == list(range(count))
    keys = [(groups[c.line], classes[c.line]) for c in found]
    assert len({g for g, _ in itertools.groupby(g for g, _ in keys)}) == len(
        list(itertools.groupby(g for g, _ in keys))
    )
    best = min(travel_mm(lines, o, START) for o in every_order(lines, groups, classes))
    ours = travel_mm(lines, found, START)
    assert ours == pytest.approx(best, abs=1e-6)
    assert ours <= travel_mm(lines, as_drawn(lines, groups, classes), START) + 1e-6


def test_exchanges_lose_little_against_the_best_order_of_all(monkeypatch) -> None:
    """Over forty drawn sheets of five lines, with the exact way for a few lines switched off."""
    rng = random.Random(5)  # noqa: S311 - drawn sheets, no secrets

    def place() -> tuple[float, float]:
        return (float(rng.randint(0, 50)), float(rng.randint(0, 50)))

    total = least = 0.0
    for _ in range(40):
        lines = [ToolLine(Role.MARK, "pen", "A", "line", (place(), place()), closed=False) for _ in range(5)]
        groups, classes = [rng.randint(0, 2) for _ in lines], [(rng.randint(0, 1),) for _ in lines]
        least += travel_mm(lines, shortened(lines, groups, classes, START), START)
        with monkeypatch.context() as few:
            few.setattr("cutpath.drawing.travel._FEW", 0)
            total += travel_mm(lines, shortened(lines, groups, classes, START), START)
    assert least <= total <= 1.1 * least


def test_plain_sums_choose_the_entry_points_that_arrays_choose(monkeypatch) -> None:
    """Points stand on a grid, so that many ways are of one length."""
    rng = random.Random(6)  # noqa: S311 - drawn sheets, no secrets
    for count in range(1, 30):
        lines = [
            ToolLine(Role.MARK, "pen", "A", "line", points, closed=rng.random() < 0.4)
            for points in (
                tuple((float(rng.randint(0, 6)), 1.3 * rng.randint(0, 6)) for _ in range(rng.randint(3, 6)))
                for _ in range(count)
            )
        ]
        found = []
        for few in (0, route.FEW_WAYS, 100):
            monkeypatch.setattr(route, "FEW_WAYS", few)
            found.append(polished(lines, [0] * count, [(k,) for k in range(count)], (0.1, 0.2)))
        assert found[0] == found[1] == found[2]


@for_all(some, st.data())
def test_classes_follow_each_other_inside_a_group(lines, data) -> None:
    count = len(lines)
    groups = data.draw(st.lists(st.integers(0, 1), min_size=count, max_size=count))
    classes = [(c,) for c in data.draw(st.lists(st.integers(0, 2), min_size=count, max_size=count))]
    found = shortened(lines, groups, classes, START)
    for g in set(groups):
        own = [classes[c.line] for c in found if groups[c.line] == g]
        assert own == sorted(own)


def test_a_row_of_pieces_given_in_disorder_is_run_in_a_row() -> None:
    order = [5, 0, 8, 3, 1, 9, 2, 7, 4, 6]
    lines = [
        ToolLine(Role.OUTER, "k", str(x), "o", ((x, 0.0), (x + 90, 0.0), (x + 90, 50.0)), closed=True)
        for x in (100.0 * k for k in order)
    ]
    found = shortened(lines, list(range(10)), [(0,)] * 10, START)
    assert [order[c.line] for c in found] == list(range(10))
    assert travel_mm(lines, found, START) == pytest.approx(900.0)


def test_only_allowed_starts_are_taken() -> None:
    ring = ((0.0, 0.0), (90.0, 0.0), (90.0, 50.0))
    line = ToolLine(Role.OUTER, "k", "A", "o", ring, closed=True, starts=(2,))
    assert shortened([line], [0], [(0,)], START) == [Chosen(0, 2)]


def test_nothing_to_run_is_no_fault() -> None:
    assert shortened([], [], [], START) == []


def test_the_same_lines_give_the_same_order() -> None:
    lines = [
        ToolLine(Role.MARK, "p", str(k), "m", ((math.sin(k) * 99, math.cos(k) * 99), (k, k * 2.0)), closed=False)
        for k in range(40)
    ]
    runs = {tuple(shortened(lines, [k // 4 for k in range(40)], [(0,)] * 40, START)) for _ in range(3)}
    assert len(runs) == 1


def test_what_looks_alike_goes_the_same_way_and_never_a_longer_one() -> None:
    """Sixteen strokes of four pieces, once more as far away as a roll goes, and with figures a little wider."""
    draws = random.Random(3)  # noqa: S311 - a case, no secret
    points = [[(draws.uniform(0, 400), draws.uniform(0, 300)) for _ in range(2)] for _ in range(16)]
    groups, classes = [k // 4 for k in range(16)], [(0,)] * 16

    def lines(by_mm, wider_mm=0.0):
        moved = [[(x + by_mm, y + wider_mm * (k % 3)) for k, (x, y) in enumerate(own)] for own in points]
        return [ToolLine(Role.MARK, "p", "A", "m", tuple(own), closed=False) for own in moved]

    known = Known()
    first = shortened(lines(0.0), groups, classes, START, known)
    found = len(known.runs)
    assert shortened(lines(5000.0), groups, classes, (5000.0, 0.0), known) == first
    assert len(known.runs) == found
    for wider_mm in (3.0, 40.0):
        near = lines(9000.0, wider_mm)
        order = shortened(near, groups, classes, (9000.0, 0.0), known)
        assert sorted(c.line for c in order) == list(range(16))
        alone = travel_mm(near, shortened(near, groups, classes, (9000.0, 0.0)), (9000.0, 0.0))
        assert travel_mm(near, order, (9000.0, 0.0)) <= 1.1 * alone
