"""Which forms go on which rolls, and findings for pieces that go on none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import ceil

from cutpath.errors import Finding, Refused
from cutpath.nesting.shapes import Form, Room
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.units import mm_text
from cutpath.values.nest import NestProblem


def fits(form: Form, room: Room) -> bool:
    """Tell whether the form lies inside the room at all."""
    return form.width <= room.width and form.length <= room.length


def misfits(problem: NestProblem, forms: Sequence[Form], rooms: Sequence[Room]) -> tuple[Finding, ...]:
    """Return a CP501 finding for each blank that goes on no roll of the list, with the roll that it needs."""
    by_blank: dict[int, list[Form]] = {}
    for form in forms:
        by_blank.setdefault(form.blank, []).append(form)
    return tuple(
        _misfit(problem, problem.shapes[index].id, by_blank[index], rooms)
        for index, quantity in problem.to_cut()
        if quantity > 0 and not any(fits(form, room) for form in by_blank[index] for room in rooms)
    )


def refuse_misfits(problem: NestProblem, forms: Sequence[Form], rooms: Sequence[Room]) -> None:
    """Refuse a problem with blanks that go on no roll of the list.

    Raises
    ------
    Refused
        With the findings of `misfits`, when there are any.
    """
    found = misfits(problem, forms, rooms)
    if found:
        raise Refused(found)


def _misfit(problem: NestProblem, name: str, ways: Sequence[Form], rooms: Sequence[Room]) -> Finding:
    spare = 2 * problem.edge_trim_mm - problem.gap_mm
    best = min(ways, key=lambda form: (form.width, form.length))
    width, length = (side / TICKS_PER_MM + spare for side in (best.width, best.length))
    trim = f" with {problem.edge_trim_mm:g} mm trimmed off each edge" if problem.edge_trim_mm else ""
    if not rooms:
        accepted = "a roll of its lead, and there is none"
    elif all(best.width > room.width for room in rooms):
        widest = max(room.roll.width_mm for room in rooms)
        accepted = f"a roll that wide; the widest is {mm_text(widest, side=-1)}"
    else:
        longest = max(room.roll.length_mm for room in rooms if room.width >= best.width)
        accepted = f"a roll that long; those as wide are {mm_text(longest, side=-1)} long"
    size = f"{ceil(width)} mm wide and {ceil(length)} mm long"
    return Finding(
        "CP501",
        name,
        f"the piece needs a roll {size}{trim}",
        accepted,
        f"Put a roll at least {size} on the list, or make the piece in parts.",
    )


def rolls_run_out(names: Sequence[str]) -> Refused:
    """Return the refusal for blanks that are left when the rolls of the list are used up."""
    counts = Counter(names)
    kinds = [name if count == 1 else f"{count} of {name}" for name, count in counts.items()]
    left = "1 piece" if len(names) == 1 else f"{len(names)} pieces"
    shown = ", ".join(kinds[:5]) + (f" and {len(kinds) - 5} more kinds" if len(kinds) > 5 else "")
    return Refused(
        [
            Finding(
                "CP502",
                "rolls",
                f"the rolls are used up with {left} still to cut: {shown}",
                "a place for every piece",
                "Put more rolls on the list, or take pieces out of this batch.",
            )
        ]
    )
