"""HP-GL, read back by hp2xx."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from cutpath.drawing.sheet import draw
from cutpath.values.drawing import Role
from cutpath.values.machine import Axis
from cutpath.writers.hpgl import to_hpgl
from tests.drawing.machines import made, paths_of
from tests.drawing.near import apart_mm
from tests.drawing.specimens import PIECES, full, place, sheet
from tests.writers.readers import read_hpgl

FULL = full()
CARD = draw(sheet([place("A-S1-R1", 1), place("B-P1-1", 1, left=1050.0)], drawn=1700.0), PIECES)


def expected(frame, machine, head):
    """Lines of the passes of one head in bed coordinates, by shapely's own moves."""
    lines = [shapely.LineString(p.line) for p in frame.passes if p.head == head.name]
    inset = machine.bed.inset_mm
    return shapely.affinity.translate(shapely.union_all(lines), inset - frame.start_mm, inset)


@pytest.mark.parametrize("head", [0, 1])
def test_another_reader_finds_every_line_within_a_fiftieth_of_a_mm(tmp_path, head) -> None:
    marker = made("pen-marker")
    for frame in paths_of(FULL, marker).frames:
        read = read_hpgl(to_hpgl(frame, marker), tmp_path)
        wanted = expected(frame, marker, marker.heads[head])
        assert apart_mm(read[head + 1], wanted, 0.1) < 0.02


def test_closed_outlines_come_back_closed_with_their_areas(tmp_path) -> None:
    marker = made("pen-marker", bed={"length_mm": 3000.0}, coordinate_limit=None, shared_once=False)
    (frame,) = paths_of(FULL, marker).frames
    read = read_hpgl(to_hpgl(frame, marker), tmp_path)[2]
    areas = sorted(p.area for p in shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.node(read)))))
    outers = [shapely.Polygon(s.points).area for s in FULL.strokes if s.role is Role.OUTER]
    # The plate's holes are faces of their own; together the faces make the pieces.
    assert sum(areas) == pytest.approx(sum(outers), rel=1e-4)


def test_a_drag_knife_is_written_by_its_pivot_and_cuts_the_line(tmp_path) -> None:
    from tests.drawing.test_swivel import dragged

    plotter = made("roll-plotter")
    frame = paths_of(CARD, plotter).frames[0]
    text = to_hpgl(frame, plotter)
    read_hpgl(text, tmp_path)
    knife = text[text.index("SP2;") :]
    heading = 2.0  # nobody knows how the blade points at first: the stroke in waste brings it round
    cuts = [p for p in frame.passes if p.head == "knife"]
    found = re.findall(r"PU(\d+),(\d+);\n((?:PD[\d,]+;\n)+)", knife)
    assert len(found) == len(cuts)
    for (x, y, downs), wanted in zip(found[:40], cuts, strict=False):
        numbers = [int(v) for v in re.findall(r"\d+", downs.replace("PD", " "))]
        pivots = [(int(x), int(y)), *zip(numbers[::2], numbers[1::2], strict=True)]
        pivots = [(a / 40 - 5 + frame.start_mm, b / 40 - 5) for a, b in pivots]
        tips = dragged(pivots, 0.9, heading)
        line = shapely.LineString(wanted.line)
        if wanted.line:  # rounding to 1/40 mm turns the blade a little
            assert max(line.distance(shapely.Point(t)) for t in tips[1:]) < 0.05
        last, end = tips[-1], pivots[-1]
        heading = math.atan2(end[1] - last[1], end[0] - last[0])


def test_the_text_holds_whole_positive_numbers_and_few_commands() -> None:
    plotter = made("roll-plotter")
    for frame in paths_of(CARD, plotter).frames:
        text = to_hpgl(frame, plotter)
        commands = [c for c in text.replace("\n", "").split(";") if c]
        assert commands[:2] == ["IN", "PA"]
        assert commands[-2:] == ["PU", "SP0"]
        assert all(re.fullmatch(r"IN|PA|SP\d|PU(\d+,\d+)?|PD\d+,\d+(,\d+,\d+)*", c) for c in commands)
        assert max(int(v) for v in re.findall(r"\d+", text)) <= 32767
        assert max(c.count(",") for c in commands) < 100


def test_rounding_does_not_add_up() -> None:
    marker = made("pen-marker", bed={"length_mm": 3000.0}, coordinate_limit=None, shared_once=False)
    (frame,) = paths_of(FULL, marker).frames
    written = []
    for numbers in re.findall(r"P[UD](\d[\d,]*);", to_hpgl(frame, marker)):
        values = [int(v) / 40 for v in numbers.split(",")]
        written += zip(values[::2], values[1::2], strict=True)
    wanted = []
    for before, p in pairwise([None, *frame.passes]):
        way = [p.start, *(s.to for s in p.moves)]
        wanted += way[1:] if p.goes_on_from(before) else way
    assert len(written) == len(wanted) > 900
    assert (
        max(abs(a - b) for w, v in zip(written, wanted, strict=True) for a, b in zip(w, v, strict=True))
        <= 0.0125 + 1e-9
    )


def test_numbers_beyond_the_device_are_refused() -> None:
    marker = made("pen-marker", bed={"length_mm": 3000.0})
    (frame,) = paths_of(FULL, marker).frames
    with pytest.raises(ValueError, match="beyond the device"):
        to_hpgl(frame, marker)


def test_a_roll_that_runs_up_the_bed_is_turned_and_not_mirrored(tmp_path) -> None:
    marker = made("pen-marker", bed={"along": Axis.Y})
    frame = paths_of(FULL, marker).frames[0]
    read = read_hpgl(to_hpgl(frame, marker), tmp_path)[2]
    turned = shapely.affinity.rotate(expected(frame, marker, marker.heads[1]), 90, origin=(0, 0))
    wanted = shapely.affinity.translate(turned, marker.bed.width_mm, 0)
    assert apart_mm(read, wanted, 0.1) < 0.02


def test_an_empty_frame_is_no_file() -> None:
    marker = made("pen-marker")
    frame = replace(paths_of(FULL, marker).frames[0], passes=())
    with pytest.raises(ValueError, match="nothing"):
        to_hpgl(frame, marker)
