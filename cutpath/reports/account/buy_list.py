"""What to fetch from stock and what to buy: by code and width, whole rolls, weight, money where prices are known."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum
from typing import TypedDict

from cutpath.errors import Finding, Severity
from cutpath.paper.text import csv_text, fixed, kilograms, millimetres
from cutpath.reports.account.shape import mass_kg
from cutpath.values.batch import Batch, Sheet
from cutpath.values.stock import length_words


class BuyRow(TypedDict):
    """Rolls alike: ``way`` is fetch or buy; ``name`` says which or where, ``for_rolls`` which of the run's they are.

    ``kg`` is of all of them, whole; ``price`` what all of them cost, None where no price is known.
    """

    way: str
    code: int
    width_mm: float
    length_mm: float
    rolls: int
    kg: float
    name: str
    price: float | None
    for_rolls: list[str]


FETCH, BUY = "fetch", "buy"


def buy_list(batch: Batch) -> list[BuyRow]:
    """List what to fetch and then what to buy, by code, width and length."""
    alike: dict[tuple[object, ...], list[Sheet]] = {}
    for sheet in batch.sheets:
        roll = sheet.nested.roll
        way = FETCH if roll.in_stock else BUY
        key = (way != FETCH, sheet.lead.code, roll.width_mm, roll.length_mm, roll.name, roll.price)
        alike.setdefault(key, []).append(sheet)
    order = sorted(alike, key=lambda key: (*key[:5], key[5] is not None, key[5] or 0.0))
    return [_row(alike[key]) for key in order]


def to_measure(sheets: Sequence[Sheet]) -> list[Finding]:
    """Warn of every roll that is cut and whose length nobody measured, as its list says."""
    return [
        Finding(
            "CP805",
            sheet.id,
            f"{length_words(roll.length_mm, exact=False)} long, {millimetres(sheet.nested.drawn_mm)} mm of it drawn",
            "a length that was measured",
            "Measure it before you cut, and put its length right in the list of rolls.",
            Severity.WARNING,
        )
        for sheet in sheets
        if not (roll := sheet.nested.roll).exact
    ]


def _row(sheets: Sequence[Sheet]) -> BuyRow:
    roll, lead = sheets[0].nested.roll, sheets[0].lead
    return {
        "way": FETCH if roll.in_stock else BUY,
        "code": lead.code,
        "width_mm": roll.width_mm,
        "length_mm": roll.length_mm,
        "rolls": len(sheets),
        "kg": mass_kg(roll.width_mm * roll.length_mm, lead) * len(sheets),
        "name": roll.name,
        "price": None if roll.price is None or roll.in_stock else roll.price * len(sheets),
        "for_rolls": [sheet.id for sheet in sheets],
    }


def buy_list_csv(rows: Sequence[BuyRow]) -> str:
    """Write the list as CSV; lengths to 0.1 mm, masses to ten grams, money to the hundredth."""
    return csv_text(
        tuple(BuyRow.__annotations__),
        (
            {
                **row,
                "width_mm": fixed(row["width_mm"], 1),
                "length_mm": fixed(row["length_mm"], 1),
                "kg": kilograms(row["kg"]),
                "price": "" if row["price"] is None else fixed(row["price"], 2),
                "for_rolls": " ".join(row["for_rolls"]),
            }
            for row in rows
        ),
    )


def buy_cells(rows: Sequence[BuyRow]) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return head and rows of the list for a page or a terminal, with what is bought in all at the end.

    Money has a column only where a price is known.
    """
    priced = any(row["price"] is not None for row in rows)
    head = ("way", "code", "width × length mm", "rolls", "kg", "which", *(("price",) if priced else ()))
    cells = [
        (
            row["way"],
            str(row["code"]),
            f"{millimetres(row['width_mm'])} × {millimetres(row['length_mm'])}",
            str(row["rolls"]),
            kilograms(row["kg"]),
            row["name"] or "-",
            *((_money(row["price"]),) if priced else ()),
        )
        for row in rows
    ]
    bought = [row for row in rows if row["way"] == BUY]
    if bought:
        known = [row["price"] for row in bought if row["price"] is not None]
        money = _money(fsum(known)) + ("" if len(known) == len(bought) else " and more") if known else "-"
        total = (
            "buy in all",
            "",
            "",
            str(sum(r["rolls"] for r in bought)),
            kilograms(fsum(r["kg"] for r in bought)),
            "",
        )
        cells.append((*total, *((money,) if priced else ())))
    return head, cells


def _money(price: float | None) -> str:
    return "-" if price is None else fixed(price, 2)
