"""What is tied together for each customer: packs by job and lead code, none heavier than one person lifts.

Customers are parted by the job's ``customer``; jobs without one stand for themselves.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from math import fsum
from typing import TypedDict

from cutpath.paper.text import csv_text, fixed, kilograms
from cutpath.plain import in_words
from cutpath.reports.account.shape import pattern_kg
from cutpath.tolerances import CLOSE_RATIO
from cutpath.values.batch import Batch
from cutpath.values.piece import Piece
from cutpath.values.survey import Job, Lead


@dataclass(frozen=True, slots=True)
class Pack:
    """Pieces of one job and one lead that are tied together: how many of each; their mass in kg.

    ``heavy`` tells that it is one piece over the figure for lifting, which nothing can lighten.
    """

    job: Job
    lead: Lead
    pieces: tuple[tuple[Piece, int], ...]
    kg: float
    heavy: bool


@dataclass(frozen=True, slots=True)
class Delivery:
    """What one customer gets, pack by pack, in the order of the jobs."""

    customer: str
    packs: tuple[Pack, ...]

    @property
    def kg(self) -> float:
        """Mass of all packs."""
        return fsum(pack.kg for pack in self.packs)


class PackRow(TypedDict):
    """So many of one piece in one pack; ``pack`` is its number of ``packs`` for the customer, ``pack_kg`` its mass.

    ``lift`` says of a pack which figure for lifting it is over, empty for none.
    """

    customer: str
    job: str
    site: str
    order: str
    due: str
    pack: int
    packs: int
    code: int
    piece: str
    what: str
    hand: str
    count: int
    each_kg: float
    kg: float
    pack_kg: float
    lift: str


def deliveries(batch: Batch) -> tuple[Delivery, ...]:
    """Return what each customer gets; no pack is over the shop's figure for lifting, unless one piece is."""
    most_kg = batch.practice["lift_at_waist"].value
    by_customer: dict[str, list[Job]] = {}
    for job in batch.jobs:
        by_customer.setdefault(job.customer or job.name, []).append(job)
    out = []
    for customer, jobs in by_customer.items():
        packs = chain.from_iterable(packs_of(job, batch.pieces, most_kg) for job in jobs)
        out.append(Delivery(customer, tuple(packs)))
    return tuple(delivery for delivery in out if delivery.packs)


def packs_of(job: Job, pieces: Iterable[Piece], most_kg: float) -> list[Pack]:
    """Return the packs of one job by lead: the heaviest first, each to the first pack with room for it.

    A few packs are as even as their number allows, for a light pack spares nobody a heavy one.

    The lengths of one wall, and all alike, are not parted to fill up others, where one pack holds them.
    """
    own = [piece for piece in pieces if piece.job == job.name]
    leads = sorted({piece.lead for piece in own}, key=lambda lead: lead.code)
    return [pack for lead in leads for pack in _tied(job, lead, [p for p in own if p.lead == lead], most_kg)]


def _tied(job: Job, lead: Lead, pieces: Sequence[Piece], most_kg: float) -> Iterator[Pack]:
    masses = {piece.id: pattern_kg(piece.pattern, lead) for piece in pieces}
    room_kg = most_kg * (1 + CLOSE_RATIO)

    def mass(those: Iterable[Piece]) -> float:
        return fsum(piece.quantity * masses[piece.id] for piece in those)

    groups = sorted(_together(pieces, mass, room_kg), key=lambda those: -mass(those))
    loads = _loaded(groups, masses, room_kg)
    if 1 < len(loads) <= _FEW:
        whole = [kg for kg in map(mass, groups) if kg <= room_kg]
        low, high = max(*whole, *masses.values(), mass(pieces) / len(loads)), room_kg
        while low < high - _EVEN_KG:
            middle = (low + high) / 2
            even = _loaded(groups, masses, middle)
            if len(even) > len(loads):
                low = middle
            else:
                loads, high = even, middle
    for load in loads:
        rows = tuple((piece, load[piece.id]) for piece in pieces if piece.id in load)
        kg = fsum(count * masses[piece.id] for piece, count in rows)
        yield Pack(job, lead, rows, kg, heavy=kg > room_kg)


_FEW = 12
"""Of more packs all but the last are full, and to even them out takes long where there are thousands of pieces."""

_EVEN_KG = 0.1


def _loaded(groups: Iterable[Sequence[Piece]], masses: Mapping[str, float], room_kg: float) -> list[dict[str, int]]:
    """Return how many of each piece go into each pack, groups by first fit; only copies of one piece are parted."""
    loads: list[dict[str, int]] = []
    full: list[float] = []

    def tie(place: int, piece: Piece, count: int) -> None:
        if place == len(loads):
            loads.append({})
            full.append(0.0)
        loads[place][piece.id] = count
        full[place] += count * masses[piece.id]

    for those in groups:
        mass = fsum(piece.quantity * masses[piece.id] for piece in those)
        if mass <= room_kg:
            place = next((n for n, kg in enumerate(full) if kg + mass <= room_kg), len(loads))
            for piece in those:
                tie(place, piece, piece.quantity)
            continue
        (piece,) = those
        left, each = piece.quantity, masses[piece.id]
        for place, kg in enumerate(tuple(full)):
            if fitting := min(left, max(0, int((room_kg - kg) / each))):
                tie(place, piece, fitting)
                left -= fitting
        while left:
            fitting = min(left, max(1, int(room_kg / each)))
            tie(len(loads), piece, fitting)
            left -= fitting
    return loads


def _together(
    pieces: Iterable[Piece], mass: Callable[[Iterable[Piece]], float], room_kg: float
) -> list[tuple[Piece, ...]]:
    """Gather what is fitted in one place, a detail's pieces of one hand, where a pack holds it; the rest one by one."""
    details: dict[object, list[Piece]] = {}
    for piece in pieces:
        details.setdefault((piece.detail, piece.hand), []).append(piece)
    return [
        those
        for own in details.values()
        for those in ([tuple(own)] if mass(own) <= room_kg else [(piece,) for piece in own])
    ]


def pack_list(batch: Batch) -> list[PackRow]:
    """List every pack of every customer, a row to each piece in it."""
    return [row for delivery in deliveries(batch) for row in _rows(delivery, batch)]


def _rows(delivery: Delivery, batch: Batch) -> Iterator[PackRow]:
    for number, pack in enumerate(delivery.packs, start=1):
        for piece, count in pack.pieces:
            each = pattern_kg(piece.pattern, pack.lead)
            yield {
                "customer": pack.job.customer,
                "job": pack.job.name,
                "site": pack.job.site,
                "order": pack.job.order,
                "due": pack.job.due,
                "pack": number,
                "packs": len(delivery.packs),
                "code": pack.lead.code,
                "piece": piece.id,
                "what": piece.pattern.family,
                "hand": piece.hand.value if piece.hand else "",
                "count": count,
                "each_kg": each,
                "kg": count * each,
                "pack_kg": pack.kg,
                "lift": lift_words(pack, batch),
            }


def lift_words(pack: Pack, batch: Batch) -> str:
    """Say which figure for lifting a pack is over; empty for none."""
    upper, lower = batch.practice["lift_at_waist"], batch.practice["lift_at_waist_lower"]
    if pack.heavy:
        return f"one piece over {upper.value:g} kg: lift with help"
    return f"over {lower.value:g} kg" if pack.kg > lower.value else ""


def pack_list_csv(rows: Sequence[PackRow]) -> str:
    """Write the list as CSV; masses to ten grams."""
    return csv_text(
        tuple(PackRow.__annotations__),
        ({**row, **{key: kilograms(row[key]) for key in ("each_kg", "kg", "pack_kg")}} for row in rows),
    )


def pack_of_copies(batch: Batch) -> Mapping[tuple[str, int], str]:
    """Return the pack of every copy of every piece in words, copies counted from 1."""
    out: dict[tuple[str, int], str] = {}
    told: Counter[str] = Counter()
    for delivery in deliveries(batch):
        for number, pack in enumerate(delivery.packs, start=1):
            for piece, count in pack.pieces:
                for _ in range(count):
                    told[piece.id] += 1
                    out[piece.id, told[piece.id]] = f"pack {number} of {len(delivery.packs)}"
    return out


def total_words(delivery: Delivery) -> str:
    """Say how many packs there are, and their mass."""
    count = len(delivery.packs)
    return f"{count} pack{'s' if count != 1 else ''}, {fixed(delivery.kg, 1)} kg"


def heaviest_words(delivery: Delivery, batch: Batch) -> str:
    """Say whether one person lifts every pack by the figure for lifting, or which packs are over it."""
    most = batch.practice["lift_at_waist"].value
    heavy = [str(number) for number, pack in enumerate(delivery.packs, start=1) if pack.heavy]
    if not heavy:
        return f"No pack is over {most:g} kg."
    return f"Pack{'s' if len(heavy) > 1 else ''} {in_words(heavy)} over {most:g} kg: lift with help."
