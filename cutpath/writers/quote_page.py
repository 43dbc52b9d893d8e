"""A quote as PDF, A4: who it is for, its lines, the total, and what it rests on."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from cutpath.paper.text import day_words
from cutpath.reports.account.quotes import NOTHING_PRICED, amount_words
from cutpath.values.looks import BLACK, GREY
from cutpath.values.price import LineKind, Quote, QuoteLine
from cutpath.writers.flowing import SMALL_PT, TEXT_PT, pages, words
from cutpath.writers.pdf import MM

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

_MARGIN_MM = 20.0
_COLUMNS_MM = (67.0, 25.0, 17.0, 26.0, 30.0)
_TITLE_PT, _HEAD_PT = 17.0, 10.5


def quote_page(quote: Quote) -> bytes:
    """Write a quote as PDF; the same quote always gives the same bytes."""
    return pages([*_head(quote), _table(quote), *_foot(quote)], f"Quote: {quote.job.name}", _MARGIN_MM)


def _head(quote: Quote) -> list[Flowable]:
    job = quote.job
    return [
        *(words(line, _HEAD_PT, bold=number == 0) for number, line in enumerate(quote.prices.heading)),
        words("", after_mm=2),
        words(f"Quote: {job.name}", _TITLE_PT, bold=True, after_mm=3),
        *(words(f"{name}: {value}") for name, value in _errand(quote) if value),
        words("", after_mm=2),
    ]


def _errand(quote: Quote) -> tuple[tuple[str, str], ...]:
    job = quote.job
    return (
        ("For", job.customer),
        ("Site", job.site),
        ("Order", job.order),
        ("Wanted by", _day(job.due)),
        ("Date", day_words(quote.on)),
        ("Valid until", "" if quote.valid_until is None else day_words(quote.valid_until)),
    )


def _day(text: str) -> str:
    """Return a day as others of the quote are written, or whatever else was written of when it is wanted."""
    try:
        return day_words(date.fromisoformat(text))
    except ValueError:
        return text


def _table(quote: Quote) -> Flowable:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Table

    rows: list[list[Any]] = [["", "quantity", "unit", "price", quote.prices.currency]]
    lines = [line for line in quote.lines if line.kind is not LineKind.TAX]
    rows += [[words(_begun(_what(line))), *_figures(line, quote.prices.places), amount_words(line)] for line in lines]
    totals = _totals(quote)
    rows += [[words(_begun(name), bold=True), "", "", "", amount] for name, amount in totals]
    first_total = len(rows) - len(totals)
    style = [
        ("FONT", (0, 0), (-1, 0), "Helvetica-Bold", SMALL_PT),
        ("FONT", (0, 1), (-1, -1), "Helvetica", TEXT_PT),
        ("FONT", (-1, first_total), (-1, -1), "Helvetica-Bold", TEXT_PT),
        ("ALIGN", (1, 0), (1, -1), "RIGHT"),
        ("ALIGN", (3, 0), (-1, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, HexColor(BLACK)),
        ("LINEBELOW", (0, 1), (-1, first_total - 1), 0.25, HexColor(GREY)),
        ("LINEABOVE", (0, first_total), (-1, first_total), 0.8, HexColor(BLACK)),
    ]
    return Table(rows, colWidths=[mm * MM for mm in _COLUMNS_MM], style=style, repeatRows=1, hAlign="LEFT")


def _begun(text: str) -> str:
    """Return words as a line of a table begins with them."""
    return text[:1].upper() + text[1:]


def _what(line: QuoteLine) -> str:
    return f"{line.what}, {line.price} %" if _is_share(line) else line.what


def _is_share(line: QuoteLine) -> bool:
    return line.kind in (LineKind.MARKUP, LineKind.TAX)


def _figures(line: QuoteLine, places: int) -> tuple[str, str, str]:
    """Return quantity, unit and price, which has the decimals of amounts at least."""
    if _is_share(line):
        return (f"on {line.quantity}", "", "")
    price = "" if line.price is None else max(str(line.price), f"{line.price:.{places}f}", key=len)
    return (str(line.quantity), str(line.unit), price)


def _totals(quote: Quote) -> list[tuple[str, str]]:
    """Return net, tax and total; where something has no price they say what they are without."""
    if quote.total is None:
        return [("Total", NOTHING_PRICED)]
    without = f" without {', '.join(quote.missing)}" if quote.missing else ""
    taxes = [(_what(line), amount_words(line)) for line in quote.lines if line.kind is LineKind.TAX]
    net = [(f"Before tax{without}", str(quote.net))] if taxes else []
    return [*net, *taxes, (f"Total{without}" + ("" if taxes else ", no tax in it"), str(quote.total))]


def _foot(quote: Quote) -> list[Flowable]:
    return [
        words("", after_mm=4),
        words("What it rests on", _HEAD_PT, bold=True),
        *(words(line, SMALL_PT) for line in quote.basis),
        words("", after_mm=1),
        *(words(line) for line in quote.prices.notes),
    ]
