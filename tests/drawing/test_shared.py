"""Shared lines are run once over the whole roll, and nothing comes loose before its own cuts are made."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely

from cutpath.drawing.paths import tool_paths
from cutpath.drawing.sheet import draw
from cutpath.values.drawing import Drawing, Role, Stroke
from tests.drawing.machines import made
from tests.drawing.specimens import PIECES, full_sheet


def box(x, y, wide, high, piece):
    return Stroke(Role.OUTER, ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high)), True, piece, "outline")


def snip(a, b, piece):
    return Stroke(Role.INNER, (a, b), False, piece, "snip")


def block(count=4, rows=3, wide=500.0, high=150.0):
    """A wall of boxes laid like bricks, each with a snip, all sharing their edges."""
    strokes = []
    for row in range(rows):
        for k in range(count):
            x, y, name = k * wide + (row % 2) * wide / 2, row * high, f"{row}{k}"
            strokes += [box(x, y, wide, high, name), snip((x + 100, y), (x + 100, y + 40), name)]
    return Drawing("wall", count * wide + wide / 2, rows * high, tuple(strokes))


def run_in_order(paths):
    return [p for f in paths.frames for p in f.passes if p.role in (Role.INNER, Role.OUTER) and p.number == 1]


def begun_when_loose(drawing, paths):
    """Cuts of a piece's inside that begin after all of its outline was cut."""
    outlines = {s.piece: shapely.LinearRing(s.points) for s in drawing.strokes if s.role is Role.OUTER}
    left = dict(outlines)
    late = []
    for p in run_in_order(paths):
        if p.role is Role.INNER and left[p.piece].length < 1.0:
            late.append((p.piece, p.name))
        if p.role is Role.OUTER:
            way = shapely.LineString(p.line).buffer(0.01)
            left = {name: line.difference(way) for name, line in left.items()}
    return late


def run_twice_mm(paths):
    lines = [shapely.LineString(p.line) for p in run_in_order(paths) if p.role is Role.OUTER]
    return math.fsum(line.length for line in lines) - shapely.union_all(lines).length


@pytest.mark.parametrize("frame", [20000.0, 1250.0, 800.0])
def test_a_wall_of_pieces_is_cut_once_in_all_its_frames(frame) -> None:
    paths = tool_paths(block(), made("flatbed-knife", bed={"length_mm": frame}))
    assert len(paths.frames) == (1 if frame > 3000 else len(paths.frames))
    assert run_twice_mm(paths) == pytest.approx(0.0, abs=0.01)
    whole = shapely.union_all([shapely.LinearRing(s.points) for s in block().strokes if s.role is Role.OUTER])
    cut = shapely.union_all([shapely.LineString(p.line) for p in run_in_order(paths) if p.role is Role.OUTER])
    edges = shapely.MultiLineString([((0, y), (2250, y)) for y in (0.0, 450.0)])
    missed = whole.difference(cut.buffer(0.01)).difference(edges.buffer(0.01))
    assert missed.length == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("frame", [20000.0, 1250.0, 800.0])
def test_no_snip_begins_after_its_piece_is_loose(frame) -> None:
    drawing = block()
    paths = tool_paths(drawing, made("flatbed-knife", bed={"length_mm": frame}))
    assert begun_when_loose(drawing, paths) == []


def test_a_real_sheet_keeps_both_rules() -> None:
    drawing = draw(full_sheet(), PIECES)
    for name in ("flatbed-knife", "flatbed-drag-knife"):
        paths = tool_paths(drawing, made(name, bed={"length_mm": 1250.0, "width_mm": 2000.0}))
        assert run_twice_mm(paths) == pytest.approx(0.0, abs=0.01)
        assert begun_when_loose(drawing, paths) == []


def test_the_later_of_two_neighbours_takes_the_line() -> None:
    drawing = Drawing("two", 900.0, 300.0, (box(0, 0, 400, 200, "A"), box(400, 0, 400, 200, "B")))
    order = run_in_order(tool_paths(drawing, made("flatbed-knife")))
    seam = shapely.LineString([(400, 0), (400, 200)])
    owners = [p.piece for p in order if shapely.LineString(p.line).intersection(seam.buffer(0.01)).length > 100]
    assert owners == [order[-1].piece]


def test_lines_of_a_piece_stay_in_one_stretch_of_the_order() -> None:
    paths = tool_paths(block(), made("flatbed-knife", bed={"length_mm": 20000.0}))
    runs = [a.piece for a, b in pairwise([*run_in_order(paths), None]) if b is None or a.piece != b.piece]
    assert len(runs) == len(set(runs))
