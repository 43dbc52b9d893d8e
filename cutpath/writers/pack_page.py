"""A pack list as PDF, A4: what goes to each customer, pack by pack, to tick off; each customer on a page of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from cutpath.paper.text import ROUNDED, kilograms
from cutpath.reports.account.packing import Delivery, Pack, deliveries, heaviest_words, lift_words, total_words
from cutpath.reports.account.shape import called, pattern_kg, size_words
from cutpath.trade import cautions
from cutpath.values.batch import Batch
from cutpath.values.looks import BLACK, GREY
from cutpath.writers.flowing import SMALL_PT, TEXT_PT, pages, words
from cutpath.writers.pdf import MM

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

_MARGIN_MM = 18.0
_COLUMNS_MM = (8.0, 31.0, 59.0, 26.0, 18.0, 16.0, 16.0)
_TITLE_PT = 16.0
_TOGETHER = 16
"""Pieces of a pack that stay on one page with its number; with more, the number stands again."""
_HEADS = ("", "piece", "what it is", "size mm", "pieces", "kg each", "kg")


def pack_page(batch: Batch, run: str = "", tickets: Mapping[str, str] | None = None) -> bytes:
    """Write the pack list of every customer as PDF; the same batch always gives the same bytes.

    Parameters
    ----------
    batch : Batch
    run : str, optional
        Its name, which whoever books the packs needs.
    tickets : mapping of str to str, optional
        Where each piece's ticket is: by its number, which leads there, a file beside this one and a place in it.
    """
    places = tickets or {}
    flowables = [flowable for delivery in deliveries(batch) for flowable in _customer(delivery, batch, run, places)]
    return pages(flowables, "Pack list", _MARGIN_MM)


def _customer(delivery: Delivery, batch: Batch, run: str, tickets: Mapping[str, str]) -> list[Flowable]:
    from reportlab.platypus import PageBreak

    most = batch.practice["lift_at_waist"]
    jobs = list(dict.fromkeys(pack.job.name for pack in delivery.packs))
    errands = {
        pack.job.name: (*pack.job.errand, *([f"note: {' '.join(pack.job.notes.split())}"] if pack.job.notes else []))
        for pack in delivery.packs
    }
    told = [
        "; ".join(
            (
                *([job] if job != delivery.customer else []),
                *(word for word in errands[job] if word != f"for {delivery.customer}"),
            )
        )
        for job in jobs
    ]
    return [
        words(f"Pack list: {delivery.customer}", _TITLE_PT, bold=True, after_mm=2),
        *(words(line) for line in told if line),
        words(f"{total_words(delivery)}. {heaviest_words(delivery, batch)}{f' Run {run}.' * bool(run)}", after_mm=1),
        words(
            f"{cautions.text_of('lead')} {most.value:g} kg is the guideline figure for lifting ({most.source}).",
            SMALL_PT,
            after_mm=3,
        ),
        _table(delivery, batch, tickets),
        words("", after_mm=1),
        words(ROUNDED, SMALL_PT, after_mm=3),
        words("Packed by ______________________    Received by ______________________    Date ________________"),
        PageBreak(),
    ]


def _table(delivery: Delivery, batch: Batch, tickets: Mapping[str, str]) -> Flowable:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Table

    several = len({pack.job.name for pack in delivery.packs}) > 1
    rows: list[list[Any]] = [list(_HEADS)]
    style: list[tuple[Any, ...]] = [
        ("FONT", (0, 0), (-1, 0), "Helvetica", SMALL_PT),
        ("FONT", (0, 1), (-1, -1), "Helvetica", TEXT_PT),
        ("ALIGN", (3, 0), (-1, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, HexColor(BLACK)),
    ]
    for number, pack in enumerate(delivery.packs, start=1):
        lift = lift_words(pack, batch)
        name = f"Pack {number} of {len(delivery.packs)}"
        whose = f"; {pack.job.name}" if several else ""
        head = f"{name}: code {pack.lead.code}, {pack.lead.colour}{whose}{f'; {lift}' * bool(lift)}"
        pieces = _pieces(pack, tickets)
        for first in range(0, len(pieces), _TOGETHER):
            at = len(rows)
            rows.append([words(f"{name}, continued" if first else head, bold=True), "", "", "", "", "", ""])
            rows += pieces[first : first + _TOGETHER]
            style += [
                ("SPAN", (0, at), (5, at)),
                ("BACKGROUND", (0, at), (-1, at), HexColor("#eef1f3")),
                ("NOSPLIT", (0, at), (-1, len(rows) - 1)),
                ("BOX", (0, at + 1), (0, len(rows) - 1), 0.4, HexColor(GREY)),
                ("INNERGRID", (0, at + 1), (0, len(rows) - 1), 0.4, HexColor(GREY)),
            ]
            if not first:
                rows[at][-1] = kilograms(pack.kg)
                style.append(("FONT", (-1, at), (-1, at), "Helvetica-Bold", TEXT_PT))
    return Table(rows, colWidths=[mm * MM for mm in _COLUMNS_MM], style=style, repeatRows=1, hAlign="LEFT")


def _pieces(pack: Pack, tickets: Mapping[str, str]) -> list[list[Any]]:
    out = []
    for piece, count in pack.pieces:
        each = pattern_kg(piece.pattern, pack.lead)
        of = f"{count}" if count == piece.quantity else f"{count} of {piece.quantity}"
        size = size_words(piece.pattern)
        out.append(
            [
                "",
                words(piece.id, to=tickets.get(piece.id, "")),
                words(called(piece)),
                size,
                of,
                kilograms(each),
                kilograms(count * each),
            ]
        )
    return out
