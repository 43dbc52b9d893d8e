"""The top of the page: what was drawn and saved, what to fetch and to buy, for whom it is."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from cutpath.paper.markup import element, html_table
from cutpath.paper.text import ROUNDED, add_up, counted, fixed, kilograms, percent, square_metres
from cutpath.reports.account.buy_list import BUY, buy_cells, buy_list
from cutpath.reports.account.yield_tables import by_area, shown_saving_kg
from cutpath.reports.account.yields import DRAWN, PRICE, Account, GroupTally, Practice
from cutpath.values.batch import Batch

_NONE = "0.00"
_NAMED = 3
"""Jobs that the heading names; more are in the list below it."""


def headline(batch: Batch, account: Account) -> str:
    """Name the jobs, and say what was drawn or bought, how much of it is in pieces and what that saves."""
    figures = (
        element("div", element("strong", escape(value)), element("span", escape(name)), element("small", escape(note)))
        for value, name, note in _figures(account)
    )
    return element(
        "header",
        element("p", "Cutting report", element("small", escape(_made_by(batch))), class_="kind"),
        element("h1", escape(_heading_of(batch))),
        element("div", *figures, class_="figures"),
        *_divided(batch),
    )


def _made_by(batch: Batch) -> str:
    return f"cutpath {batch.version}, seed {batch.seed}. Lengths in millimetres."


def _heading_of(batch: Batch) -> str:
    """Name the jobs; of many the first, and how many more there are."""
    names = [job.name for job in batch.jobs]
    return "; ".join(names) if len(names) <= _NAMED else f"{names[0]} and {len(names) - 1} more jobs"


def _figures(account: Account) -> Iterator[tuple[str, str, str]]:
    """Yield each large figure, what it is of, and a note on it."""
    totals = account["totals"]
    in_pieces = f"{kilograms(totals['pieces_kg'])} kg in {counted(totals['pieces'], 'piece')}"
    drawn = totals["least"] == DRAWN
    yield from (_drawn_figures if drawn else _bought_figures)(totals, in_pieces, by_area(account))
    kept = kilograms(totals["offcuts_kg"])
    note = "no offcut is worth keeping" if kept == _NONE else f"{kept} kg more kept as offcuts"
    ends = kilograms(totals["ends_kg"])
    note += "" if ends == _NONE else f"; {ends} kg more in ends of rolls"
    yield f"{kilograms(totals['scrap_kg'])} kg", "scrap to recycle", note
    if (practice := totals["common_practice"]) is not None:
        yield from (_less_drawn if drawn else _less_bought)(totals, practice)


def _drawn_figures(totals: GroupTally, in_pieces: str, by_area: str) -> Iterator[tuple[str, str, str]]:
    """Yield what is drawn, and how much of that is in pieces."""
    yield f"{kilograms(totals['drawn_kg'])} kg", "lead drawn", f"{square_metres(totals['drawn_mm2'])} m²"
    yield percent(totals["yield"]), f"yield{by_area}", in_pieces


def _less_drawn(totals: GroupTally, practice: Practice) -> Iterator[tuple[str, str, str]]:
    """Yield what common practice would draw more, where that shows."""
    saved = kilograms(shown_saving_kg(totals, practice))
    if saved != _NONE:
        usual = f"which takes {kilograms(practice['drawn_kg'])} kg, a yield of {percent(practice['yield'])}"
        yield f"{saved.removeprefix('-')} kg", f"{_way(saved)} than cutting one piece after another", usual


def _bought_figures(totals: GroupTally, in_pieces: str, by_area: str) -> Iterator[tuple[str, str, str]]:
    """Yield what is bought, and how much of that is in pieces."""
    kg, rolls = f"{kilograms(totals['bought_kg'])} kg", counted(totals["rolls_bought"], "whole roll")
    drawn = f"{kilograms(totals['drawn_kg'])} kg drawn"
    if totals["price"] is not None:
        yield fixed(totals["price"], 2), "price of the lead bought", f"{rolls}, {kg}"
    else:
        area = f"{square_metres(totals['bought_mm2'])} m²"
        yield kg, "lead bought", f"{rolls}, {area}" if totals["rolls_bought"] else "all of it is in stock"
    if totals["yield_bought"] is None:
        yield percent(totals["yield"]), f"yield{by_area}", f"{in_pieces}, of {drawn}"
    else:
        words = f"in all {in_pieces}, {percent(totals['yield'])}{by_area} of the {drawn}"
        yield percent(totals["yield_bought"]), f"of it{by_area} in pieces", words


def _less_bought(totals: GroupTally, practice: Practice) -> Iterator[tuple[str, str, str]]:
    """Yield what common practice would buy more, in money where that was to be least; nothing where neither buys."""
    if not totals["rolls_bought"] + practice["rolls_bought"]:
        return
    rolls, kg = counted(practice["rolls_bought"], "whole roll"), f"{kilograms(practice['bought_kg'])} kg"
    if totals["least"] == PRICE and practice["saved_price"] is not None:
        saved, unit, what = fixed(practice["saved_price"], 2), "", ""
        usual = f"which buys {rolls}, {kg}" + (f", for {fixed(p, 2)}" if (p := practice["price"]) is not None else "")
    else:
        saved, unit, what = kilograms(shown_saving_kg(totals, practice)), " kg", " bought"
        usual = f"which buys {rolls}, {kg}"
    yield f"{saved.removeprefix('-')}{unit}", f"{_way(saved)}{what} than cutting one piece after another", usual


def _way(saved: str) -> str:
    return "more" if saved.startswith("-") else "less"


def _divided(batch: Batch) -> Iterator[str]:
    if batch.divided:
        runs = ", ".join(name.rstrip("-") for name in batch.divided)
        yield element("p", escape(f"Divided to suit the rolls, not evenly: {runs}."))


def to_fetch(batch: Batch) -> str:
    """List on top what to fetch from stock and what to buy."""
    listed = buy_list(batch)
    head, rows = buy_cells(listed)
    bought = bool(rows) and rows[-1][0].startswith("buy")
    table = html_table(
        head, rows, left=frozenset({0, 5}), total=bought, sparing=True, caption="Rolls to fetch and to buy"
    )
    each_kg = [row["kg"] for row in listed if row["way"] == BUY]
    note = "" if add_up(each_kg) else element("p", ROUNDED, class_="note")
    return element("section", element("h2", "Fetch and buy"), table, note, class_="account")


def for_whom(batch: Batch, account: Account) -> str:
    """List the jobs on top: what each is called, its order and day, how much it comes to."""
    rows = []
    for job in batch.jobs:
        share = account["jobs"][job.name]
        told = (
            job.name,
            job.mark,
            job.customer or "-",
            job.site or "-",
            job.order or "-",
            job.due or "-",
            str(share["pieces"]),
            kilograms(share["pieces_kg"]),
        )
        rows.append(told)
    head = ("job", "mark", "customer", "site", "order", "due", "pieces", "kg")
    table = html_table(head, rows, left=frozenset(range(6)), sparing=True, caption="The jobs that are cut")
    return element("section", element("h2", "Jobs"), table, class_="account")
