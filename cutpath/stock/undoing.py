"""A wrong entry taken back by one that says the contrary: both stay in the history, and the stock closes.

Only what nothing was made of since can be taken back: an item that was cut on is given back by taking that back first.
The scrap pile is another matter. Where it was collected since, what an entry put on it too much was never there, so it
comes off what the collection took: off its difference where it was weighed, since the weight stands, else off what the
books said was collected.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from cutpath.errors import Finding, Refused
from cutpath.stock.entries import joined
from cutpath.stock.refusals import held_by
from cutpath.stock.rows import Entry, Whole
from cutpath.stock.spoilt import spoilt_note
from cutpath.units import mm_text
from cutpath.values.stock import (
    Account,
    Change,
    Cut,
    Item,
    Movement,
    Posting,
    Run,
    RunState,
    Verb,
    label_of,
)

_INSTEAD = {
    Verb.RESERVE: "Release the run, or commit it.",
    Verb.RELEASE: "Make the run again if it is wanted.",
    Verb.ADJUST: "Adjust the item once more.",
    Verb.SPOIL: "Undo the entries by which the re-cut was committed.",
    Verb.UNDO: "Book it once more, as it was booked first.",
}
"""What helps where an entry is not to be taken back."""

_GIVE = frozenset({Account.SCRAP, Account.PIECES, Account.HAND, Account.COLLECTED})
"""Accounts that never hold less than nothing."""


def undo(whole: Whole, number: int, at: str, note: str = "") -> Change:
    """Take back one entry of the history: a delivery, a roll that was committed, what was taken, a collection.

    What the entry put on the shelf goes, with what was measured of it since; what it took comes back, kept for its run
    where a run cut it, and that run is not as far any more.

    Parameters
    ----------
    whole : Whole
    number : int
        Of the entry, as the history has it.
    at, note : str

    Raises
    ------
    Refused
        CP802 when there is no such entry, CP803 when it cannot be taken back, with what is to be done first.
    """
    entries = {entry.number: entry.movement for entry in whole.entries}
    movement = entries.get(number)
    if movement is None:
        found, remedy = "the history has no such entry", "`cutpath stock history` has the number of each."
        raise Refused([Finding("CP802", f"entry {number}", found, "the number of an entry", remedy)])
    undone = {m.undoes: n for n, m in entries.items() if m.undoes is not None}
    if number in undone:
        raise Refused([_not(number, movement, f"entry {undone[number]} undid it", "Nothing to do.")])
    if movement.verb in _INSTEAD:
        raise Refused([_not(number, movement, "it is not one that is undone", _INSTEAD[movement.verb])])
    history = _History(whole, number, at, note, frozenset(undone))
    change = history.uncut(movement) if movement.verb is Verb.COMMIT else history.back(movement)
    _hold_nothing_below(whole, change, number, movement)
    return change


def _not(number: int, movement: Movement, found: str, remedy: str) -> Finding:
    of = f" of run {movement.run}" if movement.run else ""
    return Finding("CP803", f"entry {number}, {movement.verb}{of}", found, "an entry that can be undone", remedy)


class _History:
    """Everything that was booked, seen from one entry that is to be undone."""

    def __init__(self, whole: Whole, number: int, at: str, note: str, undone: frozenset[int]) -> None:
        self.whole, self.number, self.at, self.note = whole, number, at, note
        self.later = [e for e in whole.entries if e.number > number and e.number not in undone]
        self.later = [e for e in self.later if e.movement.undoes is None]

    def back(self, movement: Movement, number: int | None = None, kept_for: str = "") -> Change:
        """Return the contrary of a movement.

        Raises
        ------
        Refused
            CP803 when something was made of it since.
        """
        number = self.number if number is None else number
        back: list[Item] = []
        gone: list[int] = []
        postings: list[Posting] = []
        found: list[Finding] = []
        for p in movement.postings:
            if p.item is None:
                account = self._collected(p.code) if p.account is Account.SCRAP and p.mass_ug > 0 else p.account
                postings.append(Posting(account, p.code, -p.mass_ug, -p.cost_u))
            elif p.mass_ug < 0:
                back.append(replace(self.whole.items[p.item][0], run=kept_for))
                postings.append(replace(p, mass_ug=-p.mass_ug, cost_u=-p.cost_u))
            else:
                item = self.whole.holding.items.get(p.item)
                if item is None or item.run:
                    found.append(self._in_use(p.item, item))
                    continue
                gone.append(item.number)
                cost_u = item.cost_u or 0
                postings.append(replace(p, mass_ug=-item.mass_ug, cost_u=-cost_u))
                if (item.mass_ug, cost_u) != (p.mass_ug, p.cost_u):
                    more = Posting(Account.MEASURED, p.code, item.mass_ug - p.mass_ug, cost_u - p.cost_u)
                    postings.append(more)
        if found:
            raise Refused(found)
        note = self.note or f"undoes entry {number}"
        return Change(
            (Movement(Verb.UNDO, self.at, tuple(postings), movement.run, note, number),), tuple(back), tuple(gone)
        )

    def uncut(self, movement: Movement) -> Change:
        """Return what makes a roll of a run uncut again, and where its run was committed, its pieces not spoilt.

        Raises
        ------
        Refused
            CP803 when something was made of it since, or pieces of the run were cut once more.
        """
        run = self.whole.holding.runs[movement.run]
        again = [e for e in self.later if e.movement.verb is Verb.SPOIL and e.movement.run == run.id]
        if again:
            note = again[0].movement.note
            raise Refused([_not(self.number, movement, f"pieces of it were spoilt since: {note}", _AGAIN_FIRST)])
        cut = self._cut_of(run, movement)
        change = self.back(movement, kept_for=run.id)
        own = {cut.sheet for cut in run.booked} - {cut.sheet}
        (item,) = change.put
        cuts = tuple(replace(c, item=item.number if c is cut else c.item, booked=c.sheet in own) for c in run.cuts)
        spoils = list(self._spoils(run)) if run.state is RunState.COMMITTED else []
        run = replace(run, state=RunState.RESERVED, cuts=cuts)
        return joined(change, Change(runs=(run,)), *spoils)

    def _cut_of(self, run: Run, movement: Movement) -> Cut:
        """Return the cut of a run that a movement booked; earlier versions did not note the number of a bought roll."""
        number = next(p.item for p in movement.postings if p.item is not None and p.mass_ug < 0)
        item = self.whole.items[number][0]
        noted = [cut for cut in run.cuts if cut.item == number]
        alike = [c for c in run.cuts if c.item is None and (c.code, c.width_mm) == (item.code, item.width_mm)]
        return (noted or alike)[0]

    def _spoils(self, run: Run) -> Iterator[Change]:
        """Return the contrary of what the commit of a re-cut threw on the pile.

        Raises
        ------
        Refused
            CP803 where that was taken off a run which was not committed itself.
        """
        for copies in run.spoilt:
            note, first = spoilt_note(copies, run), self.whole.holding.runs[copies.run]
            for entry in self._threw(first, note):
                if not entry.movement.postings:
                    found = f"it took {copies.count} x {copies.piece} off run {first.id} before that was cut"
                    remedy = "Leave it, and put the shelf right with cutpath stock add or take."
                    raise Refused([_not(self.number, entry.movement, found, remedy)])
                parts = tuple(
                    replace(part, spoilt=part.spoilt - copies.count) if part.id == copies.piece else part
                    for part in first.parts
                )
                yield joined(self.back(entry.movement, entry.number), Change(runs=(replace(first, parts=parts),)))

    def _threw(self, first: Run, note: str) -> list[Entry]:
        spoils = [e for e in self.later if e.movement.verb is Verb.SPOIL and e.movement.run == first.id]
        return [entry for entry in spoils if entry.movement.note == note]

    def _collected(self, code: int) -> Account:
        """Return the account from which lead comes that was booked as scrap and was none."""
        for entry in self.later:
            movement = entry.movement
            if movement.verb is Verb.COLLECT and any(p.code == code for p in movement.postings):
                weighed = any(p.account is Account.WEIGHED for p in movement.postings)
                return Account.WEIGHED if weighed else Account.COLLECTED
        return Account.SCRAP

    def _in_use(self, number: int, item: Item | None) -> Finding:
        """Return the fault of undoing what put an item on the shelf that is kept for a run, or gone."""
        if item is not None:
            return held_by(item)
        entry = next(e for e in self.later if any(p.item == number and p.mass_ug < 0 for p in e.movement.postings))
        what = self.whole.items[number][0]
        run = f" of run {entry.movement.run}" if entry.movement.run else ""
        found = f"{what.kind} {mm_text(what.width_mm)} x {mm_text(what.length_mm)}: entry {entry.number}, "
        remedy = f"Undo that first: cutpath stock undo {entry.number}."
        return Finding(
            "CP803", label_of(number), f"{found}{entry.movement.verb}{run}, took it", "an item there", remedy
        )


_AGAIN_FIRST = "Undo the entries by which that re-cut was committed first."


def _hold_nothing_below(whole: Whole, change: Change, number: int, movement: Movement) -> None:
    """See that no account that holds lead holds less than nothing by a change.

    Raises
    ------
    Refused
        CP803.
    """
    moved: Counter[tuple[Account, int]] = Counter()
    for made in change.movements:
        for p in made.postings:
            moved[p.account, p.code] += p.mass_ug
    for (account, code), mass_ug in moved.items():
        held = whole.holding.balances.get((account, code))
        if account in _GIVE and (held.mass_ug if held else 0) + mass_ug < 0:
            found = f"less than nothing would be left of code {code} in the account {account}"
            raise Refused([_not(number, movement, found, "Undo what took of it since, the latest entry first.")])
