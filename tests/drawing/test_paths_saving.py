"""A plan of 200 pieces is ordered with at least 30 % less way in the air than in nest order."""

from __future__ import annotations

import pytest

from cutpath.drawing.paths import tool_paths
from tests.drawing.machines import made

paths = pytest.importorskip("tests.bench.paths", reason="the benchmark's batches are not at hand")


@pytest.mark.parametrize("pieces", [100, pytest.param(200, marks=pytest.mark.slow)])
def test_many_pieces(pieces) -> None:
    plan = paths.on_one_sheet(paths.drawings(pieces, 1))
    assert len({s.piece for s in plan.strokes if s.piece}) == pieces
    report = tool_paths(plan, made("flatbed-knife", bed={"length_mm": 1e6, "width_mm": 2000.0})).report
    assert report.saving >= 0.3
