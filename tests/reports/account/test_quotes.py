"""Quotes: what they rest on is what was nested, and every figure closes."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from cutpath import pipeline, polygon
from cutpath.nesting import one_after_another
from cutpath.prices import read_prices
from cutpath.reports.account.quotes import _basis, cut_m, quote_csv, quotes, rounded, unpriced, weights
from cutpath.reports.account.yields import account
from cutpath.trade.fixings import weld_mm, welded_corners
from cutpath.values.price import Charge, LineKind, Per, Prices, Work

ROOT = Path(__file__).parents[3]
ON = date(2026, 11, 29)
INVENTED = read_prices(ROOT / "fixtures" / "prices" / "invented.toml")
NOTHING = replace(
    INVENTED, lead={}, cutting=None, folding=None, welding=None, scrap=None, kept=None,
    markup_lead=None, markup_work=None, tax=None,
)  # fmt: skip


@pytest.fixture(scope="module")
def batch():
    jobs = [ROOT / "fixtures" / "jobs" / f"{name}.toml" for name in ("chimney", "counter-order")]
    planned = pipeline.plan(jobs, settings=pipeline.Settings(choose_lengths=False))
    return pipeline.batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])


def made(batch, prices: Prices):
    return quotes(batch, prices, ON)


def test_the_weights_of_all_jobs_are_all_that_was_drawn(batch):
    tally = account(batch)
    own = [lead for job in weights(batch).values() for lead in job]
    drawn = sum(lead.charged_kg(Charge.DRAWN) for lead in own)
    slack = 0.005 * 3 * len(own)
    assert float(drawn) == pytest.approx(tally["totals"]["drawn_kg"], abs=slack)
    pieces = sum(lead.charged_kg(Charge.PIECES) for lead in own)
    assert float(pieces) == pytest.approx(tally["totals"]["pieces_kg"], abs=slack)
    kept = sum(lead.kept_kg for lead in own)
    assert float(kept) == pytest.approx(tally["totals"]["offcuts_kg"], abs=slack)


def test_metres_of_cut_are_those_of_the_shapes(batch):
    shapes = [
        (p.quantity, polygon(p).length, [shapely.LineString(s.points) for s in p.pattern.snips]) for p in batch.pieces
    ]
    expected = sum(n * (edge + sum(snip.length for snip in snips)) for n, edge, snips in shapes) / 1000
    assert cut_m(batch.pieces) == pytest.approx(expected, rel=1e-12)


def test_a_corner_is_welded_where_there_is_a_seam(batch):
    welded = [p for p in batch.pieces if welded_corners(p.pattern)]
    assert welded == [p for p in batch.pieces if weld_mm(p.pattern) > 0] != []
    gussets = [p for p in batch.pieces if "gusset" in p.pattern.part.value]
    assert [welded_corners(p.pattern) for p in gussets] == [1] * len(gussets)


@pytest.mark.parametrize("charge", Charge)
def test_lead_is_charged_as_the_shop_says(batch, charge):
    prices = replace(NOTHING, lead=INVENTED.lead, charge=charge)
    for quote in made(batch, prices):
        for line, lead in zip(quote.lines, weights(batch)[quote.job.name], strict=False):
            assert line.quantity == lead.charged_kg(charge)
            assert line.amount == rounded(line.quantity * INVENTED.lead[lead.code])


def test_what_has_no_price_is_told_and_is_no_zero(batch):
    for quote in made(batch, NOTHING):
        assert (quote.net, quote.total) == (None, None)
        assert {line.amount for line in quote.lines} == {None}
        assert {"cutting", "folding"} <= set(quote.missing)
        assert "nothing here has a price" in quote_csv(quote)
    with_lead = replace(NOTHING, lead={4: Decimal(3)}, folding=Work(Per.FOLD, None))
    for quote in made(batch, with_lead):
        assert "lead code 3" in quote.missing
        assert "folding" not in quote.missing, "it is included"
        assert quote.total == next(line.amount for line in quote.lines if line.code == 4)
    assert [f.code for f in unpriced(made(batch, with_lead))] == ["CP207", "CP207"]
    assert unpriced(made(batch, INVENTED)) == []


MONEY = st.decimals(0, 500, places=4)
MAYBE = st.none() | MONEY
BY_METRE = st.builds(Work, st.just(Per.METRE), MAYBE)
BY_MINUTE = st.builds(Work, st.just(Per.MINUTE), MONEY, st.decimals("0.1", 9, places=2))
PRICES = st.builds(
    replace,
    st.just(INVENTED),
    places=st.integers(0, 3),
    lead=st.dictionaries(st.sampled_from([3, 4, 5]), MONEY),
    cutting=st.none() | BY_METRE | BY_MINUTE,
    folding=st.none() | st.builds(Work, st.just(Per.FOLD), MAYBE),
    welding=st.none() | st.builds(Work, st.sampled_from([Per.METRE, Per.CORNER]), MAYBE),
    scrap=MAYBE,
    kept=MAYBE,
    markup_lead=MAYBE,
    markup_work=MAYBE,
    tax=MAYBE,
)  # fmt: skip


def half_up(value: Fraction, places: int) -> Fraction:
    """Round by whole numbers alone, halves away from zero."""
    scaled = abs(value) * 10**places
    whole = (2 * scaled + 1) // 2
    return Fraction(int(whole), 10**places) * (1 if value >= 0 else -1)


HALVES = replace(INVENTED, lead=dict.fromkeys((3, 4, 5), Decimal("0.5")))
"""Half of every odd hundredth of a kilogram."""


@settings(max_examples=25)
@given(prices=PRICES)
@example(prices=HALVES)
def test_every_figure_closes_whatever_the_prices(batch, prices):
    for quote in quotes(batch, prices, ON):
        for line in quote.lines:
            if line.amount is None:
                continue
            exact = Fraction(line.quantity) * Fraction(line.price)
            share = line.kind in (LineKind.MARKUP, LineKind.TAX)
            exact = exact / 100 if share else -exact if line.kind is LineKind.CREDIT else exact
            assert Fraction(line.amount) == half_up(exact, prices.places)
        rows = list(csv.DictReader(io.StringIO(quote_csv(quote))))
        amounts = {kind: [Decimal(r["amount"]) for r in rows if r["kind"] == kind and r["amount"]] for kind in
                   ("lead", "work", "credit", "mark-up", "tax", "net", "total")}  # fmt: skip
        before = sum(sum(amounts[kind]) for kind in ("lead", "work", "credit", "mark-up"))
        if quote.total is None:
            assert amounts["net"] == amounts["total"] == []
            continue
        assert amounts["net"] == [before]
        assert amounts["total"] == [before + sum(amounts["tax"])] == [quote.total]
        bases = {kind: sum(amounts[kind]) for kind in ("lead", "work")}
        for line in quote.lines:
            if line.kind is LineKind.MARKUP:
                assert line.quantity == bases[line.what.rpartition(" ")[2]]
            if line.kind is LineKind.TAX:
                assert line.quantity == before


def test_cells_are_typed_right_and_never_a_formula(batch):
    quote = made(batch, INVENTED)[0]
    sly = replace(quote, job=replace(quote.job, name='=HYPERLINK("x")', customer="+44", order="-1+2", site="@a"))
    rows = list(csv.DictReader(io.StringIO(quote_csv(replace(sly, prices=replace(INVENTED, currency="\t=1"))))))
    for row in rows:
        for key in ("code", "quantity", "price", "amount"):
            assert row[key] == "" or Decimal(row[key]).is_finite()
        for key in ("job", "customer", "order", "kind", "what", "unit", "currency"):
            assert not row[key].startswith(("=", "+1", "-", "@", "\t", "\r")), row[key]
        assert row["job"].startswith("'=")
        assert date.fromisoformat(row["date"]) == ON
    assert any(Decimal(row["amount"]) < 0 for row in rows if row["kind"] == "credit")


def test_the_day_is_the_writers(batch):
    one, other = (quotes(batch, INVENTED, day)[0] for day in (ON, date(2027, 2, 1)))
    assert "29 December 2026" in " ".join(one.basis)
    assert "3 March 2027" in " ".join(other.basis)
    assert one.lines == other.lines


def test_a_quote_says_what_it_rests_on(batch):
    for quote in made(batch, INVENTED):
        told = " ".join(quote.basis)
        for lead in weights(batch)[quote.job.name]:
            assert f"Code {lead.code}: {lead.pieces_kg} kg of pieces, {lead.scrap_kg} kg of scrap" in told
        assert "invented.toml, the shop's own" in told
        assert "halves up" in told
        assert ("every corner, sleeve or notch" in told) is (
            INVENTED.welding == Work(Per.CORNER, INVENTED.welding.price)
        )
    by_metre = made(batch, replace(INVENTED, welding=Work(Per.METRE, Decimal(1))))
    assert not any("every corner" in said for quote in by_metre for said in quote.basis)


def test_one_piece_is_called_one(batch):
    told = _basis(NOTHING, [replace(batch.pieces[0], quantity=1)], ON)
    assert next(told).startswith("1 piece. Cuts")
