import csv
import io
import json

import pytest

from cutpath.reports.account.cutting_list import cutting_list, cutting_list_csv, cutting_list_table
from tests.reports.conftest import Laid, Spec, make_batch


def test_a_row_says_what_where_and_how_heavy():
    batch = make_batch([Spec(4, 300.0, (Laid(1, 600.0, 0.5, 2),))])
    (row,) = cutting_list(batch)
    assert row == {
        "id": "B-S0-R0", "job": batch.pieces[0].job, "detail": "S0", "family": "step flashing", "hand": "right",
        "number": 1, "of": 1, "quantity": 2, "code": 4, "length_mm": 600.0, "width_mm": 150.0, "developed_mm": 600.0,
        "movement_mm": pytest.approx(600.0 * 45 * 29.7e-6),
        "each_kg": pytest.approx(0.072 * 20.41), "total_kg": pytest.approx(0.144 * 20.41), "rolls": ["code4-01"],
        "face_down": 0,
    }  # fmt: skip


def test_pieces_alone_have_no_rolls_and_the_rest_is_the_same(two_codes):
    alone, nested = cutting_list(two_codes.pieces), cutting_list(two_codes)
    assert all(row["rolls"] == [] for row in alone)
    assert [{**row, "rolls": []} for row in nested] == alone
    assert json.loads(json.dumps(nested)) == nested


def test_csv_reads_back(two_codes):
    rows = cutting_list(two_codes)
    back = list(csv.DictReader(io.StringIO(cutting_list_csv(rows))))
    assert [r["id"] for r in back] == [p.id for p in two_codes.pieces]
    assert [r["job"] for r in back] == [p.job for p in two_codes.pieces]
    for row, text in zip(rows, back, strict=True):
        assert float(text["length_mm"]) == pytest.approx(row["length_mm"], abs=0.051)
        assert float(text["total_kg"]) == pytest.approx(row["total_kg"], abs=0.00051)
        assert text["rolls"].split() == row["rolls"]


def test_table_ends_with_count_and_mass(two_codes):
    rows = cutting_list(two_codes)
    last = cutting_list_table(rows).splitlines()[-1]
    assert last == f"{sum(p.quantity for p in two_codes.pieces)} pieces, {sum(r['total_kg'] for r in rows):.2f} kg"


def test_a_length_of_2_m_moves_as_in_the_published_worked_example():
    """Building Construction Handbook, 8th ed. (read): 29.7e-6, -10 to 35 C, 2 m -> 2.67 mm."""
    (row,) = cutting_list(make_batch([Spec(4, 300.0, (Laid(0, 2000.0, 0.5),))]).pieces)
    assert row["movement_mm"] == pytest.approx(2.67, abs=0.005)
    assert "between -10 and 35 °C" in cutting_list_table([row])
    (text,) = csv.DictReader(io.StringIO(cutting_list_csv([row])))
    assert text["movement_mm"] == "2.7"
