"""A real job, from its file to DXF and SVG, read back against its pieces where the nest put them."""

from pathlib import Path

import numpy as np
import pytest
import shapely

from cutpath.pipeline import Settings, files_of, nest_batch, plan
from tests.drawing.test_sheet import moved
from tests.writers import test_dxf, test_svg

JOB = Path(__file__).parents[2] / "fixtures" / "jobs" / "chimney.toml"


@pytest.fixture(scope="module")
def made():
    settings = Settings(seconds=1.0)
    batch = nest_batch(plan([JOB], settings=settings), settings)
    files, _ = files_of(batch)
    return batch, files


def shapes_of(path, text, folder):
    if path.endswith(".svg"):
        groups, shapes = test_svg.read(text, folder)
        return np.char.upper(groups), shapes
    return test_dxf.read(text, folder)


@pytest.mark.parametrize("suffix", ["_mm.dxf", "_mm_r12.dxf", "_mm.svg"])
def test_every_piece_of_every_roll_comes_back(made, tmp_path, suffix):
    batch, files = made
    patterns = {piece.id: piece.pattern for piece in batch.pieces}
    read_back = 0
    for sheet in batch.sheets:
        path = f"rolls/{sheet.id}{suffix}"
        layers, shapes = shapes_of(path, files[path].decode(), tmp_path)
        outer = shapes[layers == "OUTER"]
        assert len(outer) == len(sheet.nested.placements)
        for placement in sheet.nested.placements:
            expected = moved(shapely.Polygon(patterns[placement.id].outline), placement)
            assert shapely.area(shapely.symmetric_difference(outer, expected)).min() < 1e-3
            read_back += 1
        cuts = [n for p in sheet.nested.placements for n in (*patterns[p.id].snips, *patterns[p.id].holes)]
        assert (layers == "INNER").sum() == len(cuts)
        roll = shapely.box(0, 0, sheet.nested.drawn_mm, sheet.nested.roll.width_mm).buffer(1e-3)
        assert shapely.covers(roll, shapes[layers != "REFERENCE"]).all()
    assert read_back == sum(piece.quantity for piece in batch.pieces)
