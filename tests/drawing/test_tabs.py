"""Holding tabs: the sheet that is left standing, and where it may stand."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cutpath.drawing.tabs import tab_places, with_tabs
from cutpath.drawing.toolline import ToolLine
from cutpath.values.drawing import Role
from cutpath.values.machine import Tabs

TABS = Tabs(width_mm=2.0, spacing_mm=200.0, clear_mm=5.0, least=2)
PLATE = ((0.0, 0.0), (400.0, 0.0), (400.0, 150.0), (0.0, 150.0))


def line(points):
    return ToolLine(Role.OUTER, "jet", "A", "outline", tuple(points), closed=True)


def at(ring, s):
    for a, b in pairwise(ring):
        size = math.dist(a, b)
        if s <= size:
            return (a[0] + (b[0] - a[0]) * s / size, a[1] + (b[1] - a[1]) * s / size)
        s -= size
    raise AssertionError


@pytest.mark.parametrize("kerf", [0.0, 1.2, 3.0])
def test_a_tab_of_its_width_is_left_standing(kerf) -> None:
    parts, found = with_tabs(line(PLATE), TABS, kerf, [])
    assert not found
    run = shapely.union_all([shapely.LineString(p) for p in parts])
    whole = shapely.LineString(line(PLATE).ring)
    gaps = shapely.get_parts(whole.difference(run.buffer(1e-9)))
    assert len(gaps) == len(parts) - 1 == math.ceil(1100 / 200)
    for gap in gaps:
        assert gap.length == pytest.approx(2.0 + kerf, abs=1e-6)
        # What stands between the ends of the kerf, round as a jet leaves them:
        assert gap.length - kerf == pytest.approx(2.0, abs=1e-6)


@given(st.lists(st.floats(0, 1100), max_size=6), st.floats(0, 2))
def test_tabs_keep_off_corners_folds_and_each_other(keep_off, kerf) -> None:
    ring = line(PLATE).ring
    points = [at(ring, s) for s in keep_off]
    places = tab_places(ring, TABS, kerf, points)
    keep = (TABS.width_mm + kerf) / 2 + TABS.clear_mm
    for s in places:
        middle = at(ring, s)
        for p in (*PLATE, *points):
            assert math.dist(middle, p) >= keep - 1e-6
    assert all(b - a >= TABS.width_mm + kerf + 2 * TABS.clear_mm - 1e-9 for a, b in pairwise(places))


@pytest.mark.parametrize("kerf", [0.0, 1.2])
def test_a_tab_makes_way_for_a_fold(kerf) -> None:
    ring = line(PLATE).ring
    usual = tab_places(ring, TABS, kerf, [])
    folds = [at(ring, s) for s in usual]
    moved = tab_places(ring, TABS, kerf, folds)
    assert len(moved) == len(usual)
    keep = (TABS.width_mm + kerf) / 2 + TABS.clear_mm
    assert all(math.dist(at(ring, s), p) >= keep - 1e-6 for s in moved for p in folds)


def test_a_piece_without_room_is_reported() -> None:
    small = ((0.0, 0.0), (12.0, 0.0), (12.0, 12.0), (0.0, 12.0))
    parts, (found,) = with_tabs(line(small), TABS, 1.2, [])
    assert parts == [line(small).ring]
    assert found.code == "CP608"


def test_a_round_line_takes_tabs_too() -> None:
    circle = [(100 * math.cos(math.tau * k / 90), 100 * math.sin(math.tau * k / 90)) for k in range(90)]
    assert len(tab_places(line(circle).ring, TABS, 0.0, [])) == math.ceil(math.tau * 100 / 200)
