"""The verbs for runs: reserved, settled once their output is in place or is not, committed roll by roll, released."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from cutpath.errors import Finding, Refused
from cutpath.stock.asked import known_run, millionths, reserved_run
from cutpath.stock.entries import Parts, bought, divided, joined, micrograms, rest_of, touched
from cutpath.stock.refusals import already_booked, cut_in_part, lost, thing_named, wrong_state
from cutpath.stock.spoilt import check_spoilt, spoilt_by
from cutpath.tolerances import POINT_MM
from cutpath.values.stock import Account, Change, Cut, Holding, Item, Kind, Movement, Run, RunState, Stage, Verb


class Lost(Refused):
    """Somebody else has what a nest was made on, or changed it meanwhile; a new nest goes on what is left."""


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
    check_spoilt(holding, run)
    allowed = {"", run.replaces}
    gone = [n for n in run.items if n not in holding.items or holding.items[n].run not in allowed]
    gone += [n for cut in run.cuts if (n := cut.item) is not None and n not in gone and _differs(holding.items[n], cut)]
    if gone:
        raise Lost(lost(holding, n) for n in gone)
    items = tuple(replace(holding.items[n], run=run.id) for n in run.items)
    kept = Movement(Verb.RESERVE, run.at, touched(items), run.id)
    return Change((kept,), items, runs=(replace(run, state=RunState.MAKING),))


def _differs(item: Item, cut: Cut) -> bool:
    """Tell whether an item was measured anew since a nest was made on it."""
    return max(abs(item.width_mm - cut.width_mm), abs(item.length_mm - cut.length_mm)) > POINT_MM


def _stands_already(run: Run) -> Finding:
    remedy = (
        "To cut the same once more, give another --seed."
        if run.state is RunState.COMMITTED
        else ("Commit or release it first; to cut the same twice, give another --seed.")
    )
    return wrong_state(run, "a run that was not made before", remedy)


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
            moves = (Movement(Verb.RELEASE, at, touched(freed), old.id, f"its output was replaced by {run.id}"),)
        return Change(moves, freed, runs=tuple(runs))
    back = set() if old is None else set(old.items)
    items = tuple(replace(i, run=old.id if old is not None and i.number in back else "") for i in mine)
    gone = Movement(Verb.RELEASE, at, touched(items), run.id, "its output was not put in place")
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
    run = reserved_run(holding, name)
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
    return joined(Change(runs=(replace(run, state=RunState.COMMITTED),)), whole, spoilt_by(holding, run, at))


def _no_roll_to_book(run: Run, sheet: str) -> Finding:
    if any(cut.sheet == sheet for cut in run.cuts):
        return already_booked(run, sheet)
    return thing_named(run, sheet, Stage.CUT, [cut.sheet for cut in run.cuts if not cut.booked])


def _roll_of(holding: Holding, cut: Cut, number: int, at: str, run: str) -> tuple[Change, int, Item]:
    """Return the item that is cut; one that was yet to be bought is put on the shelf first."""
    if cut.item is not None:
        return Change(), number, holding.items[cut.item]
    mass_ug = micrograms(cut.width_mm * cut.length_mm, cut.mass_kg_m2)
    cost_u = millionths(cut.price)
    item = Item(number, Kind.ROLL, cut.code, cut.width_mm, cut.length_mm, mass_ug, cost_u)
    return Change((bought(item, at, "bought for this run", run),), (item,)), number + 1, item


def _cut(item: Item, cut: Cut, number: int, at: str, run: str, note: str) -> Change:
    rest = rest_of(item, cut.drawn_mm) if cut.rest_kept else None
    parts = Parts(item, rest, cut.kept_mm, {Account.PIECES: cut.pieces_mm2}, Account.SCRAP)
    return divided(parts, number, Verb.COMMIT, at, run=run, note=note or cut.sheet)


def release(holding: Holding, name: str, at: str, note: str = "") -> Change:
    """Give back what a run was kept, since it is not cut; of one that is booked in part, the rest.

    Raises
    ------
    Refused
        CP802 when there is no such run, CP803 when it is not reserved.
    """
    run = reserved_run(holding, name)
    items = tuple(replace(item, run="") for item in holding.items.values() if item.run == run.id)
    gone = Movement(Verb.RELEASE, at, touched(items), run.id, note)
    if not run.booked:
        return Change((gone,), items, runs=(replace(run, state=RunState.RELEASED),))
    run = _as_far_as_cut(run)
    ended = Change((gone,), items, runs=(replace(run, state=RunState.COMMITTED),))
    return joined(ended, spoilt_by(holding, run, at))


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
