"""Leads stay in waste: off their own piece, off neighbours, on the sheet."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import strategies as st

from cutpath.drawing.kerf import widened
from cutpath.drawing.leads import Waste, lead_points, lead_starts
from cutpath.drawing.toolline import ToolLine
from cutpath.values.drawing import Role
from cutpath.values.machine import Leads
from tests.properties.surveys import for_all

LEADS = Leads(4.0, 2.0)
KERF = 1.2


def at(x, y, size=60.0):
    return ((x, y), (x + size, y), (x + size, y + size), (x, y + size))


def cut(shape, name, role=Role.OUTER):
    outline, _ = widened(shape, [], KERF)
    return ToolLine(role, "jet", name, "outline", outline, closed=True)


def sheet(*shapes, size=400.0):
    return Waste([shapely.Polygon(s) for s in shapes], size, size)


def ways(line):
    return [shapely.LineString([*lead_points(line, k, LEADS)[:1], line.points[k]]) for k in line.starts or ()] + [
        shapely.LineString([line.points[k], *lead_points(line, k, LEADS)[1:]]) for k in line.starts or ()
    ]


@for_all(st.floats(1.3, 12), st.floats(-30, 30), st.floats(20, 120))
def test_every_lead_that_is_allowed_lies_in_waste(gap, shift, size) -> None:
    shapes = [at(150.0, 150.0), at(210.0 + gap, 150.0 + shift, size)]
    lines, _ = lead_starts([cut(s, str(k)) for k, s in enumerate(shapes)], LEADS, KERF, sheet(*shapes))
    for line in lines:
        for way in ways(line):
            for shape in shapes:
                assert way.distance(shapely.Polygon(shape)) >= KERF / 2 - 1e-5


def test_a_lone_piece_may_be_begun_anywhere() -> None:
    (line,), found = lead_starts([cut(at(100, 100), "A")], LEADS, KERF, sheet(at(100, 100)))
    assert not found
    assert len(line.starts) == len(line.points) == 8  # corners, and the middles of long edges


def test_a_hole_is_entered_from_inside_it() -> None:
    plate, hole = at(50, 50, 200), tuple(reversed(at(100, 100)))
    _, (shrunk,) = widened(plate, [hole], KERF)
    line = ToolLine(Role.INNER, "jet", "A", "hole", shrunk, closed=True)
    (led,), found = lead_starts([line], LEADS, KERF, Waste([shapely.Polygon(plate, [hole])], 400, 400))
    assert not found
    assert all(shapely.Polygon(hole).contains(way) for way in ways(led))


def test_a_piece_hemmed_in_on_all_sides_is_reported() -> None:
    middle = at(100, 100)
    ring = shapely.box(98.0, 98.0, 162.0, 162.0).exterior.buffer(0.5)
    (line,), (found,) = lead_starts([cut(middle, "A")], LEADS, KERF, Waste([shapely.Polygon(middle), ring], 400, 400))
    assert line.starts == ()
    assert found.code == "CP607"


def test_no_lead_leaves_the_sheet() -> None:
    corner = at(0.6, 0.6)
    (line,), _ = lead_starts([cut(corner, "A")], LEADS, KERF, sheet(corner))
    room = shapely.box(0, 0, 400, 400)
    assert line.starts
    assert all(room.contains(way) for way in ways(line))
    assert min(range(len(line.points)), key=lambda k: sum(line.points[k])) not in line.starts


@pytest.mark.parametrize("corner", range(4))
def test_way_in_and_way_out_are_not_the_same_line(corner) -> None:
    begin, end = lead_points(cut(at(0, 0), "A"), corner, Leads(4.0, 4.0))
    assert math.dist(begin, end) > 2.0
