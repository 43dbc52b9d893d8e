"""What stick-on labels of pieces say: one to each copy, with its roll, where that lies, its place on it, and its pack.

Places are in mm from the end of the roll that is drawn first, and from its lower edge.
"""

from __future__ import annotations

from cutpath.paper.text import kilograms
from cutpath.plane import bounds_mm
from cutpath.reports.account.packing import pack_of_copies
from cutpath.reports.account.shape import pattern_kg, placed
from cutpath.values.batch import Batch, Sheet
from cutpath.values.nest import Placement
from cutpath.values.piece import Piece
from cutpath.values.survey import Job


def piece_labels(batch: Batch) -> list[tuple[str, tuple[str, ...]]]:
    """Return title and lines of each label, roll by roll as the pieces come off it."""
    pieces, jobs = {piece.id: piece for piece in batch.pieces}, {job.name: job for job in batch.jobs}
    packs = pack_of_copies(batch)
    return [
        (
            placement.id,
            _lines(
                pieces[placement.id],
                jobs.get(pieces[placement.id].job),
                placement,
                sheet,
                packs.get((placement.id, placement.copy), ""),
            ),
        )
        for sheet in batch.sheets
        for placement in sorted(sheet.nested.placements, key=lambda p: (p.x_mm, p.y_mm))
    ]


def _lines(piece: Piece, job: Job | None, placement: Placement, sheet: Sheet, pack: str) -> tuple[str, ...]:
    x0, y0, x1, y1 = bounds_mm(placed(piece.pattern.outline, placement))
    what = piece.pattern.family + (f", {piece.hand.value} hand" if piece.hand else "")
    order = f"fitting order {piece.number} of {piece.of}, " if piece.of > 1 else ""
    many = f"{placement.copy} of {piece.quantity}, " if piece.quantity > 1 else ""
    folds = len(piece.pattern.folds)
    name = f" ({sheet.nested.roll.name})" if sheet.nested.roll.name else ""
    return (
        what,
        f"{order}{many}{folds or 'no'} fold{'' if folds == 1 else 's'}",
        f"code {piece.lead.code}, {kilograms(pattern_kg(piece.pattern, piece.lead))} kg{f', {pack}' if pack else ''}",
        "; ".join((piece.job, *(job.errand if job else ()))),
        f"from {sheet.id}{name}",
        f"middle {(x0 + x1) / 2:.0f} along, {(y0 + y1) / 2:.0f} across",
    )
