"""Real jobs, from their files to DXF and SVG, read back against their pieces where the nest put them.

The nest is the plainest there is, one piece after another: what is tried here is everything behind it.
"""

from pathlib import Path

import numpy as np
import pytest
import shapely

from cutpath.drawing.preflight import preflight
from cutpath.drawing.sheet import draw
from cutpath.errors import faults
from cutpath.nesting import one_after_another
from cutpath.pipeline import plan
from cutpath.values.batch import Sheet
from cutpath.writers.dxf import to_dxf
from cutpath.writers.svg import to_svg
from tests.drawing.test_sheet import moved
from tests.writers import test_dxf, test_svg

JOBS = sorted((Path(__file__).parents[2] / "fixtures" / "jobs").glob("*.toml"))

WRITERS = {
    "R2000": lambda drawing, folder: test_dxf.read(to_dxf(drawing), folder),
    "R12": lambda drawing, folder: test_dxf.read(to_dxf(drawing, release="R12"), folder),
    "SVG": lambda drawing, folder: in_capitals(*test_svg.read(to_svg(drawing), folder)),
}


def in_capitals(groups, shapes):
    return np.char.upper(groups), shapes


@pytest.fixture(scope="module")
def planned():
    return plan(JOBS)


@pytest.fixture(scope="module")
def drawn(planned):
    """Every roll with its drawing, which passes its preflight."""
    pieces = {piece.id: piece for piece in planned.pieces}
    sheets = [
        Sheet(f"code{lead.code}-{k}", lead, nested)
        for lead, problem in planned.problems
        for k, nested in enumerate(one_after_another(problem).rolls, 1)
    ]
    drawings = [(sheet, draw(sheet, pieces)) for sheet in sheets]
    assert not [fault for _, drawing in drawings for fault in faults(preflight(drawing))]
    laid = sum(len(sheet.nested.placements) for sheet in sheets)
    assert laid == sum(piece.quantity for piece in planned.pieces)
    return drawings


TURNS = [pytest.param(form, k, len(WRITERS)) for k, form in enumerate(WRITERS)]
EACH = [pytest.param(form, 0, 1, marks=pytest.mark.slow) for form in WRITERS]


@pytest.mark.parametrize(("form", "first", "every"), TURNS + EACH)
def test_every_piece_of_every_roll_comes_back(planned, drawn, tmp_path, form, first, every):
    """The gate gives the rolls to the formats in turn, the long runs all to each."""
    patterns = {piece.id: piece.pattern for piece in planned.pieces}
    for sheet, drawing in drawn[first::every]:
        layers, shapes = WRITERS[form](drawing, tmp_path)
        outer = shapes[layers == "OUTER"]
        assert len(outer) == len(sheet.nested.placements)
        for placement in sheet.nested.placements:
            expected = moved(shapely.Polygon(patterns[placement.id].outline), placement)
            assert shapely.area(shapely.symmetric_difference(outer, expected)).min() < 1e-3
        cuts = [n for p in sheet.nested.placements for n in (*patterns[p.id].snips, *patterns[p.id].holes)]
        assert (layers == "INNER").sum() == len(cuts)
        roll = shapely.box(0, 0, sheet.nested.drawn_mm, sheet.nested.roll.width_mm).buffer(1e-3)
        assert shapely.covers(roll, shapes[layers != "REFERENCE"]).all()
