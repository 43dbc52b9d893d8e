"""The yield account as people read it: a table for a spreadsheet, tables and a sentence for a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cutpath.paper.text import ROUNDED, counted, csv_text, fixed, kilograms, millimetres, percent, table
from cutpath.reports.account.yields import (
    DRAWN,
    PRICE,
    Account,
    GroupTally,
    JobShare,
    JobTally,
    Practice,
    RollTally,
    ratio,
)

_LITTLE_USED = 0.65
"""Share of what is bought under which another way of buying is named: our own figure."""

_CSV_KEYS = (
    "width_mm", "length_mm", "drawn_mm", "rolls", "pieces", "square_cuts",
    "bought_mm2", "drawn_mm2", "pieces_mm2", "offcuts_mm2", "scrap_mm2", "rest_mm2",
    "bought_kg", "drawn_kg", "pieces_kg", "offcuts_kg", "scrap_kg", "rest_kg", "ends_kg",
    "yield", "yield_bought", "bound_mm2", "share_mm2", "share_kg", "least", "rolls_bought", "price",
)  # fmt: skip
_CSV_PRACTICE_KEYS = (
    "drawn_mm2", "drawn_kg", "scrap_mm2", "scrap_kg", "yield", "saved_mm2", "saved_kg",
    "rolls_bought", "bought_mm2", "bought_kg", "price", "saved_price",
)  # fmt: skip


def yield_csv(account: Account) -> str:
    """Write the account as CSV: a line for the total, each material, roll, job and job's material.

    The column ``level`` tells which. Figures are rounded as `_DECIMALS` has it, each by itself, so that columns add up
    to within the last figure of each; ``yield.json`` has them unrounded. Columns that begin with ``common_practice``
    stand beside total and materials only.
    """
    rows: list[dict[str, object]] = []
    groups = [("total", "", account["totals"])]
    groups += [("material", name, group) for name, group in account["materials"].items()]
    for level, name, group in groups:
        practice: Mapping[str, object] = group["common_practice"] or {}
        beside = {f"common_practice_{key}": value for key, value in practice.items()}
        rows.append({"level": level, "name": name, "material": name, **group, **beside})
    rows += [{"level": "roll", "name": roll["id"], **roll} for roll in account["rolls"]]
    for name, job in account["jobs"].items():
        rows.append({"level": "job", "name": name, **job, "materials": None})
        rows += [
            {"level": "job material", "name": name, "material": material, **share}
            for material, share in job["materials"].items()
        ]
    beside_columns = (f"common_practice_{key}" for key in _CSV_PRACTICE_KEYS)
    told = [{key: _rounded(key, value) for key, value in row.items()} for row in rows]
    return csv_text(("level", "name", "material", *_CSV_KEYS, *beside_columns), told)


_DECIMALS = {"mm": 1, "mm2": 0, "kg": 3, "yield": 4, "bought": 4, "price": 2}
"""Decimals of a figure by the last word of its column: to a gram, a square millimetre, a hundredth of a percent."""


def _rounded(key: str, value: object) -> object:
    """Return what stands in a column of the table; what is no measured figure as it is."""
    return fixed(value, _DECIMALS[key.rpartition("_")[2]]) if isinstance(value, float) else value


def yield_table(account: Account) -> str:
    """Lay the account out for a terminal: by code, against cutting one by one, roll by roll and job by job.

    Masses are in kg; the lines fit a terminal of 80 characters where names of jobs are short.
    """
    groups = [*account["materials"].items(), ("total", account["totals"])]
    unknown = any(group["common_practice"] is None for _, group in groups)
    parts = (
        (
            "Lead by code, yield by area; the scrap goes to the recycling pile",
            "\n\n".join(filter(None, (_codes_table(groups), ends_in_words(account["totals"])))),
        ),
        (
            "Compared with cutting one by one, each from the narrowest roll that holds it",
            _practice_table(groups) + ("\n\n-: cut so, these rolls would run out" if unknown else ""),
        ),
        ("Roll by roll", _rolls_table(account["rolls"])),
        (
            "Job by job; drawn lead less kept offcuts is shared by area of pieces",
            _jobs_table(account["jobs"]),
        ),
    )
    return "\n".join((*(f"{title}\n\n{body}\n" for title, body in parts), f"{ROUNDED}\n"))


def _codes_table(groups: Sequence[tuple[str, GroupTally]]) -> str:
    head = ("", "bought kg", "drawn kg", "pieces kg", "kept kg", "scrap kg", "yield")
    rows = [
        (
            name,
            *(kilograms(kg) for kg in (g["bought_kg"], g["drawn_kg"], g["pieces_kg"], g["offcuts_kg"], g["scrap_kg"])),
            percent(g["yield"]),
        )
        for name, g in groups
    ]
    return table(head, rows, total=True)


def ends_in_words(total: GroupTally) -> str:
    """Say what lies beyond cross-cuts and is too small to keep, and all scrap with it; empty where there is none."""
    ends, scrap = total["ends_kg"], total["scrap_kg"]
    if not float(kilograms(ends)):
        return ""
    return (
        f"Ends of rolls too small to keep, {kilograms(ends)} kg, were not drawn and are scrap as well: "
        f"{kilograms(ends + scrap)} kg in all."
    )


def shown_saving_kg(group: GroupTally, practice: Practice) -> float:
    """Return by how much less lead is drawn, or bought, than by common practice, as the figures beside it differ."""
    now, usual = (
        (group["drawn_kg"], practice["drawn_kg"])
        if group["least"] == DRAWN
        else (group["bought_kg"], practice["bought_kg"])
    )
    return float(kilograms(usual)) - float(kilograms(now))


def summary(account: Account) -> str:
    """Say in a sentence or two what was cut, from how much lead, and what that saves in what was to be least."""
    totals, rolls = account["totals"], len(account["rolls"])
    pieces = f"{counted(totals['pieces'], 'piece')} from {counted(rolls, 'roll')}"
    practice = totals["common_practice"]
    if totals["least"] != DRAWN:
        return f"{pieces}. {_bought_words(account)}" + ("" if practice is None else _less_bought(totals, practice))
    words = f"{pieces}: {kilograms(totals['drawn_kg'])} kg of lead drawn, yield {percent(totals['yield'])}."
    if practice is None:
        return words
    saved = shown_saving_kg(totals, practice)
    return f"{words} {kilograms(abs(saved))} kg {'more' if saved < 0 else 'less'} than cutting one piece after another."


def by_area(account: Account) -> str:
    """Say that a share is one of area; nothing where there is one lead, whose share by weight is the same."""
    return " by area" if len(account["materials"]) > 1 else ""


def buying_hint(account: Account) -> str:
    """Say how to buy less, where several rolls are bought of which little is used; empty elsewhere."""
    totals = account["totals"]
    used = totals["yield_bought"]
    if totals["least"] != DRAWN or totals["rolls_bought"] < 2 or used is None or used > _LITTLE_USED:
        return ""
    return (
        f"Of the {counted(totals['rolls_bought'], 'roll')} to buy, {kilograms(totals['bought_kg'])} kg, "
        f"{percent(used)}{by_area(account)} is in pieces. If they are bought for this alone, --least bought may buy "
        "less."
    )


def _bought_words(account: Account) -> str:
    totals = account["totals"]
    drawn = f"yield of the {kilograms(totals['drawn_kg'])} kg drawn {percent(totals['yield'])}."
    if not totals["rolls_bought"]:
        return f"Nothing is bought, all of it is in stock; {drawn}"
    paid = "" if totals["price"] is None else f", for {fixed(totals['price'], 2)}"
    return (
        f"Bought: {counted(totals['rolls_bought'], 'roll')}, {kilograms(totals['bought_kg'])} kg{paid}; "
        f"{percent(totals['yield_bought'])} of it{by_area(account)} is in pieces, {drawn}"
    )


def _less_bought(totals: GroupTally, practice: Practice) -> str:
    """Say how common practice compares; nothing where neither buys."""
    if not totals["rolls_bought"] and not practice["rolls_bought"]:
        return ""
    usual = "cutting one piece after another"
    if totals["least"] == PRICE and practice["saved_price"] is not None:
        saved, figure, verb = practice["saved_price"], fixed(abs(practice["saved_price"]), 2), "costs"
    else:
        saved, verb = shown_saving_kg(totals, practice), "buys"
        figure = f"{kilograms(abs(saved))} kg"
    if not float(figure.removesuffix(" kg")):
        return f" That is as much as {usual} {verb}."
    if saved > 0:
        return f" That is {figure} less than {usual} {verb}."
    return f" That is {figure} more than {usual} {verb}; what stays on the rolls, worth keeping, was counted too."


def _bought_table(groups: Sequence[tuple[str, GroupTally]]) -> str:
    """Lay what is bought beside what common practice buys, and below it the money where that was to be least."""
    rows, prices = [], []
    for name, group in groups:
        practice = group["common_practice"]
        own = (str(group["rolls_bought"]), kilograms(group["bought_kg"]), percent(group["yield_bought"]))
        usual = ("-", "-") if practice is None else (str(practice["rolls_bought"]), kilograms(practice["bought_kg"]))
        rows.append((name, *own, *usual, "-" if practice is None else kilograms(shown_saving_kg(group, practice))))
        paid = (group["price"], practice and practice["price"], practice and practice["saved_price"])
        prices.append((name, *("-" if price is None else fixed(price, 2) for price in paid)))
    head = ("", "rolls", "bought kg", "in pieces", "one by one: rolls", "bought kg", "saved kg")
    if all(group["least"] != PRICE for _, group in groups):
        return table(head, rows, total=True)
    bought = table(head[:-1], [row[:-1] for row in rows], total=True)  # more lead may cost less
    return f"{bought}\n\n{table(('', 'price', 'one by one: price', 'saved'), prices, total=True)}"


def _practice_table(groups: Sequence[tuple[str, GroupTally]]) -> str:
    if groups[-1][1]["least"] != DRAWN:
        return _bought_table(groups)
    head = ("", "drawn kg", "yield", "ceiling", "one by one: kg", "yield", "saved kg")
    rows = []
    for name, group in groups:
        practice = group["common_practice"]
        beside = (
            ("-", "-", "-")
            if practice is None
            else (
                kilograms(practice["drawn_kg"]),
                percent(practice["yield"]),
                kilograms(shown_saving_kg(group, practice)),
            )
        )
        ceiling = min(1.0, ratio(group["pieces_mm2"], group["bound_mm2"]))
        rows.append((name, kilograms(group["drawn_kg"]), percent(group["yield"]), percent(ceiling), *beside))
    return table(head, rows, total=True)


def _rolls_table(rolls: Sequence[RollTally]) -> str:
    head = ("roll", "width x length", "drawn mm", "pieces", "drawn kg", "kept kg", "scrap kg", "yield")
    rows = [
        (
            r["id"],
            f"{millimetres(r['width_mm'])} x {millimetres(r['length_mm'])}",
            millimetres(r["drawn_mm"]),
            str(r["pieces"]),
            kilograms(r["drawn_kg"]),
            kilograms(r["offcuts_kg"]),
            kilograms(r["scrap_kg"]),
            percent(r["yield"]),
        )
        for r in rolls
    ]
    return table(head, rows)


def _jobs_table(jobs: Mapping[str, JobTally]) -> str:
    head = ("job", "lead", "pieces", "pieces kg", "share kg", "scrap kg")
    rows = []
    for job_name, job in jobs.items():
        lines: list[tuple[str, str, JobShare]] = [("", material, s) for material, s in job["materials"].items()]
        for name, material, share in ((job_name, "all", job), *lines):
            rows.append(
                (
                    name,
                    material,
                    str(share["pieces"]),
                    kilograms(share["pieces_kg"]),
                    kilograms(share["share_kg"]),
                    kilograms(share["scrap_kg"]),
                )
            )
    return table(head, rows, left=frozenset({0, 1}))
