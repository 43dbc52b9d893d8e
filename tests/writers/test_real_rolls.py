"""Real jobs, from their files to drawings and machine files, read back by others against the nested pieces.

The nest is the plainest there is, one piece after another: what is tried here is everything behind it.
"""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import numpy as np
import pikepdf
import pytest
import shapely

from cutpath import again
from cutpath.drawing.fold_notes import fold_notes
from cutpath.drawing.paths import tool_paths
from cutpath.drawing.preflight import preflight
from cutpath.drawing.sheet import draw
from cutpath.errors import faults
from cutpath.nesting import one_after_another
from cutpath.pipeline import Settings, plan
from cutpath.values.batch import Sheet
from cutpath.values.listing import by_path
from cutpath.writers.dxf import to_dxf
from cutpath.writers.hpgl import to_hpgl
from cutpath.writers.machine_files import machine_files
from cutpath.writers.ngc import to_ngc
from cutpath.writers.svg import to_svg
from cutpath.writers.templates import template_files
from tests.drawing.machines import made
from tests.drawing.test_sheet import moved
from tests.writers import test_dxf, test_svg
from tests.writers.readers import read_hpgl, read_ngc

JOBS = sorted((Path(__file__).parents[2] / "fixtures" / "jobs").glob("*.toml"))


MOST_ALIKE = 3
"""Of each piece: the soakers of a terrace are 144, and those beyond a few tell nothing more."""


@cache
def planned():
    whole = plan(JOBS, settings=Settings(choose_lengths=False))
    return again.only(whole, {piece.id: min(piece.quantity, MOST_ALIKE) for piece in whole.pieces}, "R0000000")


@cache
def rolls():
    """The rolls of all jobs, nested in the plainest way."""
    return tuple(
        Sheet(f"code{lead.code}-{k}", lead, nested)
        for lead, problem in planned().problems
        for k, nested in enumerate(one_after_another(problem).rolls, 1)
    )


@cache
def drawn(number):
    """One of the rolls as it is drawn."""
    return draw(rolls()[number], pieces())


def pieces():
    return {piece.id: piece for piece in planned().pieces}


def outlines(sheet):
    """Where the outlines of all pieces lie, by shapely's own moves."""
    return [moved(shapely.LinearRing(pieces()[p.id].pattern.outline), p) for p in sheet.nested.placements]


def covered(run, sheet):
    """Every outline is run within 0.02 mm, all along it."""
    near = run.buffer(0.02)
    shapely.prepare(near)
    return all(near.covers(ring) or ring.difference(near).length < 0.02 for ring in outlines(sheet))


def test_every_roll_passes_its_preflight_and_all_pieces_are_laid() -> None:
    assert not [fault for number in range(len(rolls())) for fault in faults(preflight(drawn(number)))]
    laid = sum(len(sheet.nested.placements) for sheet in rolls())
    assert laid == sum(piece.quantity for piece in planned().pieces)


def in_capitals(groups, shapes):
    return np.char.upper(groups), shapes


DRAWINGS = {
    "R2000": lambda drawing, folder: test_dxf.read(to_dxf(drawing), folder),
    "R12": lambda drawing, folder: test_dxf.read(to_dxf(drawing, release="R12"), folder),
    "SVG": lambda drawing, folder: in_capitals(*test_svg.read(to_svg(drawing), folder)),
}
IN_TURN = [pytest.param(form, k, len(DRAWINGS)) for k, form in enumerate(DRAWINGS)]
TO_EACH = [pytest.param(form, 0, 1, marks=pytest.mark.slow) for form in DRAWINGS]


@pytest.mark.parametrize(("form", "first", "every"), IN_TURN + TO_EACH)
def test_every_piece_of_every_roll_comes_back(tmp_path, form, first, every):
    """The gate gives the rolls to the formats in turn, the long runs all to each."""
    patterns = {piece.id: piece.pattern for piece in planned().pieces}
    for number, sheet in [*enumerate(rolls())][first::every]:
        layers, shapes = DRAWINGS[form](drawn(number), tmp_path)
        outer = shapes[layers == "OUTER"]
        assert len(outer) == len(sheet.nested.placements)
        for placement in sheet.nested.placements:
            expected = moved(shapely.Polygon(patterns[placement.id].outline), placement)
            assert shapely.area(shapely.symmetric_difference(outer, expected)).min() < 1e-3
        cuts = [n for p in sheet.nested.placements for n in (*patterns[p.id].snips, *patterns[p.id].holes)]
        assert (layers == "INNER").sum() == len(cuts)
        roll = shapely.box(0, 0, sheet.nested.drawn_mm, sheet.nested.roll.width_mm).buffer(1e-3)
        assert shapely.covers(roll, shapes[layers != "REFERENCE"]).all()


BOTH = ("pen-marker", "flatbed-drag-knife")
TURNS = [pytest.param(name, 4 * k, 8) for k, name in enumerate(BOTH)]
EACH = [pytest.param(name, 0, 1, marks=pytest.mark.slow) for name in BOTH]


@pytest.mark.parametrize(("name", "first", "every"), TURNS + EACH)
def test_every_roll_can_be_run_and_every_outline_is_cut(name, first, every) -> None:
    """Every eighth roll for each machine in the gate, and all for each in the long runs."""
    for number, sheet in [*enumerate(rolls())][first::every]:
        paths = tool_paths(drawn(number), made(name, edge_cuts=True))
        assert not faults(paths.findings)
        cuts = [shapely.LineString(p.line) for f in paths.frames for p in f.passes if p.role == "outer"]
        assert covered(shapely.union_all(cuts), sheet)


def stepped():
    """The number of the first roll with a step flashing, and the roll."""
    steps = {piece.id for piece in planned().pieces if piece.pattern.family == "step flashing"}
    return next((k, roll) for k, roll in enumerate(rolls()) if steps & {p.id for p in roll.nested.placements})


def test_hpgl_of_a_real_roll_comes_back(tmp_path) -> None:
    marker = made("pen-marker")
    number, sheet = stepped()
    run = []
    for frame in tool_paths(drawn(number), marker).frames:
        if frame.passes:
            read = read_hpgl(to_hpgl(frame, marker), tmp_path)
            run += [shapely.affinity.translate(read[2], frame.start_mm, 0)] if 2 in read else []
    assert covered(shapely.union_all(run), sheet)


def test_ngc_of_a_real_roll_comes_back() -> None:
    number, sheet = stepped()
    set_up = made("flatbed-knife", edge_cuts=True).over(sheet.lead.thickness_mm)
    paths = tool_paths(drawn(number), set_up)
    run = [
        shapely.affinity.translate(shapely.LineString(points), frame.start_mm, 0)
        for frame in paths.frames
        if frame.passes
        for tool, points in read_ngc(to_ngc(paths, frame, set_up))
        if tool == 2
    ]
    assert covered(shapely.union_all(run), sheet)


def test_long_rolls_print_on_paper() -> None:
    sheet = rolls()[0]
    out = machine_files(sheet.id, drawn(0), made("wide-printer"), notes=fold_notes(sheet, pieces()), thickness_mm=1.8)
    for data in out.files.values():
        with pikepdf.open(io.BytesIO(data)) as pdf:
            assert len(pdf.pages) >= 2


@pytest.mark.parametrize("whole", [False, pytest.param(True, marks=pytest.mark.slow)], ids=["kinds", "all"])
def test_every_pattern_is_made(whole) -> None:
    """One of each kind in the gate."""
    kinds = {(p.pattern.family, p.pattern.part): p for p in planned().pieces}
    wanted = planned().pieces if whole else tuple(kinds.values())
    assert len(wanted) >= 15
    assert len(by_path(template_files(wanted))) == 3 * len(wanted)
