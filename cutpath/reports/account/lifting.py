"""What is heavy to lift: rolls, and the pieces of a job tied in one pack to a lead code."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from math import fsum

from cutpath.errors import Finding
from cutpath.paper.text import fixed, millimetres
from cutpath.reports.account.packing import Pack, packs_of
from cutpath.reports.account.shape import mass_kg
from cutpath.trade.rules import said
from cutpath.values.batch import Batch
from cutpath.values.fact import Fact

_NAMED = 3  # loads named in one sentence

Load = tuple[int, str, float]
"""So many loads of one kind, what they are in words, and the mass of the heaviest of them in kg."""


def heavy(batch: Batch) -> tuple[Finding, ...]:
    """Return one note for everything over the guideline figures for lifting, none where nothing is.

    Notes
    -----
    Source of the figures: HSE INDG143, from memory, unverified; see ``profiles/practice``.
    """
    upper, lower = batch.practice["lift_at_waist"], batch.practice["lift_at_waist_lower"]
    tied = {
        (job.name, lead.material): packs
        for job in batch.jobs
        for lead in dict.fromkeys(m.lead for m in batch.materials)
        if (packs := packs_of(job, [p for p in batch.pieces if p.lead == lead], upper.value))
    }
    loads = [load for (job, lead), packs in tied.items() for load in _packs(f"{lead} for {job}", packs, upper, lower)]
    rolls = _over("rolls", _rolls(batch), upper, lower)
    found = [words for words in (rolls, _over("packs", loads, upper, lower)) if words]
    if not found:
        return ()
    split = _split(tied, upper.value)
    sentence = "heavy_packs" if split else "heavy"
    return (said(sentence, "lifting", upper, loads="; ".join(found), lower=lower.value, packs=split),)


def _packs(name: str, packs: Sequence[Pack], upper: Fact, lower: Fact) -> Iterator[Load]:
    """Count the packs over each figure, as they are tied, and give the mass of the heaviest of them."""
    over = [pack.kg for pack in packs if pack.heavy]
    between = [pack.kg for pack in packs if not pack.heavy and pack.kg > lower.value]
    for masses in (over, [min(kg, upper.value) for kg in between]):
        if masses:
            yield len(masses), f"{name}{', the heaviest' if len(masses) > 1 else ''}", max(masses)


def _rolls(batch: Batch) -> list[Load]:
    """Name each kind of roll with how many there are of it, and the mass of one."""
    kinds = Counter((s.lead, s.nested.roll.width_mm, s.nested.roll.length_mm) for s in batch.sheets)
    return [
        (
            count,
            f"{lead.material}, {millimetres(width)} x {millimetres(length)} mm",
            mass_kg(width * length, lead),
        )
        for (lead, width, length), count in kinds.items()
    ]


def _over(what: str, loads: Sequence[Load], upper: Fact, lower: Fact) -> str:
    """Name the loads over the upper figure, those over the lower one where there are none, and count the rest."""
    heaviest = sorted(loads, key=lambda load: -load[2])
    over = [load for load in heaviest if load[2] > upper.value]
    between = [load for load in heaviest if lower.value < load[2] <= upper.value]
    if not over and not between:
        return ""
    limit, shown = (upper, over) if over else (lower, between)
    more = f"; over {lower.value:g} kg: {_count(between)} more" if over and between else ""
    return f"{what} over {limit.value:g} kg: {_named(shown)}{more}"


def _split(tied: Mapping[tuple[str, str], Sequence[Pack]], most_kg: float) -> str:
    """Say into how many packs what is too heavy in one is tied, job by job."""
    parts: dict[str, list[str]] = {}
    for (job, lead), packs in tied.items():
        if len(packs) > 1 and fsum(pack.kg for pack in packs) > most_kg:
            parts.setdefault(job, []).append(f"{len(packs)} of {lead.removeprefix('lead ')}")
    return "; ".join(f"{' and '.join(own)} for {job}" for job, own in parts.items())


def _named(loads: Sequence[Load]) -> str:
    """Name the first few, and count the rest: the list of rolls has every mass."""
    named = ", ".join(f"{count} of {name} at {fixed(mass, 1)} kg" for count, name, mass in loads[:_NAMED])
    rest = _count(loads[_NAMED:])
    return named + (f" and {rest} more" if rest else "")


def _count(loads: Sequence[Load]) -> int:
    return sum(count for count, _, _ in loads)
