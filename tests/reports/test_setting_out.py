import csv
import io
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpath.reports.setting_out import running_dimensions, setting_out, setting_out_csv
from cutpath.values.pattern import Station

from .conftest import Spec, make_batch


def piece_with(*stations, mirrored=False):
    piece = make_batch([Spec()]).pieces[0]  # a strip 600 x 150
    pattern = replace(piece.pattern, stations=tuple(Station(*s) for s in stations), mirrored=mirrored)
    return replace(piece, pattern=pattern)


def test_figures_run_from_the_lower_left_corner_in_order():
    rows = setting_out([piece_with(("b", (200.4, 65.0)), ("a", (12.5, 90.2)))])
    assert [(r["station"], r["along_mm"], r["square_mm"]) for r in rows] == [("a", 13, 90), ("b", 200, 65)]
    assert {r["corner"] for r in rows} == {"lower left"}
    assert {(r["blank_length_mm"], r["blank_width_mm"]) for r in rows} == {(600.0, 150.0)}
    assert [r["worst_rounding_mm"] for r in rows] == pytest.approx([0.5, 0.5])


def test_a_left_hand_is_measured_from_the_right():
    (row,) = setting_out([piece_with(("a", (590.0, 20.0)), mirrored=True)])
    assert (row["along_mm"], row["square_mm"], row["corner"]) == (10, 20, "lower right")


def test_a_piece_without_stations_gives_no_rows():
    assert setting_out([piece_with()]) == []


@given(st.lists(st.tuples(st.floats(0, 600), st.floats(0, 150)), min_size=1, max_size=8), st.booleans())
def test_rounding_stays_within_what_is_stated(points, mirrored):
    piece = piece_with(*((f"s{i}", p) for i, p in enumerate(points)), mirrored=mirrored)
    rows = setting_out([piece])
    errors = [abs(r[f"{k}_mm"] - r[f"{k}_exact_mm"]) for r in rows for k in ("along", "square")]
    assert max(errors) == rows[0]["worst_rounding_mm"] <= 0.5 + 1e-9
    for row in rows:
        x, y = points[int(row["station"][1:])]
        assert row["along_exact_mm"] == pytest.approx(600.0 - x if mirrored else x)
        assert row["square_exact_mm"] == y


def test_csv_reads_back(two_codes):
    rows = list(csv.DictReader(io.StringIO(setting_out_csv(two_codes.pieces))))
    assert len(rows) == sum(len(p.pattern.stations) for p in two_codes.pieces)
    first = two_codes.pieces[0]
    own = [r for r in rows if r["piece"] == first.id]
    expected = [at for _, at in running_dimensions(first.pattern)]
    for row, (along, square) in zip(own, expected, strict=True):
        assert float(row["along_exact_mm"]) == pytest.approx(along, abs=5.1e-5)
        assert float(row["square_exact_mm"]) == pytest.approx(square, abs=5.1e-5)
        assert abs(int(row["along_mm"]) - along) <= float(row["worst_rounding_mm"]) + 5.1e-5
