"""What to fetch and what to buy: rolls alike together, stock first, money only where prices are known."""

from __future__ import annotations

import csv
import io

import pytest

from cutpath.profiles import lead_table
from cutpath.profiles.rolls import parse_rolls
from cutpath.reports.account.buy_list import buy_cells, buy_list, buy_list_csv, to_measure
from cutpath.values.batch import Batch, Sheet
from cutpath.values.nest import NestedRoll, Roll


def batch(*rolls: tuple[int, Roll]) -> Batch:
    sheets = tuple(
        Sheet(f"code{code}-{n:02d}", lead_table()[code], NestedRoll(roll, 1000.0, (), ()))
        for n, (code, roll) in enumerate(rolls, 1)
    )
    return Batch((), (), (), sheets, (), 1, "0")


NEW = Roll(450.0, 6000.0)
KEPT = Roll(300.0, 1200.0, 1, offcut=True, name="S0007, behind the van")
OWN = Roll(450.0, 6000.0, 1, owned=True, name="S0002, rack 2")


def test_rolls_alike_stand_in_one_row_and_what_is_fetched_comes_first():
    rows = buy_list(batch((4, NEW), (4, KEPT), (3, NEW), (4, NEW), (4, OWN)))
    assert [(r["way"], r["code"], r["rolls"], r["name"]) for r in rows] == [
        ("fetch", 4, 1, "S0007, behind the van"),
        ("fetch", 4, 1, "S0002, rack 2"),
        ("buy", 3, 1, ""),
        ("buy", 4, 2, ""),
    ]
    assert rows[3]["for_rolls"] == ["code4-01", "code4-04"]
    assert rows[3]["kg"] == pytest.approx(2 * 0.45 * 6.0 * lead_table()[4].mass_kg_m2)


def test_what_is_bought_in_all_is_told_and_nothing_is_where_nothing_is_bought():
    _, cells = buy_cells(buy_list(batch((4, NEW), (4, NEW), (4, KEPT))))
    assert cells[-1][:4] == ("buy in all", "", "", "2")
    head, cells = buy_cells(buy_list(batch((4, KEPT), (4, OWN))))
    assert [row[0] for row in cells] == ["fetch", "fetch"]
    assert "price" not in head


def test_money_is_summed_and_says_where_a_price_is_not_known():
    (priced,) = parse_rolls("rolls = [{ width_mm = 450, length_mm = 6000, price = 180.5 }]", "prices")
    head, cells = buy_cells(buy_list(batch((4, priced), (4, priced), (3, priced))))
    assert (head[-1], [row[-1] for row in cells]) == ("price", ["180.50", "361.00", "541.50"])
    _, cells = buy_cells(buy_list(batch((4, priced), (3, NEW))))
    assert cells[-1][-1] == "180.50 and more"


def test_a_roll_that_nobody_measured_is_named_so_and_warned_of():
    """A guess is written to ten millimetres, as the stock writes one; how much is drawn off it stays exact."""
    guessed, known = parse_rolls(
        """rolls = [{ width = 450, length = "about 4 m", name = "the van" }, { width = 450, length = "4 m" }]""", "list"
    )
    assert (guessed.length_mm, guessed.exact, known.exact) == (4000.0, False, True)
    (row, other) = buy_list(batch((4, guessed), (4, known)))
    assert {row["name"], other["name"]} == {"", "the van; about 4000 mm: measure it first"}
    (warned,) = to_measure(batch((4, guessed), (4, known)).sheets)
    assert (warned.code, warned.found) == ("CP805", "about 4000 mm long, 1000 mm of it drawn")
    assert "list of rolls" in warned.remedy


def test_the_csv_has_a_row_for_each_and_no_formula():
    evil = Roll(300.0, 1200.0, 1, offcut=True, name="=1+1")
    rows = list(csv.DictReader(io.StringIO(buy_list_csv(buy_list(batch((4, NEW), (4, evil)))))))
    assert [row["way"] for row in rows] == ["fetch", "buy"]
    assert not rows[0]["name"].startswith("=")
    assert (rows[1]["width_mm"], rows[1]["length_mm"], rows[1]["price"]) == ("450.0", "6000.0", "")
