"""What a shop opens in LibreOffice, pages by poppler: figures are figures, days days, no text is run, sizes hold."""

from __future__ import annotations

import csv
import datetime as dt
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from openpyxl import load_workbook

from cutpath.jobs import read_jobs
from cutpath.jobs.order_sheet import template_xlsx
from cutpath.jobs.order_sheet.columns import COLUMNS
from tests.cli.running import run

pytestmark = [
    pytest.mark.nests,
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed"),
]

FORMULA = '=HYPERLINK("http://invalid.example","+1")'
ORDER = {"Customer": FORMULA, "Order": "@A1", "Wanted by": dt.date(2026, 12, 4), "Site": "-2+3", "Kind": "rectangle",
         "Quantity": 3, "Code": 4, "Length": 325.5, "Width": "7 1/4 in", "Folds": "25 back, 100"}  # fmt: skip
PRICES = """
currency = "crowns"
[lead]
4 = 3.11
[folding]
fold = 0.29
[tax]
percent = 19
"""


def converted(folder: Path, form: str, *files: Path) -> Path:
    """Let LibreOffice open files and save them in another form; return the folder where they lie."""
    out = folder / form
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    asked = ["soffice", profile, "--headless", "--norestore", "--convert-to", form, "--outdir", out, *files]
    subprocess.run(asked, check=True, capture_output=True, timeout=300)
    return out


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> Path:
    """An order filled into the template, made, quoted and booked, and all its tables opened and saved."""
    folder = tmp_path_factory.mktemp("shop")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        sheet = Path("order.xlsx")
        sheet.write_bytes(template_xlsx())
        book = load_workbook(sheet)
        for place, column in enumerate(COLUMNS, 1):
            cell = book["Orders"].cell(2, place)
            cell.value = ORDER.get(column.word)
            if isinstance(cell.value, str):
                cell.data_type = "s"
        book.save(sheet)
        Path("prices.toml").write_text(PRICES)
        for asked in (
            ("stock", "add", "--code", 4, "--width", 450, "--length", "6 m", "--cost", 180.25, "--note", FORMULA),
            ("make", sheet, "--work", 0, "--all", "--labels", "3x7", "--out", "cut", "--stock=stock.sqlite3"),
            ("quote", sheet, "--prices", "prices.toml", "--date", "2026-11-30", "--work", 0),
            ("stock", "labels", "--page", "100 mm", "50 mm", "--out", "shelf.pdf"),
            ("measure", "apron", "--out", "apron.pdf"),
        ):
            done = run(*asked, *(["--stock=stock.sqlite3"] if asked[0] == "stock" else []))
            assert done.returncode == 0, done.stderr
        Path("list.csv").write_text(run("stock", "list", "--csv", "--stock=stock.sqlite3").stdout)
        Path("history.csv").write_text(run("stock", "history", "--csv", "--stock=stock.sqlite3").stdout)
        tables = [*Path("cut").glob("*.csv"), *Path("quotes").glob("*.csv"), *Path().glob("*.csv"), sheet]
        Path("opened").mkdir()
        for table in tables:
            shutil.copy(table, Path("opened") / ("quote.csv" if table.parent.name == "quotes" else table.name))
    converted(folder, "xlsx", *sorted((folder / "opened").iterdir()))
    return folder


def rows(shop: Path, name: str) -> list[dict[str, object]]:
    """The rows of a table as LibreOffice saw them."""
    head, *body = load_workbook(shop / "xlsx" / f"{name}.xlsx").active.iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in body]


TABLES = ["buy-list", "cutting-list", "pack-list", "quantities", "setting-out", "yield", "quote", "list", "history"]


@pytest.mark.parametrize("name", TABLES)
def test_every_figure_is_a_figure_and_no_text_is_run(shop, name):
    with (shop / "opened" / f"{name}.csv").open(newline="", encoding="utf-8") as read:
        written = list(csv.reader(read))
    sheet = load_workbook(shop / "xlsx" / f"{name}.xlsx").active
    opened = [list(row) for row in sheet.iter_rows(max_row=len(written), max_col=max(map(len, written)))]
    assert len(written) > 1
    figures = 0
    for before, after in zip(written, opened, strict=True):
        for text, cell in zip(before, after, strict=False):
            assert cell.data_type != "f", f"{text} is run"
            if re.fullmatch(r"-?\d+(\.\d+)?(e-?\d+)?", text):
                figures += 1
                assert cell.value == pytest.approx(float(text), rel=1e-14, abs=1e-12), cell.coordinate
            elif text and not re.fullmatch(r"\d{4}-\d\d-\d\d( \d\d:\d\d:\d\d)?", text):
                assert cell.value == text, cell.coordinate
    assert figures > 1


def test_days_are_days(shop):
    assert {row["due"] for row in rows(shop, "pack-list")} == {dt.datetime(2026, 12, 4)}  # noqa: DTZ001
    assert all(isinstance(row["day"], dt.datetime) for row in rows(shop, "history") if row["number"])
    (item,) = (row for row in rows(shop, "list") if row["kind"] == "roll")
    assert (item["width_mm"], item["length_mm"], item["cost"]) == (450, 6000, 180.25)


def figure(text: str) -> float | str:
    return float(text) if re.fullmatch(r"-?[\d.]+", text) else text


def test_what_is_saved_as_csv_again_is_the_same_table(shop):
    again = converted(shop, "csv", *(shop / "xlsx" / f"{name}.xlsx" for name in ("cutting-list", "buy-list")))
    for name in ("cutting-list", "buy-list"):
        tables = []
        for path in (shop / "opened" / f"{name}.csv", again / f"{name}.csv"):
            with path.open(newline="", encoding="utf-8") as read:
                tables.append(
                    [[float(c) if re.fullmatch(r"-?[\d.]+", c) else c for c in row] for row in csv.reader(read)]
                )
        assert tables[0] == tables[1]


def test_an_order_sheet_saved_by_it_is_the_same_order(shop):
    jobs, found = read_jobs([shop / "order.xlsx"])
    again, found_again = read_jobs([shop / "xlsx" / "order.xlsx"])
    assert [(j.name, j.customer, j.due, j.site) for j in again] == [(j.name, j.customer, j.due, j.site) for j in jobs]
    ((before,), (after,)) = (j.details for j in (*jobs, *again))
    assert (after.outline, after.folds, after.head.quantity) == (before.outline, before.folds, before.head.quantity)
    assert [f.code for f in found] == [f.code for f in found_again]
    assert [(j.customer, j.due) for j in again] == [(FORMULA, "2026-12-04")]
    book = load_workbook(shop / "xlsx" / "order.xlsx")
    assert book.sheetnames == ["Orders", "Notes", "Examples"]
    assert [str(choice.formula1) for choice in book["Orders"].data_validations.dataValidation], (
        "the kinds to choose from"
    )
    length, width = (book["Orders"].cell(2, [c.word for c in COLUMNS].index(w) + 1).value for w in ("Length", "Width"))
    assert (length, width) == (325.5, "7 1/4 in")
    for row in load_workbook(shop / "xlsx" / "order.xlsx")["Orders"].iter_rows():
        assert all(cell.data_type != "f" for cell in row)


def test_an_order_sheet_is_printed_on_two_pages_its_examples_too_and_its_notes_on_one(shop):
    printed = converted(shop, "pdf", shop / "order.xlsx") / "order.pdf"
    told = subprocess.run(["pdfinfo", printed], check=True, capture_output=True, text=True).stdout
    assert int(re.findall(r"Pages: +(\d+)", told)[0]) == 5


A4 = (210.0, 297.0)


@pytest.mark.parametrize(
    ("pattern", "size"),
    [
        ("cut/labels.pdf", A4),
        ("cut/pack-list.pdf", A4),
        ("quotes/*.pdf", A4),
        ("apron.pdf", A4),
        ("shelf.pdf", (100.0, 50.0)),
    ],
)
def test_pages_have_the_size_that_they_are_printed_on(shop, pattern, size):
    (path,) = shop.glob(pattern)
    told = subprocess.run(["pdfinfo", "-l", "-1", path], check=True, capture_output=True, text=True).stdout
    pages = re.findall(r"Page +\d+ size: +([\d.]+) x ([\d.]+) pts", told)
    assert pages
    for page in pages:
        assert [float(side) * 25.4 / 72 for side in page] == pytest.approx(size, abs=0.1)
