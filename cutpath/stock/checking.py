"""Whether a stock adds up: every movement to zero, every item to what its movements brought, runs to their items."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from cutpath.errors import Finding, Refused
from cutpath.profiles import lead_table
from cutpath.stock.file import BACKUP, StockFile
from cutpath.stock.rows import Whole
from cutpath.units import MICROGRAMS_PER_KG, MILLIONTHS, MM2_PER_M2, mm_text
from cutpath.values.stock import Account, Holding, RunState, label_of

_CODE = "CP804"


def check(file: StockFile) -> tuple[Finding, ...]:
    """Return everything that does not add up in a stock file; nothing when it closes.

    Raises
    ------
    Refused
        CP801 when the file cannot be used.
    """
    damage = [_fault(str(file.path), word, "a sound SQLite file") for word in file.damage()]
    if damage:
        return tuple(damage)
    try:
        whole = file.whole()
    except Refused as refusal:
        if any(finding.code != _CODE for finding in refusal.findings):
            raise
        return refusal.findings
    return (*_items(whole), *_runs(whole.holding), *_accounts(whole.holding))


def _items(whole: Whole) -> Iterator[Finding]:
    mass_ug: Counter[int] = Counter()
    cost_u: Counter[int] = Counter()
    for entry in whole.entries:
        for posting in entry.movement.postings:
            if posting.item is not None:
                mass_ug[posting.item] += posting.mass_ug
                cost_u[posting.item] += posting.cost_u
    for number, (item, gone) in whole.items.items():
        stated = (0, 0) if gone else (item.mass_ug, item.cost_u or 0)
        booked = (mass_ug[number], cost_u[number])
        if booked != stated:
            yield _fault(label_of(number), f"it is {_lead(*stated)}", f"booked are {_lead(*booked)}")
        lead = lead_table().get(item.code)
        due_kg = item.area_mm2 / MM2_PER_M2 * lead.mass_kg_m2 if lead else item.mass_kg
        if abs(item.mass_kg - due_kg) > _OFF * due_kg:
            found = (
                f"{mm_text(item.width_mm)} x {mm_text(item.length_mm)} of code {item.code} with {item.mass_kg:.3f} kg"
            )
            yield _fault(item.label, found, f"its size weighs {due_kg:.3f} kg")


def _lead(mass_ug: int, cost_u: int) -> str:
    return f"{mass_ug / MICROGRAMS_PER_KG:.9f} kg for {cost_u / MILLIONTHS:.6f}"


def _runs(holding: Holding) -> Iterator[Finding]:
    standing = {name for name, run in holding.runs.items() if run.state in (RunState.MAKING, RunState.RESERVED)}
    for item in holding.items.values():
        run = holding.runs.get(item.run)
        if item.run and (item.run not in standing or run is None or item.number not in run.items):
            yield _fault(item.label, f"it is kept for {item.run}", "it is kept for a run that cuts it, or for none")
    replacing = {run.replaces for run in holding.runs.values() if run.state is RunState.MAKING}
    for name in sorted(standing - replacing):
        for number in holding.runs[name].items:
            if number not in holding.items or holding.items[number].run != name:
                yield _fault(f"run {name}", f"{label_of(number)} is not kept for it", "all that it cuts is kept for it")


_OFF = 0.1
"""How far the weight of an item may be off that of its size, as a share: twice what sheet may be too thick or thin."""

_EITHER_WAY = frozenset({Account.BOUGHT, Account.MEASURED, Account.WEIGHED})
"""Accounts that may be below zero: where lead comes from, and what turned up or was missing."""


def _accounts(holding: Holding) -> Iterator[Finding]:
    for (account, code), amount in holding.balances.items():
        if account not in _EITHER_WAY and amount.mass_ug < 0:
            yield _fault(f"{account}, code {code}", f"{amount.mass_kg:.9f} kg are there", "nothing below zero")
    shelf = Counter[int]()
    for item in holding.items.values():
        shelf[item.code] += item.mass_ug
    for code in {code for _, code in holding.balances}:
        booked = holding.balances.get((Account.SHELF, code))
        if booked is not None and booked.mass_ug != shelf[code]:
            kg = booked.mass_kg
            yield _fault(
                f"shelf, code {code}", f"{kg:.9f} kg are booked", f"{shelf[code] / MICROGRAMS_PER_KG:.9f} kg lie there"
            )


def _fault(where: str, found: str, accepted: str) -> Finding:
    return Finding(_CODE, where, found, accepted, BACKUP)
