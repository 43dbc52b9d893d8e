"""What a shop holds, movements and scrap pile, as rows and as tables for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from math import fsum
from typing import Literal, TypedDict

from cutpath.paper.text import clock_text, csv_text, day_words, fixed, kilograms, millimetres, table
from cutpath.units import MILLIONTHS
from cutpath.values.stock import Account, Amount, Item, Movement, length_words


class ItemRow(TypedDict):
    """One item on the shelf; ``run`` is the run that it is kept for, ``cost`` None where nobody knows it."""

    label: str
    kind: str
    code: int
    width_mm: float
    length_mm: float
    exact: bool
    kg: float
    place: str
    batch: str
    cost: float | None
    run: str | None


class PostingRow(TypedDict):
    """What one account got or gave: kilograms and money, of one item where the account holds items."""

    account: str
    label: str | None
    code: int
    kg: float
    cost: float


class MovementRow(TypedDict):
    """One movement; ``postings`` sum to zero; ``undoes`` is the number of the one that it takes back."""

    number: int
    undoes: int | None
    at: str
    verb: str
    run: str | None
    note: str
    postings: list[PostingRow]


class ScrapRow(TypedDict):
    """What lies on the scrap pile of one code."""

    code: int
    kg: float


_DECIMALS = 6  # of a millimetre: what sums of binary fractions leave behind these is no part of a size


def item_rows(items: Iterable[Item]) -> list[ItemRow]:
    """List items in the order given."""
    return [
        {
            "label": item.label,
            "kind": item.kind.value,
            "code": item.code,
            "width_mm": round(item.width_mm, _DECIMALS),
            "length_mm": round(item.length_mm, _DECIMALS),
            "exact": item.exact,
            "kg": item.mass_kg,
            "place": item.place,
            "batch": item.batch,
            "cost": item.cost,
            "run": item.run or None,
        }
        for item in items
    ]


def _length(row: ItemRow) -> str:
    return length_words(row["length_mm"], exact=row["exact"]).removesuffix(" mm")


def item_table(rows: Sequence[ItemRow]) -> str:
    """Lay items out for a terminal, with the mass of each code below."""
    if not rows:
        return "nothing on the shelf"
    head = ("label", "what", "code", "width x length mm", "kg", "place", "batch", "cost", "kept for")
    cells = [
        (
            row["label"],
            row["kind"],
            str(row["code"]),
            f"{millimetres(row['width_mm'])} x {_length(row)}",
            kilograms(row["kg"]),
            row["place"] or "-",
            row["batch"] or "-",
            "-" if row["cost"] is None else fixed(row["cost"], 2),
            row["run"] or "-",
        )
        for row in rows
    ]
    codes = sorted({row["code"] for row in rows})
    sums = [f"code {code}: {kilograms(fsum(r['kg'] for r in rows if r['code'] == code))} kg" for code in codes]
    return f"{table(head, cells, left=frozenset({0, 1, 5, 6, 8}))}\n\n{', '.join(sums)}"


def item_csv(rows: Iterable[ItemRow]) -> str:
    """Write items as CSV."""
    return csv_text(tuple(ItemRow.__annotations__), ({**row, "exact": int(row["exact"])} for row in rows))


def movement_rows(movements: Iterable[tuple[int, Movement]], labels: Mapping[int, str]) -> list[MovementRow]:
    """List movements, each with its number."""
    return [
        {
            "number": number,
            "undoes": movement.undoes,
            "at": movement.at,
            "verb": movement.verb.value,
            "run": movement.run or None,
            "note": movement.note,
            "postings": [
                {
                    "account": p.account.value,
                    "label": None if p.item is None else labels[p.item],
                    "code": p.code,
                    "kg": Amount(p.mass_ug).mass_kg,
                    "cost": p.cost_u / MILLIONTHS,
                }
                for p in movement.postings
            ],
        }
        for number, movement in movements
    ]


def movement_csv(rows: Iterable[MovementRow]) -> str:
    """Write movements as CSV, a line to each posting; day and time in UTC apart, as spreadsheets read them."""
    columns = ("number", "day", "utc", "verb", "undoes", "run", *PostingRow.__annotations__, "note")
    lines: list[dict[str, object]] = []
    for row in rows:
        day, _, time = row["at"].partition("T")
        said = {**row, "day": day, "utc": time.partition("+")[0]}
        lines += [{**said, **posting} for posting in row["postings"]] or [said]
    return csv_text(columns, lines)


def movement_table(rows: Sequence[MovementRow]) -> str:
    """Lay movements out for a terminal, one line to each posting that moves lead or names an item."""
    if not rows:
        return "nothing has been done yet"
    head = ("number", "when", "what", "run", "account", "label", "code", "kg", "note")
    cells = []
    for row in rows:
        first = (str(row["number"]), clock_text(row["at"]), row["verb"], row["run"] or "-")
        for k, p in enumerate(row["postings"] or [{}]):
            kg = p.get("kg")
            cells.append(
                (
                    *(first if k == 0 else ("", "", "", "")),
                    str(p.get("account", "-")),
                    str(p.get("label") or "-"),
                    str(p.get("code", "-")),
                    f"{kg:+.3f}" if isinstance(kg, float) and kg else "-",
                    row["note"] if k == 0 else "",
                )
            )
    return table(head, cells, left=frozenset({1, 2, 3, 4, 5, 8}))


def scrap_rows(balances: Mapping[tuple[Account, int], Amount]) -> list[ScrapRow]:
    """List what lies on the scrap pile, code by code."""
    return [
        {"code": code, "kg": amount.mass_kg}
        for (account, code), amount in sorted(balances.items())
        if account is Account.SCRAP and amount.mass_ug
    ]


def scrap_table(rows: Sequence[ScrapRow]) -> str:
    """Lay the scrap pile out for a terminal."""
    if not rows:
        return "nothing on the scrap pile"
    cells = [(str(row["code"]), kilograms(row["kg"])) for row in rows]
    cells.append(("all", kilograms(fsum(row["kg"] for row in rows))))
    return table(("code", "kg"), cells, total=True)


class CollectionRow(TypedDict):
    """What was collected of one code: what the books had, and what it is taken to weigh."""

    code: int
    kg: float
    collected_kg: float


def collection_rows(movements: Iterable[Movement]) -> list[CollectionRow]:
    """List what was collected, code by code."""
    rows: list[CollectionRow] = []
    for movement in movements:
        kg = {p.account: Amount(p.mass_ug).mass_kg for p in movement.postings}
        code = movement.postings[0].code
        rows.append({"code": code, "kg": -kg[Account.SCRAP], "collected_kg": kg[Account.COLLECTED]})
    return rows


def collection_note(rows: Sequence[CollectionRow], at: str, note: str, *, weighed: bool) -> str:
    """Write the note that goes with scrap that is collected: kilograms by code, and room for who takes it.

    What a waste transfer note has to say is the law's to say; this gives only what the shop's own account knows.
    """
    blanks = (
        "Handed over by (name, address)",
        "Collected by (name, address)",
        "Carrier's or dealer's registration or licence number",
        "Waste transfer note number",
        "Waste code and description",
        "How it is packed or held",
        *(() if weighed else ("Weighed at collection, kg",)),
        "Date and place of handing over",
        "Signed, handed over",
        "Signed, collected",
    )
    booked, collected = fsum(row["kg"] for row in rows), fsum(row["collected_kg"] for row in rows)
    if weighed:
        way = "less" if collected < booked else "more"
        found = (
            f"Weighed {kilograms(collected)} kg in all, shared among the codes as the books have them: "
            f"{kilograms(abs(collected - booked))} kg {way} than these."
        )
    else:
        found = "Kilograms are by calculation; the weight at collection counts."
    lines = [
        "COLLECTION NOTE: SCRAP LEAD SHEET",
        "",
        f"Booked {_moment_words(at)}" + (f"; {note}" if note else ""),
        "",
        _collection_table(rows, weighed=weighed),
        "",
        found,
        "",
        *(f"{blank}: {'.' * (70 - len(blank))}" for blank in blanks),
        "",
        "Lead scrap goes to a licensed scrap metal dealer or a registered waste carrier, with a waste transfer note.",
    ]
    return "\n".join(lines) + "\n"


def _moment_words(at: str) -> str:
    """Return a moment as it is booked, in UTC, as a person writes it."""
    moment = datetime.fromisoformat(at)
    return f"{day_words(moment.date())}, {moment:%H:%M} UTC"


def _collection_table(rows: Sequence[CollectionRow], *, weighed: bool) -> str:
    keys: tuple[Literal["kg", "collected_kg"], ...] = ("kg", "collected_kg") if weighed else ("kg",)
    cells = [(str(row["code"]), *(kilograms(row[key]) for key in keys)) for row in rows]
    cells.append(("all", *(kilograms(fsum(row[key] for row in rows)) for key in keys)))
    return table(("code", "by the books, kg", "weighed, kg") if weighed else ("code", "kg"), cells, total=True)


def label_lines(item: Item) -> tuple[str, ...]:
    """Say on a label what an item is and where it lies."""
    size = f"{millimetres(item.width_mm)} x {length_words(item.length_mm, exact=item.exact)}"
    mass = f"{'' if item.exact else 'about '}{kilograms(item.mass_kg)} kg"
    lines = (f"{item.kind}, code {item.code}", size, mass)
    return (*lines, ", ".join(word for word in (item.place, item.batch and f"batch {item.batch}") if word))
