"""The drag knife: a blade that is dragged along the pivot's way has its tip on the line."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import strategies as st

from cutpath.drawing.arcs import flattened, length_mm, turn_rad
from cutpath.drawing.swivel import pivot_path, with_overcut
from cutpath.values.toolpath import ToolMove
from tests.properties.surveys import for_all

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0), (0.0, 0.0))


def dragged(pivots, offset, heading):
    """Drag a blade by its pivot: at each small move the tip is pulled along the line from tip to pivot."""
    x, y = pivots[0]
    tip = (x - offset * math.cos(heading), y - offset * math.sin(heading))
    tips = [tip]
    for a, b in pairwise(pivots):
        count = max(1, math.ceil(math.dist(a, b) / 0.005))
        for k in range(1, count + 1):
            p = (a[0] + (b[0] - a[0]) * k / count, a[1] + (b[1] - a[1]) * k / count)
            gap = math.dist(p, tip)
            tip = (p[0] + (tip[0] - p[0]) * offset / gap, p[1] + (tip[1] - p[1]) * offset / gap)
        tips.append(tip)
    return tips


def off_line(points, line):
    import shapely

    path = shapely.LineString(line)
    return max(path.distance(shapely.Point(p)) for p in points)


@pytest.mark.parametrize("offset", [0.25, 0.9, 2.0])
@pytest.mark.parametrize("heading", [0.0, 1.0, math.pi])
def test_the_tip_of_a_dragged_blade_stays_on_the_line(offset, heading) -> None:
    start, steps, end = pivot_path(SQUARE, offset, heading)
    tips = dragged(flattened(start, steps, 1e-4), offset, heading)
    assert off_line(tips, SQUARE) < 0.02
    assert math.dist(tips[0], SQUARE[0]) < 1e-9
    assert math.dist(tips[-1], SQUARE[-1]) < 0.02
    assert end == pytest.approx(-math.pi / 2)


def test_without_swivels_the_tip_would_leave_the_line() -> None:
    tips = dragged(SQUARE, 2.0, 0.0)
    assert off_line(tips, SQUARE) > 0.5


lines = st.lists(
    st.tuples(st.floats(-200, 200), st.floats(-200, 200)), min_size=2, max_size=12
).map(lambda points: [p for k, p in enumerate(points) if not k or math.dist(p, points[k - 1]) > 0.5])  # fmt: skip


@for_all(lines.filter(lambda line: len(line) > 1), st.floats(0.1, 3.0), st.floats(-4, 4))
def test_arcs_rest_on_the_corners_and_are_at_most_half_a_turn(line, offset, heading) -> None:
    start, steps, _ = pivot_path(line, offset, heading)
    at = start
    for step in steps:
        if step.centre is not None:
            assert any(math.dist(step.centre, p) < 1e-9 for p in line)
            assert math.dist(at, step.centre) == pytest.approx(offset, abs=1e-6)
            assert math.dist(step.to, step.centre) == pytest.approx(offset, abs=1e-6)
            assert abs(turn_rad(at, step)) <= math.pi + 1e-6
        at = step.to
    straight = [s for s in steps if s.centre is None]
    assert len(straight) == len(line) - 1
    turns = math.fsum(
        abs(turn_rad(a, b)) for a, b in zip([start, *(s.to for s in steps)], steps, strict=False) if b.centre
    )
    whole = math.fsum(math.dist(a, b) for a, b in pairwise(line))
    assert length_mm(start, steps) == pytest.approx(whole + offset * turns, abs=1e-6)


def test_a_blade_that_already_points_along_the_line_needs_no_arc() -> None:
    _, steps, _ = pivot_path(((0.0, 0.0), (10.0, 0.0)), 1.0, 0.0)
    assert steps == (ToolMove((11.0, 0.0)),)


def test_overcut_runs_on_along_the_first_edges() -> None:
    assert with_overcut(SQUARE, 3.0) == (*SQUARE, (3.0, 0.0))
    assert with_overcut(SQUARE, 130.0) == (*SQUARE, (100.0, 0.0), (100.0, 30.0))
    assert with_overcut(SQUARE, 0.0) == SQUARE
