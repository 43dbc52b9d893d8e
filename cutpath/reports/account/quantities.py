"""What each job needs: lead by code, soakers by hand, wedges, clips, joint to point, seams, and wood under the lead."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import fsum
from typing import TypedDict

from cutpath.paper.markup import html_table
from cutpath.paper.text import csv_text, fixed, kilograms, metres, millimetres, square_metres, times
from cutpath.plane import bounds_mm
from cutpath.reports.account.shape import area_mm2, mass_kg
from cutpath.trade import fixings
from cutpath.trade.rules import Practice
from cutpath.units import MM2_PER_M2, MM_PER_UNIT
from cutpath.values.batch import Batch
from cutpath.values.fixing import FixingKind
from cutpath.values.pattern import FlatPattern, Fold, PartKind
from cutpath.values.piece import Piece, fixed_by


class QuantityRow(TypedDict):
    """One item of one job: ``quantity`` in ``unit`` (m2, m, or pieces), its mass in kg where it is lead of the job.

    ``by`` says by which rule or reckoning, with its source.
    """

    job: str
    item: str
    hand: str | None
    quantity: float
    unit: str
    kg: float | None
    by: str


_PIECES, _M2, _M = "pieces", "m2", "m"
_CUT = "area of the pieces, laps and turn-ins in it"
_COURSES = "one to each course from the lower end up (one more where that lies between two), or as many as were ordered"
_JOINT = "derived: length of the folds that turn in, laps counted once; a joint that two parts share counts for both"
_WELDS = (
    "derived: the edges of gussets, sleeves, stop ends and notches that are leadwelded; laps are not in the lead above"
)
_ROLLS = "derived: as long as the sheet is wide"
_OIL = (
    "common practice, no source: weather face and edges, as soon as it is fitted, so that new lead does not stain what "
    "is below; area of the pieces without soakers and plain outlines"
)
_NOT_OILED = frozenset({PartKind.SOAKER, PartKind.PLAIN})
_FILLETS = "derived: length of the folds over its crest, laps counted once"


def quantities(batch: Batch) -> list[QuantityRow]:
    """List what each job needs, in the order of the jobs; an item that a job does not need is left out."""
    return [row for job in batch.jobs for row in _of_job(job.name, batch)]


def _of_job(job: str, batch: Batch) -> Iterable[QuantityRow]:
    pieces = [piece for piece in batch.pieces if piece.job == job]
    for lead in dict.fromkeys(piece.lead for piece in sorted(pieces, key=lambda p: p.lead.code)):
        area = fsum(p.quantity * area_mm2(p.pattern) for p in pieces if p.lead == lead)
        yield _row(job, f"{lead.material}, {lead.colour}", area / MM2_PER_M2, _M2, _CUT, kg=mass_kg(area, lead))
    yield from _soakers(job, [piece for piece in pieces if piece.pattern.part is PartKind.SOAKER])
    yield from _fixings(job, pieces, batch.practice)
    for item, length, rule in (
        ("joint or chase to rake out and point", joint_mm(pieces), _JOINT),
        ("seams to leadweld", fsum(p.quantity * fixings.weld_mm(p.pattern) for p in pieces), _WELDS),
        ("core for wood-cored rolls", fsum(p.quantity * fixings.roll_mm(p.pattern) for p in pieces), _ROLLS),
        ("tilting fillet", along_runs_mm(pieces, fixings.crests), _FILLETS),
    ):
        if length:
            yield _row(job, item, length / MM_PER_UNIT["m"], _M, rule)
    seen = [piece for piece in pieces if piece.pattern.part not in _NOT_OILED]
    if oiled := fsum(p.quantity * area_mm2(p.pattern) for p in seen):
        yield _row(job, "lead to coat with patination oil", oiled / MM2_PER_M2, _M2, _OIL)


def _fixings(job: str, pieces: Sequence[Piece], practice: Practice) -> Iterable[QuantityRow]:
    """Count what holds the pieces, place by place."""
    steps = any(fixings.is_step(fold) for piece in pieces for fold in piece.pattern.folds)
    for kind, item, rule in (
        (FixingKind.WEDGE, "lead wedges", wedge_rule(practice, steps=steps)),
        (FixingKind.CLIP, "clips for free edges", clip_rule(practice)),
        (FixingKind.NAIL, "copper nails through heads", nail_rule(practice)),
    ):
        counts: dict[str, int] = {}
        for piece in pieces:
            family, count = piece.pattern.family, piece.quantity * len(fixed_by(piece, kind))
            counts[family] = counts.get(family, 0) + count
        shares = ", ".join(f"{family} {count}" for family, count in counts.items() if count)
        if shares:
            by = rule if kind is FixingKind.WEDGE else f"{shares}; {rule}"
            yield _row(job, item, sum(counts.values()), _PIECES, by)


def wedge_rule(practice: Practice, *, steps: bool) -> str:
    """Say by which rules wedges are counted; ``steps``: some are set at steps."""
    spacing, least, step = practice["wedge_spacing"], practice["wedges_a_piece"], practice["wedges_a_step"]
    each = f"{step.value:g} at every step ({step.source}); on straight runs " if steps else ""
    return (
        f"{each}at most {spacing.value:g} {spacing.unit} apart, at each change of direction, at least "
        f"{least.value:g} a piece ({spacing.source.partition(':')[0]}); counted piece by piece, so a few are left over "
        "at the laps"
    )


def clip_rule(practice: Practice) -> str:
    """Say by which rule clips are counted."""
    most = practice["clip_spacing_most"]
    return (
        f"at most {most.value:g} {most.unit} apart, one near each end ({most.source}); "
        "which edges lie open: common practice, no source"
    )


def nail_rule(practice: Practice) -> str:
    """Say by which rules nails are counted."""
    spacing = practice["nail_spacing"]
    return f"at most {spacing.value:g} {spacing.unit} apart ({spacing.source}); sides are left free to move"


def joint_mm(pieces: Sequence[Piece]) -> float:
    """Return the length of joint and chase of a job's pieces, in mm, every set and hand counted, every lap once."""
    return along_runs_mm(pieces, fixings.turn_ins)


def along_runs_mm(pieces: Sequence[Piece], chosen: Callable[[FlatPattern], tuple[Fold, ...]]) -> float:
    """Return the length along chosen folds of a job's pieces, in mm, every set and hand counted, every lap once."""
    runs: dict[tuple[str, object, int], list[Piece]] = {}
    for piece in pieces:
        runs.setdefault((piece.detail, piece.hand, piece.quantity), []).append(piece)
    return fsum(
        quantity * fixings.run_mm(((p.pattern, bounds_mm(p.pattern.outline)[2]) for p in run), chosen)
        for (_, _, quantity), run in runs.items()
    )


def _soakers(job: str, soakers: Sequence[Piece]) -> Iterable[QuantityRow]:
    """Count soakers by code, size and hand."""
    counts: dict[tuple[str, str | None], list[Piece]] = {}
    for piece in soakers:
        _, _, length, width = bounds_mm(piece.pattern.outline)
        name = f"soakers {millimetres(length)} x {millimetres(width)} mm, code {piece.lead.code}"
        counts.setdefault((name, piece.hand.value if piece.hand else None), []).append(piece)
    for (name, hand), alike in counts.items():
        mass = fsum(p.quantity * mass_kg(area_mm2(p.pattern), p.lead) for p in alike)
        count = sum(p.quantity for p in alike)
        yield _row(job, name, count, _PIECES, _COURSES, hand=hand, kg=mass)


def _row(
    job: str, item: str, quantity: float, unit: str, by: str, *, hand: str | None = None, kg: float | None = None
) -> QuantityRow:
    return {"job": job, "item": item, "hand": hand, "quantity": quantity, "unit": unit, "kg": kg, "by": by}


def _figure(row: QuantityRow) -> str:
    if row["unit"] == _M2:
        return square_metres(row["quantity"] * MM2_PER_M2)
    return metres(row["quantity"] * MM_PER_UNIT["m"]) if row["unit"] == _M else fixed(row["quantity"], 0)


def quantities_csv(rows: Sequence[QuantityRow]) -> str:
    """Write the list as CSV: areas to a thousand mm2, lengths to 10 mm, masses to 10 g."""
    return csv_text(
        tuple(QuantityRow.__annotations__),
        ({**row, "quantity": _figure(row), "kg": "" if row["kg"] is None else kilograms(row["kg"])} for row in rows),
    )


def quantities_html(rows: Sequence[QuantityRow]) -> str:
    """Return the rows of one job as a table for the page."""
    head = ("quantities", "hand", "how much", "unit", "kg", "by")
    cells = (
        (
            times(row["item"]),
            row["hand"] or "",
            _figure(row),
            {_M2: "m²"}.get(row["unit"], row["unit"]),
            "" if row["kg"] is None else kilograms(row["kg"]),
            row["by"],
        )
        for row in rows
    )
    return html_table(
        head, cells, left=frozenset({0, 1, 3, 5}), class_="quantities", sparing=True, caption="What the job needs"
    )
