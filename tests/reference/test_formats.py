"""Path geometry against figures that anyone can derive again; each test says from what.

Derived values unless said otherwise: plane trigonometry and arithmetic, no source needed but the reader's pencil.
"""

from __future__ import annotations

import math

import pytest
import shapely

from cutpath.drawing.arcs import chords, flattened, length_mm
from cutpath.drawing.frames import frame_count, windows
from cutpath.drawing.kerf import MITRE_LIMIT, widened
from cutpath.drawing.registration import error_mm
from cutpath.drawing.swivel import pivot_path
from cutpath.drawing.tabs import with_tabs
from cutpath.drawing.toolline import ToolLine
from cutpath.values.drawing import Role
from cutpath.values.machine import Tabs
from cutpath.values.toolpath import ToolMove
from tests.drawing.test_swivel import dragged


@pytest.mark.parametrize(("turn_deg", "arc_mm"), [(90, 3.1416), (45, 1.5708), (180, 6.2832), (-90, 3.1416)])
def test_swivel_arc_at_a_corner(turn_deg, arc_mm) -> None:
    """Blade offset 2 mm: the pivot runs an arc of 2 |t|; 3.1416 mm at a right angle."""
    t = math.radians(turn_deg)
    line = ((0.0, 0.0), (50.0, 0.0), (50 + 50 * math.cos(t), 50 * math.sin(t)))
    start, steps, _ = pivot_path(line, 2.0, 0.0)
    assert length_mm(start, steps) - 100.0 == pytest.approx(arc_mm, abs=5e-5)


def test_pivot_round_a_circle() -> None:
    """Circle of 25 mm, blade offset 2 mm: the pivot keeps sqrt(25^2 + 2^2) = 25.07987 mm from the middle."""
    n = 3600
    circle = [(25 * math.cos(math.tau * k / n), 25 * math.sin(math.tau * k / n)) for k in range(n + 1)]
    start, steps, _ = pivot_path(circle, 2.0, math.pi / 2)
    way = flattened(start, steps, 1e-4)[10:]
    assert [math.hypot(*p) for p in way] == pytest.approx([25.07987] * len(way), abs=2e-3)


@pytest.mark.parametrize("way_mm", [1.0, 3.0, 6.0])
def test_heading_error_that_is_left_without_a_swivel(way_mm) -> None:
    """tan(p/2) = tan(t/2) exp(-s/d): the law of a trailing blade, against a blade dragged in small steps."""
    d, t = 2.0, math.pi / 2
    tip = dragged([(0.0, 0.0), (0.0, way_mm)], d, 0.0)[-1]
    heading = math.atan2(way_mm - tip[1], 0.0 - tip[0])
    left = math.pi / 2 - heading
    assert math.tan(left / 2) == pytest.approx(math.tan(t / 2) * math.exp(-way_mm / d), rel=5e-3)


def test_kerf_areas() -> None:
    """Plate 100 x 50 with kerf 1.2: 101.2 x 51.2 = 5181.44 mm2; hole 40 x 30: 38.8 x 28.8 = 1117.44 mm2."""
    plate = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0))
    hole = ((30.0, 10.0), (30.0, 40.0), (70.0, 40.0), (70.0, 10.0))
    outer, (inner,) = widened(plate, [hole], 1.2)
    assert shapely.Polygon(outer).area == pytest.approx(5181.44, abs=1e-6)
    assert shapely.Polygon(inner).area == pytest.approx(1117.44, abs=1e-6)


@pytest.mark.parametrize(("apex_deg", "corners"), [(23.2, 3), (22.9, 4)])
def test_apexes_under_the_mitre_limit_are_bevelled(apex_deg, corners) -> None:
    """2 asin(1/5) = 23.07 deg: above it a triangle stays a triangle, below it loses its point."""
    assert math.degrees(2 * math.asin(1 / MITRE_LIMIT)) == pytest.approx(23.07, abs=5e-3)
    a = math.radians(apex_deg)
    assert len(widened(((0.0, 0.0), (200.0, 0.0), (200 * math.cos(a), 200 * math.sin(a))), [], 1.2)[0]) == corners


@pytest.mark.parametrize(
    ("long_mm", "frame_mm", "overlap_mm", "count"),
    [(6000, 1250, 50, 5), (3000, 1250, 50, 3), (1250, 1250, 50, 1), (1251, 1250, 50, 2)],
)
def test_frames(long_mm, frame_mm, overlap_mm, count) -> None:
    """1 if L <= F, else ceil((L - V) / (F - V)); and so many windows are laid where pieces stand everywhere."""
    assert frame_count(long_mm, frame_mm, overlap_mm) == count
    assert len(windows(long_mm, frame_mm, overlap_mm, [(0.0, float(long_mm))])) == count


def test_registration() -> None:
    """Marks 500 mm apart, each met within 0.25 mm, can still give 1 mm at 1 m; 570 mm apart 0.88 mm."""
    assert error_mm(500, 0.25, 1000) == pytest.approx(1.0)
    assert error_mm(570, 0.25, 1000) == pytest.approx(0.877, abs=1e-3)


def test_tab_gap() -> None:
    """A tab of 2 mm with a kerf of 1.2 mm needs a gap of 3.2 mm in the tool's way."""
    ring = ToolLine(Role.OUTER, "jet", "A", "o", ((0.0, 0.0), (300.0, 0.0), (300.0, 100.0), (0.0, 100.0)), closed=True)
    parts, _ = with_tabs(ring, Tabs(2.0, 400.0, 5.0, 2), 1.2, [])
    assert len(parts) == 3
    assert ring.length_mm - sum(shapely.LineString(p).length for p in parts) == pytest.approx(2 * 3.2)


@pytest.mark.parametrize(("radius", "sagitta"), [(100, 0.01), (25, 0.005), (2, 0.005), (1000, 0.1)])
def test_chords_for_a_sagitta(radius, sagitta) -> None:
    """ceil(pi / acos(1 - e/R)) chords: they keep the sagitta, and one fewer would not."""
    count = chords(radius, math.tau, sagitta)
    assert count == math.ceil(math.pi / math.acos(1 - sagitta / radius))
    assert radius * (1 - math.cos(math.pi / count)) <= sagitta
    assert radius * (1 - math.cos(math.pi / (count - 1))) > sagitta


def test_a_common_buffer_is_no_arc_of_ours() -> None:
    """A buffer of eight chords a quarter is 0.48 mm short at R = 100; our arcs keep the sagitta asked for."""
    circle = shapely.buffer(shapely.Point(0, 0), 100, quad_segs=8)
    assert 100 - circle.exterior.distance(shapely.Point(0, 0)) == pytest.approx(0.48, abs=0.005)
    half = (ToolMove((-100.0, 0.0), (0.0, 0.0), ccw=True),)
    arc = shapely.LineString(flattened((100.0, 0.0), half, 0.005))
    assert 100 - arc.distance(shapely.Point(0, 0)) <= 0.005


@pytest.mark.parametrize(("decimals", "broken"), [(3, True), (4, False)])
def test_arcs_need_four_decimals(decimals, broken) -> None:
    """Ends and middle rounded to three decimals miss the 0.002 mm radius rule now and then; with four never."""
    worst = 0.0
    for k in range(4000):
        a, b = 0.7 + k * 0.0137, 2.1 + k * 0.0211
        c = (100.123456 + k * 0.31, 57.654321 + k * 0.17)
        start = (c[0] + 2 * math.cos(a), c[1] + 2 * math.sin(a))
        end = (c[0] + 2 * math.cos(b), c[1] + 2 * math.sin(b))
        x, y, ex, ey = (round(v, decimals) for v in (*start, *end))
        i, j = round(c[0] - x, decimals), round(c[1] - y, decimals)
        worst = max(worst, abs(math.hypot(i, j) - math.hypot(ex - x - i, ey - y - j)))
    assert (worst > 0.002) is broken
