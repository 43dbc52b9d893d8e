"""Kerf: the piece keeps its size, and what the kerf would swallow is found."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cutpath.drawing.kerf import kerf_findings, offset_lines, widened
from cutpath.drawing.toolline import ToolLine
from cutpath.values.drawing import Role

PLATE = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0))
HOLE = ((30.0, 5.0), (30.0, 35.0), (70.0, 35.0), (70.0, 5.0))


def notch(width):
    return (*PLATE[:3], (50.0 + width, 50.0), (50.0 + width, 20.0), (50.0, 20.0), (50.0, 50.0), PLATE[3])


def tool(points, name="A", role=Role.OUTER, *, closed=True):
    return ToolLine(role, "jet", name, "line", tuple(points), closed)


@pytest.mark.parametrize("width", [0.4, 1.0, 1.19])
def test_a_notch_narrower_than_the_kerf_is_refused(width) -> None:
    with pytest.raises(ValueError, match="notch"):
        widened(notch(width), [], 1.2)


def test_a_notch_wider_than_the_kerf_stays() -> None:
    outline, _ = widened(notch(1.3), [], 1.2)
    assert len(outline) == 8


@pytest.mark.parametrize("narrow", [((20.0, 5.0), (20.0, 6.0), (80.0, 6.0), (80.0, 5.0)),
                                    ((20.0, 5.0), (21.0, 5.5), (20.0, 6.0))])  # fmt: skip
def test_a_hole_narrower_than_the_kerf_is_refused_and_not_lost(narrow) -> None:
    with pytest.raises(ValueError, match="hole 2"):
        widened(PLATE, [HOLE, narrow], 1.2)


def test_a_waist_in_a_hole_that_would_close_is_refused() -> None:
    waist = ((10.0, 10.0), (10.0, 30.0), (40.0, 20.5), (70.0, 30.0), (70.0, 10.0), (40.0, 19.5))
    with pytest.raises(ValueError, match="hole 1"):
        widened(PLATE, [waist], 1.2)


@given(st.floats(30, 150), st.floats(40, 400), st.floats(0.2, 4))
def test_offsets_of_a_triangle_lie_half_a_kerf_away(apex, size, kerf) -> None:
    a = math.radians(apex)
    triangle = ((0.0, 0.0), (size, 0.0), (size * math.cos(a), size * math.sin(a)))
    grown, _ = widened(triangle, [], kerf)
    inside, outside = shapely.Polygon(triangle), shapely.Polygon(grown)
    assert outside.exterior.distance(inside) == pytest.approx(kerf / 2, abs=1e-6)
    assert outside.exterior.is_ccw


def test_lines_of_a_piece_move_to_their_waste_sides() -> None:
    snip = tool([(0.0, 25.0), (20.0, 25.0)], role=Role.INNER, closed=False)
    moved, found = offset_lines([tool(PLATE), tool(HOLE, role=Role.INNER), snip], 1.2)
    assert not found
    outer = next(m for m in moved if m.role is Role.OUTER)
    hole = next(m for m in moved if m.role is Role.INNER and m.closed)
    cut = next(m for m in moved if not m.closed)
    assert shapely.Polygon(outer.points).area == pytest.approx(5181.44)
    assert shapely.Polygon(hole.points).area == pytest.approx(1117.44)
    assert cut.points == ((0.0, 25.0), (pytest.approx(19.4), 25.0))


def test_a_swallowed_hole_is_a_finding_and_its_piece_is_not_cut() -> None:
    slot = [(20.0, 5.0), (20.0, 6.0), (80.0, 6.0), (80.0, 5.0)]
    moved, (found,) = offset_lines([tool(PLATE), tool(slot, role=Role.INNER)], 1.2)
    assert (found.code, found.where) == ("CP605", "A")
    assert not moved


@pytest.mark.parametrize(("gap", "count"), [(1.2, 0), (1.1, 2), (0.0, 2), (5.0, 0)])
def test_a_kerf_that_reaches_a_neighbour_is_found(gap, count) -> None:
    other = tuple((x + 100.0 + gap, y) for x, y in PLATE)
    lines, _ = offset_lines([tool(PLATE), tool(other, "B")], 1.2)
    shapes = [("A", shapely.Polygon(PLATE)), ("B", shapely.Polygon(other))]
    found = kerf_findings(lines, shapes, 1.2)
    assert [f.code for f in found] == ["CP606"] * count
