"""Numbers of small pieces in the waste: in waste alone, each with a line to its own piece, or none at all."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from cutpath.drawing.lettering import letter
from cutpath.drawing.preflight import preflight
from cutpath.drawing.sheet import draw
from cutpath.machines import machine
from cutpath.values.drawing import LETTERING, Role
from cutpath.values.nest import Offcut, Placement
from tests.drawing.specimens import PIECES, piece, place, sheet
from tests.drawing.test_label import plate

TINY = piece(plate(12.0, 12.0), "B-A1-G1", 40)
ALL = {**PIECES, TINY.id: TINY}


def tiny(copy, left, low):
    return Placement(TINY.id, copy, 0.0, flipped=False, x_mm=left, y_mm=low)


ROW = [tiny(k, 60.0 * k, 30.0 + 20.0 * (k % 2)) for k in range(1, 9)]


def parts(drawing):
    lines = [s for s in drawing.strokes if s.name == "leader"]
    letters = [s for s in drawing.strokes if s.name == LETTERING and s.role is Role.MARK and not s.piece]
    outlines = {s.piece: shapely.Polygon(s.points) for s in drawing.strokes if s.role is Role.OUTER}
    return lines, letters, outlines


@pytest.fixture(scope="module")
def drawing():
    return draw(sheet([*ROW, place("A-K1-1", 1, left=600.0)], drawn=900.0), ALL)


def test_each_small_piece_has_its_number_beside_it(drawing):
    lines, letters, outlines = parts(drawing)
    assert drawing.unlettered == ()
    assert len(lines) == len(ROW)
    led = [name for line in lines for name, shape in outlines.items()
           if shape.distance(shapely.Point(line.points[-1])) < 1e-6]  # fmt: skip
    assert sorted(led) == sorted(f"{TINY.id}/{k}" for k in range(1, 9))
    assert len(letters) == sum(len(letter(f"{TINY.id} {k}/40", 5.0)) for k in range(1, 9))


def test_it_stands_in_waste_clear_of_every_cut(drawing):
    lines, letters, outlines = parts(drawing)
    pieces = shapely.union_all(list(outlines.values()))
    for stroke in letters:
        assert (
            shapely.LineString([*stroke.points, stroke.points[0]][: None if stroke.closed else -1]).distance(pieces)
            > 0.5
        )
    for line in lines:
        assert shapely.LineString(line.points).intersection(pieces).length < 1e-6
    assert preflight(drawing) == ()


def test_it_is_drawn_before_anything_is_cut(drawing):
    last = max(k for k, s in enumerate(drawing.strokes) if s.name == "leader")
    assert last < min(k for k, s in enumerate(drawing.strokes) if s.role in (Role.INNER, Role.OUTER))


def test_without_waste_the_piece_stays_without_a_number():
    full = sheet([tiny(k, 12.0 * (k - 1), 0.0) for k in range(1, 9)], width=12.0, drawn=96.0)
    drawing = draw(full, ALL)
    assert drawing.unlettered == (TINY.id,)
    assert not parts(drawing)[0]


def test_nothing_is_written_on_a_kept_offcut():
    offcut = Offcut(20.0, 0.0, 400.0, 450.0)
    here = sheet([tiny(1, 0.0, 100.0)], drawn=420.0)
    assert draw(here, ALL).unlettered == ()
    there = replace(here, nested=replace(here.nested, offcuts=(offcut,)))
    box = shapely.box(20.0, 0.0, 420.0, 450.0)
    for stroke in [s for s in draw(there, ALL).strokes if s.role is Role.MARK]:
        assert shapely.LineString(stroke.points).disjoint(box)


def test_a_machine_draws_it_with_its_pen(drawing):
    from cutpath.drawing.paths import tool_paths

    paths = tool_paths(drawing, machine("flatbed-knife"))
    run = [p for frame in paths.frames for p in frame.passes]
    assert sum(p.name == "leader" for p in run) == len(ROW)
    assert {p.head for p in run if p.name == "leader"} == {"pen"}
