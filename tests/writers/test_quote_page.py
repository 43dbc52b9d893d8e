"""The quote on paper, read back by other programs."""

from __future__ import annotations

import io
import subprocess
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pikepdf
import pytest

from cutpath.prices import read_prices
from cutpath.values.price import LineKind, Quote, QuoteLine
from cutpath.values.survey import Job
from cutpath.writers.quote_page import quote_page
from tests.writers.readers import need

PRICES = read_prices(Path(__file__).parents[2] / "fixtures" / "prices" / "invented.toml")
JOB = Job(
    "Küfer & Söhne <north>", "KS", "job.toml", "", "sheltered", (), customer="B. Nobody", order="17", due="Friday"
)
LINES = (
    QuoteLine(LineKind.LEAD, "lead code 4", Decimal("12.34"), "kg", Decimal("3.11"), Decimal("38.38"), code=4),
    QuoteLine(LineKind.WORK, "folding", Decimal(9), "fold", None, None, included=True),
    QuoteLine(LineKind.WORK, "cutting", Decimal("3.50"), "m", None, None),
    QuoteLine(LineKind.TAX, "sales tax", Decimal("38.38"), "crowns", Decimal(19), Decimal("7.29")),
)
QUOTE = Quote(JOB, PRICES, date(2026, 11, 29), LINES, ("Rests on this.", "And on that."))


def text(data: bytes, tmp_path: Path) -> str:
    file = tmp_path / "quote.pdf"
    file.write_bytes(data)
    return subprocess.run([need("pdftotext"), "-layout", file, "-"], capture_output=True, text=True, check=True).stdout


def test_the_page_says_every_line_the_total_and_what_it_rests_on(tmp_path):
    said = text(quote_page(QUOTE), tmp_path)
    lines = {" ".join(line.split()) for line in said.splitlines()}
    assert {
        "Invented Leadworks",
        "Quote: Küfer & Söhne <north>",
        "Date: 29 November 2026",
        "Valid until: 29 December 2026",
        "For: B. Nobody",
        "Order: 17",
        "Wanted by: Friday",
        "Lead code 4 12.34 kg 3.11 38.38",
        "Folding 9 fold included",
        "Cutting 3.50 m no price",
        "Sales tax, 19 % 7.29",
        "Before tax without cutting 38.38",
        "Total without cutting 45.67",
        "Rests on this.",
        "And on that.",
        "Invented prices: not an offer of anything.",
    } <= lines
    assert "Site:" not in said


def test_the_day_it_is_wanted_is_written_as_the_other_days_are(tmp_path):
    said = text(quote_page(replace(QUOTE, job=replace(JOB, due="2026-12-02"))), tmp_path)
    assert "Wanted by: 2 December 2026" in said


def test_prices_have_the_decimals_of_amounts_and_more_where_they_are_finer(tmp_path):
    prices = [Decimal(price) for price in ("4.1", "4.05", "3", "0.3125")]
    lines = tuple(replace(LINES[0], price=price) for price in prices)
    said = text(quote_page(replace(QUOTE, lines=lines)), tmp_path)
    assert [line.split()[-2] for line in said.splitlines() if "Lead code" in line] == ["4.10", "4.05", "3.00", "0.3125"]


def test_nothing_priced_is_no_zero(tmp_path):
    said = text(quote_page(replace(QUOTE, lines=(LINES[2],))), tmp_path)
    assert "nothing here has a price" in said
    assert "0.00" not in said


def test_it_is_a4_always_the_same_bytes_and_goes_on_to_further_pages():
    data = quote_page(QUOTE)
    assert data == quote_page(QUOTE)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        (page,) = pdf.pages
        assert [float(v) for v in page.mediabox] == pytest.approx([0, 0, 595.28, 841.89], abs=0.01)
        assert str(pdf.docinfo["/Title"]) == "Quote: Küfer & Söhne <north>"
    many = tuple(replace(LINES[0], what=f"lead {n}") for n in range(80))
    with pikepdf.open(io.BytesIO(quote_page(replace(QUOTE, lines=many)))) as pdf:
        assert len(pdf.pages) == 3
