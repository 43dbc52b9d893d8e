"""Jobs priced by the shop's own prices: what each rests on, line by line, and the quote as CSV.

Rounding, stated once: a quantity is rounded to hundredths, an amount to the places of the currency, halves away from
zero both; whatever is added up after that is added up exactly.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from math import dist, fsum

from cutpath.errors import Finding, Severity
from cutpath.paper.text import counted, csv_text, day_words
from cutpath.reports.account.shape import area_mm2
from cutpath.reports.account.yields import account
from cutpath.trade import fixings
from cutpath.units import MM_PER_UNIT
from cutpath.values.batch import Batch
from cutpath.values.pattern import FlatPattern, Polyline
from cutpath.values.piece import Piece
from cutpath.values.price import Charge, LineKind, Per, Prices, Quote, QuoteLine, Work

_HUNDREDTH = Decimal("0.01")
_LINES = ("job", "customer", "order", "date", "kind", "what", "code", "quantity", "unit", "price", "amount", "currency")


@dataclass(frozen=True, slots=True)
class Weights:
    """Lead of one code for one job, in kg: its pieces, their scrap, and its share of the offcuts that are kept.

    They are rounded before anything is added up or priced, so that a quote adds up as it is read.
    """

    code: int
    pieces_kg: Decimal
    scrap_kg: Decimal
    kept_kg: Decimal

    def charged_kg(self, charge: Charge) -> Decimal:
        """Return the lead that is charged."""
        parts = [self.pieces_kg]
        parts += [] if charge is Charge.PIECES else [self.scrap_kg]
        return sum(parts + ([self.kept_kg] if charge is Charge.DRAWN else []), Decimal(0))


def rounded(value: Decimal | float, to: Decimal = _HUNDREDTH) -> Decimal:
    """Round a figure, halves away from zero.

    >>> rounded(Decimal("2.675")), rounded(Decimal("-0.005")), rounded(Decimal("12.5"), Decimal(1))
    (Decimal('2.68'), Decimal('-0.01'), Decimal('13'))
    """
    return (value if isinstance(value, Decimal) else Decimal(repr(value))).quantize(to, ROUND_HALF_UP)


def weights(batch: Batch) -> dict[str, tuple[Weights, ...]]:
    """Return the lead of every job by code; kept offcuts of a roll are shared as the account shares its scrap.

    That is by the area of the jobs' pieces on the roll, so that all of it adds up to what is drawn.
    """
    tally = account(batch)
    by_id = {piece.id: piece for piece in batch.pieces}
    kept: dict[tuple[str, int], list[float]] = {}
    for sheet, roll in zip(batch.sheets, tally["rolls"], strict=True):
        own: dict[str, list[float]] = {}
        for placement in sheet.nested.placements:
            piece = by_id[placement.id]
            own.setdefault(piece.job, []).append(area_mm2(piece.pattern))
        for job, areas in own.items():
            share = roll["offcuts_kg"] * fsum(areas) / roll["pieces_mm2"]
            kept.setdefault((job, sheet.lead.code), []).append(share)
    codes = {m.lead.material: m.lead.code for m in batch.materials}
    return {
        job: tuple(
            Weights(
                codes[name],
                rounded(part["pieces_kg"]),
                rounded(part["scrap_kg"]),
                rounded(fsum(kept[job, codes[name]])),
            )
            for name, part in own["materials"].items()
        )
        for job, own in tally["jobs"].items()
    }


def cut_m(pieces: Sequence[Piece]) -> float:
    """Return the length of cut in m: outline, holes and snips of every piece, each cut by itself."""
    return fsum(p.quantity * _cut_mm(p.pattern) for p in pieces) / MM_PER_UNIT["m"]


def _cut_mm(pattern: FlatPattern) -> float:
    rings = [(*ring, ring[0]) for ring in (pattern.outline, *pattern.holes)]
    return fsum(_length_mm(line) for line in (*rings, *(snip.points for snip in pattern.snips)))


def _length_mm(line: Polyline) -> float:
    return fsum(dist(a, b) for a, b in pairwise(line))


def quotes(batch: Batch, prices: Prices, on: date, run: str = "") -> tuple[Quote, ...]:
    """Price every job of a batch.

    Parameters
    ----------
    batch : Batch
    prices : Prices
    on : date
        The day of the quote, as its writer says; no clock is read.
    run : str
        Name of the run whose weights these are, empty where it was nested for the quote alone.
    """
    by_job, source = weights(batch), _source(batch, run)
    made = []
    for job in batch.jobs:
        pieces = [piece for piece in batch.pieces if piece.job == job.name]
        lines = _lines(pieces, by_job[job.name], prices)
        basis = (*_weight_words(by_job[job.name], prices), *_basis(prices, pieces, on), source)
        made.append(Quote(job, prices, on, tuple(lines), basis))
    return tuple(made)


def unpriced(made: Sequence[Quote]) -> list[Finding]:
    """Warn of everything in quotes that nothing prices."""
    return [
        Finding(
            "CP207",
            f"quote for {quote.job.name}",
            f"{', '.join(quote.missing)}: no price in {quote.prices.file}",
            "a price for everything that is charged",
            "Write it in, or included = true for work that other prices hold. The total is without it.",
            Severity.WARNING,
        )
        for quote in made
        if quote.missing
    ]


def _lines(pieces: Sequence[Piece], own: Sequence[Weights], prices: Prices) -> list[QuoteLine]:
    """Price the pieces of one job, line by line, tax last."""
    lines = [*_lead_lines(own, prices), *_work_lines(pieces, prices), *_credit_lines(own, prices)]
    lines += _markup_lines(lines, prices)
    if prices.tax is not None and (taxed := [line.amount for line in lines if line.amount is not None]):
        lines.append(_percentage(LineKind.TAX, prices.tax_name, (sum(taxed, Decimal(0)), prices.tax), prices))
    return lines


def _priced(
    kind: LineKind, what: str, counted: tuple[Decimal, str], price: Decimal | None, prices: Prices
) -> QuoteLine:
    quantity, unit = counted
    sign = -1 if kind is LineKind.CREDIT else 1
    amount = None if price is None else rounded(sign * quantity * price, _unit_of(prices))
    return QuoteLine(kind, what, quantity, unit, price, amount)


def _unit_of(prices: Prices) -> Decimal:
    return Decimal(1).scaleb(-prices.places)


def _lead_lines(own: Sequence[Weights], prices: Prices) -> Iterator[QuoteLine]:
    for lead in own:
        counted = lead.charged_kg(prices.charge), "kg"
        line = _priced(LineKind.LEAD, f"lead code {lead.code}", counted, prices.lead.get(lead.code), prices)
        yield QuoteLine(line.kind, line.what, line.quantity, line.unit, line.price, line.amount, code=lead.code)


def _work_lines(pieces: Sequence[Piece], prices: Prices) -> Iterator[QuoteLine]:
    """Yield a line to each kind of work that there is to do."""
    metres = cut_m(pieces)
    welds = fsum(p.quantity * fixings.weld_mm(p.pattern) for p in pieces) / MM_PER_UNIT["m"]
    corners = sum(p.quantity * fixings.welded_corners(p.pattern) for p in pieces)
    folds = sum(p.quantity * len(p.pattern.folds) for p in pieces)
    for what, work, per, counts in (
        ("cutting", prices.cutting, Per.METRE, {Per.METRE: metres}),
        ("folding", prices.folding, Per.FOLD, {Per.FOLD: float(folds)}),
        ("leadwelding", prices.welding, Per.METRE, {Per.METRE: welds, Per.CORNER: float(corners)}),
    ):
        if any(counts.values()):
            yield _work_line(what, work or Work(per, None), counts, prices, is_known=work is not None)


def _work_line(what: str, work: Work, counts: Mapping[Per, float], prices: Prices, *, is_known: bool) -> QuoteLine:
    count = counts[Per.METRE] if work.per is Per.MINUTE else counts[work.per]
    exact = Decimal(repr(count)) / (work.metres_per_minute if work.per is Per.MINUTE else 1)
    whole = work.per in (Per.FOLD, Per.CORNER)
    line = _priced(
        LineKind.WORK, what, (rounded(exact, Decimal(1) if whole else _HUNDREDTH), work.per), work.price, prices
    )
    included = is_known and work.price is None
    return QuoteLine(line.kind, line.what, line.quantity, line.unit, line.price, line.amount, included=included)


def _credit_lines(own: Sequence[Weights], prices: Prices) -> Iterator[QuoteLine]:
    for what, kg, price in (
        ("credit for scrap", sum((lead.scrap_kg for lead in own), Decimal(0)), prices.scrap),
        ("credit for kept offcuts", sum((lead.kept_kg for lead in own), Decimal(0)), prices.kept),
    ):
        if price is not None and kg:
            yield _priced(LineKind.CREDIT, what, (kg, "kg"), price, prices)


def _markup_lines(lines: Sequence[QuoteLine], prices: Prices) -> Iterator[QuoteLine]:
    for kind, percent in ((LineKind.LEAD, prices.markup_lead), (LineKind.WORK, prices.markup_work)):
        amounts = [line.amount for line in lines if line.kind is kind and line.amount is not None]
        if percent is not None and amounts:
            yield _percentage(LineKind.MARKUP, f"mark-up on {kind}", (sum(amounts, Decimal(0)), percent), prices)


def _percentage(kind: LineKind, what: str, by: tuple[Decimal, Decimal], prices: Prices) -> QuoteLine:
    whole, percent = by
    return QuoteLine(kind, what, whole, prices.currency, percent, rounded(whole * percent / 100, _unit_of(prices)))


def _weight_words(own: Sequence[Weights], prices: Prices) -> Iterator[str]:
    what = {
        Charge.PIECES: "its pieces alone",
        Charge.USED: "its pieces and their share of the scrap; kept offcuts stay with the shop",
        Charge.DRAWN: "all that is drawn off the rolls for it, kept offcuts too",
    }
    yield f"Lead is charged for {what[prices.charge]}."
    for lead in own:
        yield (
            f"Code {lead.code}: {lead.pieces_kg} kg of pieces, {lead.scrap_kg} kg of scrap, "
            f"{lead.kept_kg} kg of kept offcuts."
        )


def _basis(prices: Prices, pieces: Sequence[Piece], on: date) -> Iterator[str]:
    yield (
        f"{counted(sum(p.quantity for p in pieces), 'piece')}. Cuts: outline, holes and snips of each, as if it were "
        "cut by itself. Folds: every fold line, each turn-in by itself."
    )
    if prices.cutting is not None and prices.cutting.per is Per.MINUTE:
        yield f"Minutes of cutting: {prices.cutting.metres_per_minute} m in a minute, as the prices say."
    yield (
        f"Prices: {prices.file}, the shop's own, on {day_words(on)}."
        + (f" Valid until {day_words(on + timedelta(days=prices.valid_days))}." if prices.valid_days else "")
    )
    yield (
        f"Quantities are rounded to 0.01, each amount to {_unit_of(prices)} {prices.currency}, halves up; the total is "
        "the sum of the amounts."
    )
    if prices.welding is not None and prices.welding.per is Per.CORNER:
        yield "Leadwelding: every corner, sleeve or notch that is welded; edges that meet count as one."
    yield "Not included: fixings, patination oil, mortar, sundries, delivery and fitting."


def _source(batch: Batch, run: str) -> str:
    others = len(batch.jobs) - 1
    together = f" together with {others} other job{'s' if others > 1 else ''}" if others else ""
    if run:
        return f"Weights from run {run}{together}, cutpath {batch.version}."
    made = f"seed {batch.seed}, cutpath {batch.version}"
    return f"Weights from a nest{together} ({made}); another nest gives different scrap."


def quote_csv(quote: Quote) -> str:
    """Write a quote as CSV: a row to each line, net, tax, total, and what it rests on; figures are bare numbers."""
    head = {
        "job": quote.job.name,
        "customer": quote.job.customer,
        "order": quote.job.order,
        "date": quote.on.isoformat(),
        "currency": quote.prices.currency,
    }
    taxes = [line for line in quote.lines if line.kind is LineKind.TAX]
    rows: list[Mapping[str, object]] = [{**head, **_csv_row(line)} for line in quote.lines if line not in taxes]
    if quote.total is None:
        rows.append({**head, "kind": "total", "what": NOTHING_PRICED})
    else:
        without = f"without {', '.join(quote.missing)}" if quote.missing else ""
        rows.append({**head, "kind": "net", "what": without, "amount": str(quote.net)})
        rows += [{**head, **_csv_row(line)} for line in taxes]
        rows.append({**head, "kind": "total", "what": without, "amount": str(quote.total)})
    rows += [{**head, "kind": "basis", "what": words} for words in quote.basis]
    return csv_text(_LINES, rows)


NOTHING_PRICED = "nothing here has a price"


def amount_words(line: QuoteLine) -> str:
    """Return the amount of a line, or why it has none."""
    if line.amount is not None:
        return str(line.amount)
    return "included" if line.included else "no price"


def _csv_row(line: QuoteLine) -> dict[str, object]:
    percent = line.kind in (LineKind.MARKUP, LineKind.TAX)
    why = "" if line.amount is not None else f", {amount_words(line)}"
    return {
        "kind": line.kind.value,
        "what": f"{line.what}{f', {line.price} %' if percent else ''}{why}",
        "code": "" if line.code is None else line.code,
        "quantity": str(line.quantity),
        "unit": "%" if percent else str(line.unit),
        "price": "" if line.price is None else str(line.price),
        "amount": "" if line.amount is None else str(line.amount),
    }
