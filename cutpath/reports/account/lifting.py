"""What is heavy to lift: rolls, and the pieces of a job tied in one pack to a lead code."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import ceil, fsum

from cutpath.errors import Finding, Severity
from cutpath.reports.account.shape import mass_kg, pattern_kg
from cutpath.reports.text import fixed, millimetres
from cutpath.trade.rules import Practice
from cutpath.values.batch import Batch
from cutpath.values.fact import Fact

_NAMED = 3  # loads named in one sentence

Load = tuple[str, float]
"""What is lifted at once, in words, and the mass of each in kg."""


def heavy(batch: Batch) -> tuple[Finding, ...]:
    """Return one note for all rolls and one for all packs over the guideline figures for lifting, none where none is.

    Notes
    -----
    Source of the figures: HSE INDG143, from memory, unverified; see ``profiles/practice``.
    """
    packs = (
        (f"{job.name}, {lead.material}", fsum(p.quantity * pattern_kg(p.pattern, lead) for p in own))
        for job in batch.jobs
        for lead in dict.fromkeys(m.lead for m in batch.materials)
        if (own := [p for p in batch.pieces if p.job == job.name and p.lead == lead])
    )
    remedies = (
        ("rolls", _rolls(batch), "Lift with help or a trolley, or cut them on the ground."),
        ("packs of pieces", list(packs), "Tie smaller packs: {packs} of at most {most:g} kg."),
    )
    return tuple(f for where, loads, remedy in remedies if (f := _finding(where, loads, batch.practice, remedy)))


def _rolls(batch: Batch) -> list[Load]:
    """Name each kind of roll with how many there are of it, and the mass of one."""
    kinds = Counter((s.lead, s.nested.roll.width_mm, s.nested.roll.length_mm) for s in batch.sheets)
    return [
        (
            f"{count} of {lead.material}, {millimetres(width)} x {millimetres(length)} mm",
            mass_kg(width * length, lead),
        )
        for (lead, width, length), count in kinds.items()
    ]


def _finding(where: str, loads: Sequence[Load], practice: Practice, remedy: str) -> Finding | None:
    upper, lower = practice["lift_at_waist"], practice["lift_at_waist_lower_filter"]
    heaviest = sorted(loads, key=lambda load: -load[1])
    over = [load for load in heaviest if load[1] > upper.value]
    between = [load for load in heaviest if lower.value < load[1] <= upper.value]
    if not over and not between:
        return None
    packs = _named([f"{ceil(mass / upper.value)} for {name}" for name, mass in over])
    fallback = "Lift them with help where the load is held away from the body."
    return Finding(
        "CP322",
        where,
        _over(upper, over) + (f"; {len(between)} more over {lower.value:g} kg" if between else "")
        if over
        else _over(lower, between),
        f"at most {upper.value:g} kg, or {lower.value:g} kg by the lower guideline figure ({upper.source})",
        remedy.format(packs=packs, most=upper.value) if over else fallback,
        Severity.NOTE,
    )


def _over(fact: Fact, loads: Sequence[Load]) -> str:
    named = _named([f"{name} at {fixed(mass, 1)} kg" for name, mass in loads])
    return f"over {fact.value:g} kg: {named}"


def _named(loads: Sequence[str]) -> str:
    """Name the first few, and count the rest: the list of rolls has every mass."""
    rest = len(loads) - _NAMED
    return ", ".join(loads[:_NAMED]) + (f" and {rest} more" if rest > 0 else "")
