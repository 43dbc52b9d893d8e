"""What is asked of the stock: the item or the run that is meant, and sizes, words and money that may be given."""

from __future__ import annotations

import math

from cutpath.ceilings import LARGEST_MM
from cutpath.errors import Finding, Refused
from cutpath.plain import is_unseen, seen
from cutpath.stock.refusals import REMEDY_LIST, held_by, lost, not_a_size, run_named, wrong_state
from cutpath.units import MILLIONTHS
from cutpath.values.stock import Holding, Item, Run, RunState, label_of

LEAST_MM = 1.0
_MOST_MONEY = 1e9
_MOST_LETTERS = 200


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


def reserved_run(holding: Holding, name: str) -> Run:
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
        raise Refused(lost(holding, n) for n in passed)
    return run


def check_size(name: str, size_mm: float) -> None:
    """See that an item may have a size.

    Raises
    ------
    Refused
        CP806 when it may not.
    """
    if not (math.isfinite(size_mm) and LEAST_MM <= size_mm <= LARGEST_MM):
        raise Refused([not_a_size(name, f"{size_mm:g} mm", f"{LEAST_MM:.0f} to {LARGEST_MM:.0f} mm")])


def check_words(**words: str | None) -> None:
    """See that words go into a list and can be seen.

    Raises
    ------
    Refused
        CP806 when they are too long, or hold what nobody sees.
    """
    for name, text in words.items():
        if text and (len(text) > _MOST_LETTERS or any(map(is_unseen, text))):
            found = f"{len(text)} characters" if len(text) > _MOST_LETTERS else seen(text).replace("\n", "\\n")
            raise Refused([not_a_size(name, found, f"at most {_MOST_LETTERS} characters that can be seen")])


def millionths(cost: float | None) -> int | None:
    """Return a cost in millionths.

    Raises
    ------
    Refused
        CP806 for a cost that nothing has.
    """
    if cost is None:
        return None
    if not 0 <= cost <= _MOST_MONEY:
        raise Refused([not_a_size("cost", f"{cost:g}", f"0 to {_MOST_MONEY:.0f}")])
    return round(cost * MILLIONTHS)
