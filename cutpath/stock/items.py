"""The verbs for items and the scrap pile: what comes in, is taken, is put right, is collected."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from cutpath.errors import Finding, Refused
from cutpath.stock.asked import any_item, check_size, check_words, free_item, millionths
from cutpath.stock.entries import Parts, bought, divided, micrograms, rest_of
from cutpath.stock.refusals import held_by, no_room, not_a_size, too_short
from cutpath.tolerances import POINT_MM
from cutpath.units import MICROGRAMS_PER_KG, mm_text
from cutpath.values.nest import OffcutRule
from cutpath.values.stock import Account, Change, Holding, Item, Kind, Movement, Posting, Run, RunState, Verb

_MOST_AT_ONCE = 1000
_MOST_KG = 100_000.0


@dataclass(frozen=True, slots=True)
class Delivery:
    """Rolls, part rolls or offcuts that come in, all alike; ``cost`` is of each, in the shop's money."""

    code: int
    mass_kg_m2: float
    width_mm: float
    length_mm: float
    kind: Kind = Kind.ROLL
    quantity: int = 1
    place: str = ""
    batch: str = ""
    cost: float | None = None
    exact: bool = True


def add(holding: Holding, delivery: Delivery, at: str, note: str = "") -> Change:
    """Put what came in on the shelf, each with a label of its own.

    Raises
    ------
    Refused
        CP806 for a size, number or cost that no delivery has.
    """
    check_size("width", delivery.width_mm)
    check_size("length", delivery.length_mm)
    if not 1 <= delivery.quantity <= _MOST_AT_ONCE:
        raise Refused([not_a_size("quantity", f"{delivery.quantity}", f"1 to {_MOST_AT_ONCE}")])
    check_words(place=delivery.place, batch=delivery.batch, note=note)
    cost_u = millionths(delivery.cost)
    mass_ug = micrograms(delivery.width_mm * delivery.length_mm, delivery.mass_kg_m2)
    items = tuple(
        Item(
            holding.next_number + k,
            delivery.kind,
            delivery.code,
            delivery.width_mm,
            delivery.length_mm,
            mass_ug,
            cost_u,
            delivery.place,
            delivery.batch,
            delivery.exact,
        )
        for k in range(delivery.quantity)
    )
    return Change(tuple(bought(item, at, note) for item in items), items)


def take(
    holding: Holding, number: int, at: str, *, length_mm: float | None = None, scrap: bool = False, note: str = ""
) -> Change:
    """Take an item, or a length off it, for work that no run knows of; what is left gets a new label.

    Parameters
    ----------
    holding : Holding
    number : int
    at : str
    length_mm : float, optional
        None: all of it.
    scrap : bool
        Onto the scrap pile.
    note : str

    Raises
    ------
    Refused
        CP802 when there is no such item, CP803 when it is kept for a run, CP806 when it is not that long.
    """
    item = free_item(holding, number)
    length = item.length_mm if length_mm is None else length_mm
    check_size("length", length)
    if length > item.length_mm + POINT_MM:
        raise Refused([no_room(item, f"{mm_text(length)} is asked of it")])
    rest = rest_of(item, length)
    to = Account.SCRAP if scrap else Account.HAND
    parts = Parts(item, rest, (), {to: length * item.width_mm}, to)
    return divided(parts, holding.next_number, Verb.TAKE, at, note=note)


def adjust(  # noqa: PLR0913 - what is put right is named, all else is left out
    holding: Holding,
    number: int,
    at: str,
    *,
    width_mm: float | None = None,
    length_mm: float | None = None,
    place: str | None = None,
    batch: str | None = None,
    cost: float | None = None,
    exact: bool | None = None,
    note: str = "",
) -> Change:
    """Put right what is written of an item; lead that turns up or is missing goes to its own account.

    A length that is given counts as measured, unless ``exact`` says otherwise. What an item cost stays as it was unless
    ``cost`` is given. An item that is kept for a run may be measured too, as tickets ask for: what the run leaves of it
    changes by that, as long as there is what it draws.

    Raises
    ------
    Refused
        CP802 when there is no such item, CP803 when a run that it is kept for wants more than there is, CP806 for a
        size that no item has.
    """
    item = any_item(holding, number)
    check_words(place=place, batch=batch, note=note)
    for name, size in (("width", width_mm), ("length", length_mm)):
        if size is not None:
            check_size(name, size)
    new = replace(
        item,
        width_mm=item.width_mm if width_mm is None else width_mm,
        length_mm=item.length_mm if length_mm is None else length_mm,
        place=item.place if place is None else place,
        batch=item.batch if batch is None else batch,
        exact=exact if exact is not None else (item.exact or length_mm is not None),
        cost_u=item.cost_u if cost is None else millionths(cost),
    )
    new = replace(new, mass_ug=round(item.mass_ug * (new.area_mm2 / item.area_mm2)))
    mass_ug, cost_u = new.mass_ug - item.mass_ug, (new.cost_u or 0) - (item.cost_u or 0)
    postings = (
        Posting(Account.SHELF, item.code, mass_ug, cost_u, item.number),
        Posting(Account.MEASURED, item.code, -mass_ug, -cost_u),
    )
    runs = _measured(holding, item, new)
    return Change((Movement(Verb.ADJUST, at, postings, note=note),), (new,), runs=runs)


def _measured(holding: Holding, item: Item, new: Item) -> tuple[Run, ...]:
    """Return the run that an item is kept for as it is by a new length of it, where it changed.

    Raises
    ------
    Refused
        CP803 where the run is still being made, or where there is less than it draws.
    """
    if not item.run or (new.width_mm, new.length_mm) == (item.width_mm, item.length_mm):
        return ()
    run = holding.runs[item.run]
    cut = next(cut for cut in run.cuts if cut.item == item.number)
    if run.state is not RunState.RESERVED:
        raise Refused([held_by(item)])
    if new.width_mm != item.width_mm or new.length_mm < cut.drawn_mm - POINT_MM:
        raise Refused([too_short(item, cut, new)])
    rule = OffcutRule(*cut.keep_mm)
    kept = rule.holds(new.width_mm, new.length_mm - cut.drawn_mm)
    other = replace(cut, length_mm=new.length_mm, rest_kept=kept)
    return (replace(run, cuts=tuple(other if c is cut else c for c in run.cuts)),)


def collect(
    holding: Holding, at: str, codes: Collection[int] = (), *, weighed_kg: float | None = None, note: str = ""
) -> Change:
    """Let the scrap pile be collected, of the codes given or of all.

    Parameters
    ----------
    holding : Holding
    at : str
    codes : collection of int
    weighed_kg : float, optional
        What all of it weighed. It is booked as collected, shared among the codes as the books have them; what it
        differs by from the books goes to an account of its own. Without it, what the books have is collected.
    note : str

    Raises
    ------
    Refused
        CP806 when there is nothing on the pile, or for a weight that no pile has.
    """
    check_words(note=note)
    pile = {code: amount for (account, code), amount in holding.balances.items() if account is Account.SCRAP}
    wanted = {code: amount for code, amount in pile.items() if amount.mass_ug > 0 and (not codes or code in codes)}
    if not wanted:
        what = f" of code {', '.join(map(str, sorted(codes)))}" if codes else ""
        raise Refused(
            [
                Finding(
                    "CP806",
                    "scrap pile",
                    f"no scrap{what} is booked on it",
                    "scrap of runs that were committed, or that was taken with --scrap",
                    "Commit the runs that were cut; `cutpath stock scrap` shows the pile.",
                )
            ]
        )
    if weighed_kg is not None and not 0 < weighed_kg <= _MOST_KG:
        raise Refused([not_a_size("weight", f"{weighed_kg:g} kg", f"over 0 to {_MOST_KG:.0f} kg")])
    booked_ug = sum(amount.mass_ug for amount in wanted.values())
    left_ug = booked_ug if weighed_kg is None else round(weighed_kg * MICROGRAMS_PER_KG)
    movements = []
    for code, amount in sorted(wanted.items()):
        mass_ug = round(left_ug * (amount.mass_ug / booked_ug))
        left_ug, booked_ug = left_ug - mass_ug, booked_ug - amount.mass_ug
        postings = [
            Posting(Account.SCRAP, code, -amount.mass_ug, -amount.cost_u),
            Posting(Account.COLLECTED, code, mass_ug, amount.cost_u),
        ]
        if mass_ug != amount.mass_ug:
            postings.append(Posting(Account.WEIGHED, code, amount.mass_ug - mass_ug))
        movements.append(Movement(Verb.COLLECT, at, tuple(postings), note=note))
    return Change(tuple(movements))
