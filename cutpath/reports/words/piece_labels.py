"""What stick-on labels of pieces say: one to each copy, or one to all that are alike in a pack; and of each pack.

A copy's label has its roll, where that lies, and its place on it: in mm from the end of the roll that is drawn first,
and from its lower edge.
"""

from __future__ import annotations

from cutpath.paper.text import counted, kilograms, rolls_named, unbroken
from cutpath.plain import in_words
from cutpath.plane import bounds_mm
from cutpath.reports.account.packing import Pack, deliveries, lift_words, pack_of_copies
from cutpath.reports.account.shape import called, pattern_kg, placed, size_words
from cutpath.values.batch import Batch, Sheet
from cutpath.values.nest import Placement
from cutpath.values.piece import Piece
from cutpath.values.survey import Job

Said = tuple[str, tuple[str, ...]]
"""Title and lines of a label."""


def piece_labels(batch: Batch) -> list[Said]:
    """Return a label for every copy of every piece, roll by roll as they come off it."""
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


def tied_labels(batch: Batch) -> list[Said]:
    """Return one label for all copies of a piece that lie in one pack, pack by pack."""
    rolls: dict[str, list[str]] = {}
    for sheet in batch.sheets:
        for id_ in dict.fromkeys(placement.id for placement in sheet.nested.placements):
            rolls.setdefault(id_, []).append(sheet.id)
    return [
        (piece.id, _tied(piece, count, pack, f"pack {number} of {len(delivery.packs)}", rolls.get(piece.id, [])))
        for delivery in deliveries(batch)
        for number, pack in enumerate(delivery.packs, start=1)
        for piece, count in pack.pieces
    ]


def pack_labels(batch: Batch) -> list[Said]:
    """Return a label for every pack: whose it is, what it weighs, and what is in it."""
    return [
        (f"Pack {number} of {len(delivery.packs)}", _packed(delivery.customer, pack, lift_words(pack, batch)))
        for delivery in deliveries(batch)
        for number, pack in enumerate(delivery.packs, start=1)
    ]


def _packed(customer: str, pack: Pack, lift: str) -> tuple[str, ...]:
    errand = (told for told in (pack.job.name, *pack.job.errand) if told not in (customer, f"for {customer}"))
    count = sum(count for _, count in pack.pieces)
    held = [f"{count} x {piece.id}" for piece, count in pack.pieces]
    more = [f"{len(held) - _MOST_HELD} more"] if len(held) > _MOST_HELD else []
    return (
        f"for {customer}",
        *(["; ".join(words)] if (words := list(errand)) else []),
        f"code {pack.lead.code}, {counted(count, 'piece')}, {kilograms(pack.kg)} kg"
        + (f", {unbroken(lift)}" if lift else ""),
        in_words([*held[:_MOST_HELD], *more]),
    )


_MOST_HELD = 4


def _lines(piece: Piece, job: Job | None, placement: Placement, sheet: Sheet, pack: str) -> tuple[str, ...]:
    x0, y0, x1, y1 = bounds_mm(placed(piece.pattern.outline, placement))
    many = f"{placement.copy} of {piece.quantity} alike, " if piece.quantity > 1 else ""
    name = f" ({sheet.nested.roll.name})" if sheet.nested.roll.name else ""
    return (
        f"{called(piece)}, {unbroken(size_words(piece.pattern))}",
        f"{_order(piece)}{many}{_folds(piece)}",
        f"code {piece.lead.code}, {kilograms(pattern_kg(piece.pattern, piece.lead))} kg{f', {pack}' if pack else ''}",
        "; ".join((piece.job, *(job.errand if job else ()))),
        f"from {sheet.id}{name}, middle {(x0 + x1) / 2:.0f} along, {(y0 + y1) / 2:.0f} across",
    )


def _tied(piece: Piece, count: int, pack: Pack, place: str, rolls: list[str]) -> tuple[str, ...]:
    each = pattern_kg(piece.pattern, pack.lead)
    of = "" if count == piece.quantity else f" of {piece.quantity}"
    many = f"{count}{of} piece{'' if piece.quantity == 1 else 's'}"
    each_of_them = " each" if count > 1 else ""
    kg = f"{kilograms(count * each)} kg" + (f" ({kilograms(each)} kg each)" if count > 1 else "")
    return (
        f"{called(piece)}, {unbroken(size_words(piece.pattern))}",
        f"{many}, {_order(piece)}{_folds(piece)}{each_of_them}",
        f"code {pack.lead.code}, {kg}, {place}",
        "; ".join((piece.job, *pack.job.errand)),
        f"from {rolls_named(rolls)}",
    )


def _order(piece: Piece) -> str:
    return f"fitting order {piece.number} of {piece.of}, " if piece.of > 1 else ""


def _folds(piece: Piece) -> str:
    folds = len(piece.pattern.folds)
    return f"{folds or 'no'} fold{'' if folds == 1 else 's'}"
