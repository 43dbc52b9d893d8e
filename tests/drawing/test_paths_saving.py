"""A plan of 200 pieces is ordered with at least 30 % less way in the air than in nest order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutpath.drawing.path_report import told
from cutpath.drawing.paths import tool_paths
from tests.drawing.machines import made

paths = pytest.importorskip("tests.bench.paths", reason="the benchmark's batches are not at hand")


@pytest.mark.parametrize("pieces", [30, pytest.param(200, marks=pytest.mark.slow)])
def test_many_pieces(pieces) -> None:
    plan = paths.on_one_sheet(paths.drawings(pieces, 1))
    assert len({s.piece for s in plan.strokes if s.piece}) == pieces
    report = tool_paths(plan, made("flatbed-knife", bed={"length_mm": 1e6, "width_mm": 2000.0})).report
    assert report.saving >= 0.5, "0.56 here, and 0.45 with the lines as they are drawn"


def test_travel_beside_that_of_the_nest_is_never_less_than_nothing() -> None:
    plan = paths.on_one_sheet(paths.drawings(2, 1))
    path = tool_paths(plan, made("flatbed-knife", bed={"length_mm": 1e6, "width_mm": 2000.0}))
    for up, words in ((0.5, "50 % less than in"), (1.0, "as much as in"), (1.36, "36 % more than in")):
        beside = replace(path.report, order_mm=up * path.report.nest_order_mm)
        assert f"({words} the order of the nest)" in told(replace(path, report=beside))
    assert "head" not in told(path, on_paper=True)
