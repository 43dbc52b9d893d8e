"""A pack list as PDF, A4: what goes to each customer, pack by pack, to tick off; each customer on a page of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cutpath.paper.text import kilograms, millimetres
from cutpath.plane import bounds_mm
from cutpath.reports.account.packing import Delivery, Pack, deliveries, lift_words, total_words
from cutpath.reports.account.shape import pattern_kg
from cutpath.trade import cautions
from cutpath.values.batch import Batch
from cutpath.values.looks import BLACK, GREY
from cutpath.writers.flowing import SMALL_PT, TEXT_PT, pages, words
from cutpath.writers.pdf import MM

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

_MARGIN_MM = 18.0
_COLUMNS_MM = (8.0, 40.0, 64.0, 18.0, 20.0, 24.0)
_TITLE_PT = 16.0
_HEADS = ("", "piece", "", "pieces", "kg each", "kg")


def pack_page(batch: Batch) -> bytes:
    """Write the pack list of every customer as PDF; the same batch always gives the same bytes."""
    flowables = [flowable for delivery in deliveries(batch) for flowable in _customer(delivery, batch)]
    return pages(flowables, "Pack list", _MARGIN_MM)


def _customer(delivery: Delivery, batch: Batch) -> list[Flowable]:
    from reportlab.platypus import PageBreak

    most = batch.practice["lift_at_waist"]
    jobs = list(dict.fromkeys(pack.job.name for pack in delivery.packs))
    errands = {pack.job.name: pack.job.errand for pack in delivery.packs}
    return [
        words(f"Pack list: {delivery.customer}", _TITLE_PT, bold=True, after_mm=2),
        *(
            words("; ".join((job, *(word for word in errands[job] if word != f"for {delivery.customer}"))))
            for job in jobs
        ),
        words(f"{total_words(delivery)}. No pack is over {most.value:g} kg, unless it says so.", after_mm=3),
        _table(delivery, batch),
        words("", after_mm=3),
        words("Packed by ____________________   Received by ____________________   Date ______________", after_mm=3),
        words(
            f"{cautions.text_of('lead')} {most.value:g} kg is the guideline figure for lifting ({most.source}).",
            SMALL_PT,
        ),
        PageBreak(),
    ]


def _table(delivery: Delivery, batch: Batch) -> Flowable:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Table

    rows: list[list[Any]] = [list(_HEADS)]
    style: list[tuple[Any, ...]] = [
        ("FONT", (0, 0), (-1, 0), "Helvetica", SMALL_PT),
        ("FONT", (0, 1), (-1, -1), "Helvetica", TEXT_PT),
        ("ALIGN", (3, 0), (-1, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, HexColor(BLACK)),
    ]
    for number, pack in enumerate(delivery.packs, start=1):
        at = len(rows)
        lift = lift_words(pack, batch)
        head = f"Pack {number} of {len(delivery.packs)}: code {pack.lead.code}, {pack.lead.colour}" + (
            f"; {lift}" if lift else ""
        )
        rows.append([words(head, bold=True), "", "", "", "", kilograms(pack.kg)])
        rows += _pieces(pack)
        style += [
            ("SPAN", (0, at), (4, at)),
            ("BACKGROUND", (0, at), (-1, at), HexColor("#eef1f3")),
            ("FONT", (-1, at), (-1, at), "Helvetica-Bold", TEXT_PT),
            ("NOSPLIT", (0, at), (-1, at + 1)),
            ("BOX", (0, at + 1), (0, len(rows) - 1), 0.4, HexColor(GREY)),
            ("INNERGRID", (0, at + 1), (0, len(rows) - 1), 0.4, HexColor(GREY)),
        ]
    return Table(rows, colWidths=[mm * MM for mm in _COLUMNS_MM], style=style, repeatRows=1, hAlign="LEFT")


def _pieces(pack: Pack) -> list[list[Any]]:
    out = []
    for piece, count in pack.pieces:
        each = pattern_kg(piece.pattern, pack.lead)
        x0, y0, x1, y1 = bounds_mm(piece.pattern.outline)
        what = piece.pattern.family + (f", {piece.hand.value} hand" if piece.hand else "")
        what += f", {millimetres(x1 - x0)} x {millimetres(y1 - y0)}"
        of = f"{count}" if count == piece.quantity else f"{count} of {piece.quantity}"
        out.append(["", piece.id, words(what), of, kilograms(each), kilograms(count * each)])
    return out
