"""The verbs of the stock as functions: what there is, and what is asked, to the change that is to be made.

Nothing here knows of files. A verb either gives a whole change or refuses, and every change sums to zero.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from cutpath.ceilings import LARGEST_MM
from cutpath.errors import Finding, Refused
from cutpath.plain import is_unseen, seen
from cutpath.stock.refusals import (
    REMEDY_LIST,
    already_booked,
    cut_in_part,
    held_by,
    no_more,
    no_room,
    not_a_size,
    not_cut,
    not_so_many,
    run_named,
    thing_named,
    too_short,
    wrong_state,
)
from cutpath.tolerances import POINT_MM
from cutpath.units import MICROGRAMS_PER_KG, MILLIONTHS, MM2_PER_M2, mm_text
from cutpath.values.nest import OffcutRule
from cutpath.values.stock import (
    Account,
    Amount,
    Change,
    Cut,
    Done,
    Holding,
    Item,
    Kind,
    Movement,
    Posting,
    Run,
    RunState,
    Spoilt,
    Stage,
    Verb,
    label_of,
)


class Lost(Refused):
    """Somebody else has what a nest was made on, or changed it meanwhile; a new nest goes on what is left."""


_LEAST_MM = 1.0
_MOST_AT_ONCE = 1000


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
    _check_size("width", delivery.width_mm)
    _check_size("length", delivery.length_mm)
    if not 1 <= delivery.quantity <= _MOST_AT_ONCE:
        raise Refused([not_a_size("quantity", f"{delivery.quantity}", f"1 to {_MOST_AT_ONCE}")])
    _check_words(place=delivery.place, batch=delivery.batch, note=note)
    cost_u = _millionths(delivery.cost)
    mass_ug = _micrograms(delivery.width_mm * delivery.length_mm, delivery.mass_kg_m2)
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
    return Change(tuple(_bought(item, at, note) for item in items), items)


def _bought(item: Item, at: str, note: str, run: str = "") -> Movement:
    cost_u = item.cost_u or 0
    postings = (Posting(Account.BOUGHT, item.code, -item.mass_ug, -cost_u), _on_shelf(item))
    return Movement(Verb.ADD, at, postings, run, note)


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
    _check_size("length", length)
    if length > item.length_mm + POINT_MM:
        raise Refused([no_room(item, f"{mm_text(length)} is asked of it")])
    rest = _rest(item, length)
    to = Account.SCRAP if scrap else Account.HAND
    parts = _Parts(item, rest, (), {to: length * item.width_mm}, to)
    return _divided(parts, holding.next_number, Verb.TAKE, at, note=note)


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
    _check_words(place=place, batch=batch, note=note)
    for name, size in (("width", width_mm), ("length", length_mm)):
        if size is not None:
            _check_size(name, size)
    new = replace(
        item,
        width_mm=item.width_mm if width_mm is None else width_mm,
        length_mm=item.length_mm if length_mm is None else length_mm,
        place=item.place if place is None else place,
        batch=item.batch if batch is None else batch,
        exact=exact if exact is not None else (item.exact or length_mm is not None),
        cost_u=item.cost_u if cost is None else _millionths(cost),
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
    _check_words(note=note)
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


_MOST_KG = 100_000.0


def reserve(holding: Holding, run: Run) -> Change:
    """Keep the items of a run that is being made, so that nobody else gets them; `settle` ends it.

    A run whose output it replaces gives way: what both cut passes over to the new one.

    Raises
    ------
    Lost
        CP803 when an item is gone, kept for another run, or not as it was when the nest began.
    Refused
        CP803 when a run of that name stands already, or a run whose pieces it cuts once more does not stand; CP802 and
        CP806 when there are no such pieces, or not so many.
    """
    known, old = holding.runs.get(run.id), holding.runs.get(run.replaces)
    if known is not None and known.state is not RunState.RELEASED:
        raise Refused([_stands_already(known)])
    if old is not None and old.booked:
        raise Refused([cut_in_part(old)])
    _check_spoilt(holding, run)
    allowed = {"", run.replaces}
    lost = [n for n in run.items if n not in holding.items or holding.items[n].run not in allowed]
    lost += [n for cut in run.cuts if (n := cut.item) is not None and n not in lost and _differs(holding.items[n], cut)]
    if lost:
        raise Lost(_lost(holding, n) for n in lost)
    items = tuple(replace(holding.items[n], run=run.id) for n in run.items)
    return Change((_kept(Verb.RESERVE, items, run),), items, runs=(replace(run, state=RunState.MAKING),))


def settle(holding: Holding, name: str, at: str, *, made: bool, out: str | None = None) -> Change:
    """End the making of a run: its output is in place, or it is not and all is as it was before.

    Raises
    ------
    Refused
        CP802 when there is no such run, CP803 when it is not being made.
    """
    run = known_run(holding, name)
    if run.state is not RunState.MAKING:
        raise Refused([wrong_state(run, "a run that is being made", "Nothing to do.")])
    mine = [item for item in holding.items.values() if item.run == run.id]
    old = holding.runs.get(run.replaces)
    if made:
        freed = tuple(replace(i, run="") for i in holding.items.values() if old is not None and i.run == old.id)
        runs = [replace(run, state=RunState.RESERVED, out=run.out if out is None else out)]
        moves: tuple[Movement, ...] = ()
        if old is not None and old.state is RunState.RESERVED:
            runs.append(replace(old, state=RunState.RELEASED))
            moves = (Movement(Verb.RELEASE, at, _touched(freed), old.id, f"its output was replaced by {run.id}"),)
        return Change(moves, freed, runs=tuple(runs))
    back = set() if old is None else set(old.items)
    items = tuple(replace(i, run=old.id if old is not None and i.number in back else "") for i in mine)
    gone = Movement(Verb.RELEASE, at, _touched(items), run.id, "its output was not put in place")
    return Change((gone,), items, runs=(replace(run, state=RunState.RELEASED),))


def commit(holding: Holding, name: str, at: str, note: str = "", sheets: Collection[str] = ()) -> Change:
    """Book what a run cut: rolls go, part rolls and offcuts come back with new labels, scrap goes on the pile.

    Parameters
    ----------
    holding : Holding
    name : str
    at : str
    note : str
    sheets : collection of str
        Only these rolls of the run, by their names in it; the run stands until all are booked. Without any, all that
        are left. Pieces that the run cut once more are spoilt by the last of them: their lead goes on the pile too.

    Raises
    ------
    Refused
        CP802 when there is no such run or roll, CP803 when the run is not reserved, or a roll is booked already.
    """
    run = _reserved_run(holding, name)
    found = [
        _no_roll_to_book(run, sheet) for sheet in sheets if sheet not in {c.sheet for c in run.cuts if not c.booked}
    ]
    if found:
        raise Refused(found)
    number, whole, cuts = holding.next_number, Change(), []
    for cut in run.cuts:
        if not cut.booked and (not sheets or cut.sheet in sheets):
            first, number, item = _roll_of(holding, cut, number, at, run.id)
            done = _cut(item, cut, number, at, run.id, note)
            number += len(done.put)
            whole = joined(whole, first, done)
            cut = replace(cut, item=item.number, booked=True)
        cuts.append(cut)
    run = replace(run, cuts=tuple(cuts))
    if not all(cut.booked for cut in cuts):
        return joined(Change(runs=(run,)), whole)
    return joined(Change(runs=(replace(run, state=RunState.COMMITTED),)), whole, _spoilt(holding, run, at))


def _no_roll_to_book(run: Run, sheet: str) -> Finding:
    if any(cut.sheet == sheet for cut in run.cuts):
        return already_booked(run, sheet)
    return thing_named(run, sheet, Stage.CUT, [cut.sheet for cut in run.cuts if not cut.booked])


def _check_spoilt(holding: Holding, run: Run) -> None:
    """See that what a run cuts once more was cut by a run that stands, and is not being cut once more already.

    Raises
    ------
    Refused
    """
    others = [
        copies
        for other in holding.runs.values()
        if other.state in (RunState.MAKING, RunState.RESERVED) and other.id not in (run.id, run.replaces)
        for copies in other.spoilt
    ]
    found = []
    for copies in run.spoilt:
        first = known_run(holding, copies.run)
        part = next((part for part in first.parts if part.id == copies.piece), None)
        if first.state not in (RunState.RESERVED, RunState.COMMITTED):
            found.append(wrong_state(first, "a run that is reserved or committed", "Make it anew instead."))
        elif part is None:
            found.append(thing_named(first, copies.piece, Stage.FOLDED, [part.id for part in first.parts]))
        else:
            taken = sum(o.count for o in others if (o.run, o.piece) == (copies.run, copies.piece))
            if copies.count > part.good - taken:
                found.append(no_more(first, part, copies.count, taken))
    if found:
        raise Refused(found)


def _spoilt(holding: Holding, run: Run, at: str) -> Change:
    """Put the pieces that a run cut once more on the scrap pile, as far as their own run stands.

    Of rolls that are booked their lead is among the pieces, and goes at what the lead of pieces cost on average; of
    others it is not booked yet, and will be scrap when these are.
    """
    runs: dict[str, Run] = {}
    left = dict(holding.balances)
    movements = []
    for copies in run.spoilt:
        first = runs.get(copies.run, holding.runs[copies.run])
        if first.state not in (RunState.RESERVED, RunState.COMMITTED):
            continue
        parts = tuple(
            replace(part, spoilt=part.spoilt + copies.count) if part.id == copies.piece else part
            for part in first.parts
        )
        sheets = next((part.sheets for part in first.parts if part.id == copies.piece), ())
        area_mm2 = booked_mm2 = copies.count * copies.each_mm2
        postings: tuple[Posting, ...] = ()
        if first.state is RunState.RESERVED:
            booked_mm2 = min(area_mm2, math.fsum(cut.pieces_mm2 for cut in first.booked if cut.sheet in sheets))
            first = replace(first, cuts=_less(first.cuts, sheets, area_mm2 - booked_mm2))
        if booked_mm2:
            pieces = left.get((Account.PIECES, copies.code), Amount())
            mass_ug = min(pieces.mass_ug, _micrograms(booked_mm2, copies.mass_kg_m2))
            cost_u = round(pieces.cost_u * (mass_ug / pieces.mass_ug)) if pieces.mass_ug else 0
            left[Account.PIECES, copies.code] = Amount(pieces.mass_ug - mass_ug, pieces.cost_u - cost_u)
            postings = (
                Posting(Account.PIECES, copies.code, -mass_ug, -cost_u),
                Posting(Account.SCRAP, copies.code, mass_ug, cost_u),
            )
        runs[first.id] = replace(first, parts=parts)
        movements.append(Movement(Verb.SPOIL, at, postings, first.id, spoilt_note(copies, run)))
    return Change(tuple(movements), runs=tuple(runs.values()))


def spoilt_note(copies: Spoilt, run: Run) -> str:
    """Return what is written of copies that a run cuts once more, where they go on the pile."""
    return f"{copies.count} x {copies.piece}, cut once more by {run.id}"


def _less(cuts: Iterable[Cut], sheets: Collection[str], area_mm2: float) -> tuple[Cut, ...]:
    """Take an area of pieces off the sheets that they are yet to be cut from, one after another."""
    out = []
    for cut in cuts:
        own = min(area_mm2, cut.pieces_mm2) if cut.sheet in sheets and not cut.booked else 0.0
        area_mm2 -= own
        out.append(replace(cut, pieces_mm2=cut.pieces_mm2 - own))
    return tuple(out)


def _roll_of(holding: Holding, cut: Cut, number: int, at: str, run: str) -> tuple[Change, int, Item]:
    """Return the item that is cut; one that was yet to be bought is put on the shelf first."""
    if cut.item is not None:
        return Change(), number, holding.items[cut.item]
    mass_ug = _micrograms(cut.width_mm * cut.length_mm, cut.mass_kg_m2)
    cost_u = _millionths(cut.price)
    item = Item(number, Kind.ROLL, cut.code, cut.width_mm, cut.length_mm, mass_ug, cost_u)
    return Change((_bought(item, at, "bought for this run", run),), (item,)), number + 1, item


def _cut(item: Item, cut: Cut, number: int, at: str, run: str, note: str) -> Change:
    rest = _rest(item, cut.drawn_mm) if cut.rest_kept else None
    parts = _Parts(item, rest, cut.kept_mm, {Account.PIECES: cut.pieces_mm2}, Account.SCRAP)
    return _divided(parts, number, Verb.COMMIT, at, run=run, note=note or cut.sheet)


def release(holding: Holding, name: str, at: str, note: str = "") -> Change:
    """Give back what a run was kept, since it is not cut; of one that is booked in part, the rest.

    Raises
    ------
    Refused
        CP802 when there is no such run, CP803 when it is not reserved.
    """
    run = _reserved_run(holding, name)
    items = tuple(replace(item, run="") for item in holding.items.values() if item.run == run.id)
    gone = Movement(Verb.RELEASE, at, _touched(items), run.id, note)
    if not run.booked:
        return Change((gone,), items, runs=(replace(run, state=RunState.RELEASED),))
    run = _as_far_as_cut(run)
    ended = Change((gone,), items, runs=(replace(run, state=RunState.COMMITTED),))
    return joined(ended, _spoilt(holding, run, at))


def _as_far_as_cut(run: Run) -> Run:
    """Return a run with its booked rolls alone, and the pieces that come from them."""
    sheets = {cut.sheet for cut in run.booked}
    parts = []
    for part in run.parts:
        if quantity := part.on(sheets):
            kept = [k for k, sheet in enumerate(part.sheets) if sheet in sheets]
            own = tuple(part.sheets[k] for k in kept)
            counts = tuple(part.counts[k] for k in kept) if part.counts else ()
            spoilt = min(part.spoilt, quantity)
            parts.append(replace(part, quantity=quantity, sheets=own, counts=counts, spoilt=spoilt))
    cut = {part.id: part.quantity for part in parts}
    again = tuple(replace(c, count=min(c.count, cut[c.piece])) for c in run.spoilt if c.piece in cut)
    return replace(run, cuts=run.booked, parts=tuple(parts), spoilt=again)


def tell(  # noqa: PLR0913 - what is told is named, all else is left out
    holding: Holding,
    name: str,
    stage: Stage,
    at: str,
    *,
    things: Sequence[str] = (),
    count: int | None = None,
    note: str = "",
    before: Iterable[Done] = (),
) -> Change:
    """Tell how far rolls or pieces of a run are; what was told before of the same stage no longer counts.

    Parameters
    ----------
    holding : Holding
    name : str
    stage : Stage
    at : str
    things : sequence of str
        Rolls where they are cut, else pieces; without them all of the run.
    count : int, optional
        How many of each piece; all of them without it, 0 to take back what was told.
    note : str
    before : iterable of Done
        What was told of the run until now.

    Raises
    ------
    Refused
        CP802 when the run has no such roll or piece, CP803 when it was released, or for pieces whose rolls are not cut,
        CP806 for more pieces than there are.
    """
    _check_words(note=note)
    run = known_run(holding, name)
    if run.state not in (RunState.RESERVED, RunState.COMMITTED):
        raise Refused([wrong_state(run, "a run that is reserved or committed", "Make it again if it is wanted.")])
    known = {cut.sheet: 1 for cut in run.cuts} if stage is Stage.CUT else {p.id: p.good for p in run.parts}
    found = [thing_named(run, thing, stage, list(known)) for thing in things if thing not in known]
    wanted = [thing for thing in things if thing in known] if things else list(known)
    found += [
        not_so_many(run, thing, count, known[thing])
        for thing in wanted
        if count is not None and not 0 <= count <= known[thing]
    ]
    if stage is not Stage.CUT and not found:
        cut = _told_as_cut(run, before)
        early = [
            p for p in run.parts if p.id in wanted and min(p.good, p.on(cut)) < (p.good if count is None else count)
        ]
        found += [not_cut(run, early, cut)] if early else []
    if found:
        raise Refused(found)
    return Change(
        done=tuple(Done(run.id, stage, thing, known[thing] if count is None else count, at, note) for thing in wanted)
    )


def _told_as_cut(run: Run, before: Iterable[Done]) -> set[str]:
    """Return the rolls of a run that are booked, or told as cut."""
    told = {d.thing: d.count for d in before if d.stage is Stage.CUT}
    return {cut.sheet for cut in run.booked} | {sheet for sheet, count in told.items() if count}


def any_item(holding: Holding, number: int) -> Item:
    """Return an item on the shelf.

    Raises
    ------
    Refused
        CP802 when there is none of that number.
    """
    item = holding.items.get(number)
    if item is None:
        found, remedy, label = "it is not on the shelf", REMEDY_LIST, label_of(number)
        if 0 < number < holding.next_number:
            found, remedy = f"{found} any more", f"`cutpath stock history {label}` says what became of it."
        raise Refused([Finding("CP802", label, found, "a label of what is there", remedy)])
    return item


def free_item(holding: Holding, number: int) -> Item:
    """Return an item on the shelf that is kept for no run.

    Raises
    ------
    Refused
        CP802 when there is none of that number, CP803 when it is kept for a run.
    """
    item = any_item(holding, number)
    if item.run:
        raise Refused([held_by(item)])
    return item


def known_run(holding: Holding, name: str) -> Run:
    """Return the run of that name, or the one that begins so.

    Raises
    ------
    Refused
        CP802 when there is none, or more than one.
    """
    if name in holding.runs:
        return holding.runs[name]
    meant = [run for key, run in sorted(holding.runs.items()) if key.startswith(name)] if name else []
    if len(meant) != 1:
        raise Refused([run_named(name, [run.id for run in meant])])
    return meant[0]


def _reserved_run(holding: Holding, name: str) -> Run:
    """Return the reserved run of that name, or the only reserved one that begins so.

    Raises
    ------
    Refused
        CP802 when there is none, or more than one, CP803 when it is not reserved, or its rolls are not kept any more.
    """
    waiting = [run.id for run in holding.runs.values() if run.state is RunState.RESERVED and run.id.startswith(name)]
    run = known_run(holding, waiting[0] if name and name not in holding.runs and len(waiting) == 1 else name)
    if run.state is not RunState.RESERVED:
        raise Refused([wrong_state(run, "a run that is reserved", "`cutpath run list` says how far each run is.")])
    passed = [n for n in run.items if n not in holding.items or holding.items[n].run != run.id]
    if passed:
        raise Refused(_lost(holding, n) for n in passed)
    return run


def _stands_already(run: Run) -> Finding:
    remedy = (
        "To cut the same once more, give another --seed."
        if run.state is RunState.COMMITTED
        else ("Commit or release it first; to cut the same twice, give another --seed.")
    )
    return wrong_state(run, "a run that was not made before", remedy)


def _differs(item: Item, cut: Cut) -> bool:
    """Tell whether an item was measured anew since a nest was made on it."""
    return max(abs(item.width_mm - cut.width_mm), abs(item.length_mm - cut.length_mm)) > POINT_MM


def _lost(holding: Holding, number: int) -> Finding:
    item = holding.items.get(number)
    if item is not None and item.run:
        return held_by(item)
    if item is not None:
        found = f"it is {item.words} now"
        return Finding("CP803", item.label, found, "rolls as they were when the nest began", _MEANWHILE)
    found = "it is not on the shelf any more"
    return Finding("CP803", label_of(number), found, "rolls as they were when the nest began", _MEANWHILE)


_MEANWHILE = "Somebody changed the stock meanwhile: run the same command once more."


@dataclass(frozen=True, slots=True)
class _Parts:
    """How an item is divided: the rest not drawn, kept offcuts, areas to accounts, and who bears what is left."""

    item: Item
    rest_mm: tuple[float, float] | None
    kept_mm: Sequence[tuple[float, float]]
    areas_mm2: dict[Account, float]
    last: Account


def _rest(item: Item, off_mm: float) -> tuple[float, float] | None:
    """Return length and width of what is left of an item, None for a shred."""
    left_mm = item.length_mm - off_mm
    return (left_mm, item.width_mm) if left_mm >= _LEAST_MM else None


def _divided(parts: _Parts, number: int, verb: Verb, at: str, *, run: str = "", note: str) -> Change:
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
    postings += map(_on_shelf, new)
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


def _on_shelf(item: Item) -> Posting:
    return Posting(Account.SHELF, item.code, item.mass_ug, item.cost_u or 0, item.number)


def _touched(items: Iterable[Item]) -> tuple[Posting, ...]:
    """Name items in a movement by which no lead goes anywhere."""
    return tuple(Posting(Account.SHELF, item.code, 0, 0, item.number) for item in items)


def _kept(verb: Verb, items: Iterable[Item], run: Run) -> Movement:
    return Movement(verb, run.at, _touched(items), run.id)


def _micrograms(area_mm2: float, mass_kg_m2: float) -> int:
    return round(area_mm2 / MM2_PER_M2 * mass_kg_m2 * MICROGRAMS_PER_KG)


_MOST_MONEY = 1e9


def _millionths(cost: float | None) -> int | None:
    if cost is None:
        return None
    if not 0 <= cost <= _MOST_MONEY:
        raise Refused([not_a_size("cost", f"{cost:g}", f"0 to {_MOST_MONEY:.0f}")])
    return round(cost * MILLIONTHS)


def _check_words(**words: str | None) -> None:
    for name, text in words.items():
        if text and (len(text) > _MOST_LETTERS or any(map(is_unseen, text))):
            found = f"{len(text)} characters" if len(text) > _MOST_LETTERS else seen(text).replace("\n", "\\n")
            raise Refused([not_a_size(name, found, f"at most {_MOST_LETTERS} characters that can be seen")])


_MOST_LETTERS = 200


def _check_size(name: str, size_mm: float) -> None:
    if not (math.isfinite(size_mm) and _LEAST_MM <= size_mm <= LARGEST_MM):
        raise Refused([not_a_size(name, f"{size_mm:g} mm", f"{_LEAST_MM:.0f} to {LARGEST_MM:.0f} mm")])
