"""What entries are made of: postings that sum to zero, an item divided among those who get of it, changes joined."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from cutpath.stock.asked import LEAST_MM
from cutpath.units import MICROGRAMS_PER_KG, MM2_PER_M2
from cutpath.values.stock import Account, Change, Item, Kind, Movement, Posting, Verb


def on_shelf(item: Item) -> Posting:
    """Return an item's lead and money as they come onto the shelf."""
    return Posting(Account.SHELF, item.code, item.mass_ug, item.cost_u or 0, item.number)


def touched(items: Iterable[Item]) -> tuple[Posting, ...]:
    """Name items in a movement by which no lead goes anywhere."""
    return tuple(Posting(Account.SHELF, item.code, 0, 0, item.number) for item in items)


def bought(item: Item, at: str, note: str, run: str = "") -> Movement:
    """Return the movement by which an item comes in."""
    cost_u = item.cost_u or 0
    postings = (Posting(Account.BOUGHT, item.code, -item.mass_ug, -cost_u), on_shelf(item))
    return Movement(Verb.ADD, at, postings, run, note)


def micrograms(area_mm2: float, mass_kg_m2: float) -> int:
    """Return the mass of an area of sheet in whole micrograms."""
    return round(area_mm2 / MM2_PER_M2 * mass_kg_m2 * MICROGRAMS_PER_KG)


@dataclass(frozen=True, slots=True)
class Parts:
    """How an item is divided: the rest not drawn, kept offcuts, areas to accounts, and who bears what is left."""

    item: Item
    rest_mm: tuple[float, float] | None
    kept_mm: Sequence[tuple[float, float]]
    areas_mm2: dict[Account, float]
    last: Account


def rest_of(item: Item, off_mm: float) -> tuple[float, float] | None:
    """Return length and width of what is left of an item, None for a shred."""
    left_mm = item.length_mm - off_mm
    return (left_mm, item.width_mm) if left_mm >= LEAST_MM else None


def divided(parts: Parts, number: int, verb: Verb, at: str, *, run: str = "", note: str) -> Change:
    """Divide an item: each part gets its share of lead and money by area, the last account what is left of both."""
    item = parts.item
    new: list[Item] = []
    cost_u = item.cost_u or 0
    left_ug, left_u = item.mass_ug, cost_u

    def share(area_mm2: float) -> tuple[int, int]:
        nonlocal left_ug, left_u
        ratio = area_mm2 / item.area_mm2
        own_ug, own_u = min(left_ug, round(item.mass_ug * ratio)), min(left_u, round(cost_u * ratio))
        left_ug, left_u = left_ug - own_ug, left_u - own_u
        return own_ug, own_u

    rest = [parts.rest_mm] if parts.rest_mm else []
    for k, (length_mm, width_mm) in enumerate([*rest, *parts.kept_mm]):
        own_ug, own_u = share(length_mm * width_mm)
        undrawn = k < len(rest)
        new.append(
            replace(
                item,
                number=number + k,
                kind=Kind.PART if undrawn and item.kind is not Kind.OFFCUT else Kind.OFFCUT,
                width_mm=width_mm,
                length_mm=length_mm,
                mass_ug=own_ug,
                cost_u=None if item.cost_u is None else own_u,
                exact=item.exact or not undrawn,
                run="",
            )
        )
    postings = [Posting(Account.SHELF, item.code, -item.mass_ug, -cost_u, item.number)]
    postings += map(on_shelf, new)
    for account, area_mm2 in parts.areas_mm2.items():
        if account is not parts.last:
            postings.append(Posting(account, item.code, *share(area_mm2)))
    postings.append(Posting(parts.last, item.code, left_ug, left_u))
    return Change((Movement(verb, at, tuple(postings), run, note),), tuple(new), (item.number,))


def joined(*changes: Change) -> Change:
    """Join changes that follow each other: what one puts on the shelf another may take."""
    gone = {n for change in changes for n in change.gone}
    return Change(
        tuple(m for change in changes for m in change.movements),
        tuple(i for change in changes for i in change.put),
        tuple(sorted(gone)),
        tuple(r for change in changes for r in change.runs),
    )
