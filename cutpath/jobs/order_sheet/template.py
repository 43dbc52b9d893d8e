"""A blank order sheet to fill in, as XLSX or CSV: headers, notes, and examples that are not read as orders."""

from __future__ import annotations

import csv
import datetime as dt
import errno
import io
import os
import textwrap
import zipfile
from collections.abc import Mapping
from typing import TYPE_CHECKING

from cutpath.ceilings import SHEET_ROWS
from cutpath.jobs.order_sheet.cells import EXAMPLES_SHEET, SHEET
from cutpath.jobs.order_sheet.columns import COLUMNS, KINDS, Column, taken

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_HEAD = """\
Fill in one row to each thing. Rows alike in customer, order, job, site, day, pitch, covering and exposure are one \
job: write these in every row. Rectangles and cover flashings may leave pitch, covering and exposure out.
A length is in mm, or carries its unit: 1.2 m, 23 5/8 in, 4 ft 6 in. A pitch is in degrees, or rise to run: 7:12. \
Decimals have a point.
Columns may be left out or stand in another order. Headers of your own stand in brackets, [price], and are passed over.
Then run cutpath check on this file. Anything with bed joints, and every other kind, takes a job file: \
cutpath new KIND.\
""".splitlines()
EXAMPLES: tuple[Mapping[str, object], ...] = (
    {"Customer": "J Example", "Order": "1042", "Wanted by": "Friday", "Kind": "rectangle", "Quantity": 12, "Code": 4,
     "Length": 325, "Width": 175, "Note": "collects"},
    {"Customer": "J Example", "Order": "1042", "Wanted by": "Friday", "Kind": "rectangle", "Quantity": 2, "Code": 4,
     "Length": "1.2 m", "Width": 250, "Folds": "25 back, 100", "Note": "collects"},
    {"Customer": "Sample Roofing", "Order": "S-77", "Site": "Chapel roof", "Kind": "cover flashing", "Code": 4,
     "Length": "4.2 m", "Cover": 100, "Pitch": 35, "Covering": "plain tile 265"},
    {"Customer": "Sample Roofing", "Order": "S-77", "Site": "Chapel roof", "Kind": "soakers", "Length": "3.6 m",
     "Hand": "left", "Pitch": 35, "Covering": "plain tile 265"},
    {"Customer": "Sample Roofing", "Order": "S-77", "Site": "Chapel roof", "Kind": "apron", "Width": 665,
     "Upstand": 100, "Cover": 150, "Pitch": 35, "Covering": "plain tile 265"},
    {"Customer": "Sample Roofing", "Order": "S-77", "Site": "Chapel roof", "Kind": "top-edge abutment",
     "Length": "2.85 m", "Upstand": 100, "Pitch": 35, "Covering": "plain tile 265"},
    {"Customer": "Sample Roofing", "Order": "S-77", "Site": "Chapel roof", "Kind": "lead slate", "Quantity": 2,
     "Pipe": 110, "Pitch": 35, "Covering": "plain tile 265"},
)  # fmt: skip
"""Rows of an invented day; they pass every check as they stand."""

_NOTES_WIDE = {"A": 16, "B": 80, "C": 44}
"""Letters to a line in each column of the notes."""
_LINE_PT, _MARGIN_IN = 13.5, 0.4
_RULED_ROWS, _RULED_PT = 26, 30.0
"""Rows of the blank that are ruled, high enough to write in by hand: a sheet that nobody filled in prints them."""


_NAMES, _LEAST_WORDS = ("Order", "Job", "Note"), 10
"""Headers under which a name or a sentence is written, and letters that have room there, by hand too."""


def notes() -> list[tuple[str, str, str]]:
    """Return header, what stands there, and the kinds that take it, for every column."""
    return [(column.word, _says(column), _kinds(column)) for column in COLUMNS]


def _says(column: Column) -> str:
    return f"{column.says} ({column.holds.value})"


def _kinds(column: Column) -> str:
    own = [kind for kind in KINDS if column in taken(kind)]
    return "all" if len(own) == len(KINDS) else ", ".join(own)


def _letters(word: str) -> int:
    """Return how many letters there are in the longest that stands under a header, itself and the examples."""
    kinds = KINDS if word == "Kind" else ()
    least = _LEAST_WORDS if word in _NAMES else 0
    return max(least, *map(len, (word, *kinds, *(str(example.get(word, "")) for example in EXAMPLES))))


def template_csv() -> str:
    """Return the blank sheet as CSV; notes and examples stand in lines that begin with #."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    words = [column.word for column in COLUMNS]
    writer.writerows([[f"# {line}"] for line in _HEAD])
    writer.writerows([[f"# {word}: {says}; for {kinds}"] for word, says, kinds in notes()])
    writer.writerow([f"# Examples, without # in the first cell: {words[0]}", *words[1:]])
    for example in EXAMPLES:
        first, *rest = (example.get(word, "") for word in words)
        writer.writerow([f"# {first}", *rest])
    writer.writerow(words)
    return out.getvalue()


def template_xlsx() -> bytes:
    """Return the blank sheet as a workbook: the orders, the notes, and examples under the same headers.

    Raises
    ------
    OSError
        When there is no room for the file in which the library makes it.
    """
    from openpyxl import Workbook
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    book = Workbook()
    orders, told, shown = book.active, book.create_sheet("Notes"), book.create_sheet(EXAMPLES_SHEET)
    orders.title = SHEET
    words = [column.word for column in COLUMNS]
    for sheet in (orders, shown):
        sheet.append(words)
        _headed(sheet, 1)
        sheet.freeze_panes = "A2"
        sheet.print_title_rows, sheet.print_title_cols = "1:1", "A:B"
        sheet.print_options.gridLines = True
        for place, word in enumerate(words, start=1):
            sheet.column_dimensions[get_column_letter(place)].width = _letters(word) + 2
    for example in EXAMPLES:
        shown.append([example.get(word) for word in words])
    _ruled(orders, len(words))
    place = get_column_letter(1 + words.index("Kind"))
    chosen = DataValidation("list", formula1=f'"{",".join(KINDS)}"', allow_blank=True)
    orders.add_data_validation(chosen)
    chosen.add(f"{place}2:{place}{SHEET_ROWS + 1}")
    _write_notes(told)
    for sheet, pages in ((orders, 2), (told, 1), (shown, 2)):
        _laid_out(sheet, pages)
    out = io.BytesIO()
    try:
        book.save(out)
    except Exception as error:  # the library writes by lxml where that is there, which has an error of its own
        if type(error).__name__ == "SerialisationError":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) from error
        raise
    return _undated(out.getvalue())


def _write_notes(sheet: Worksheet) -> None:
    """Write what to know and what each column holds, each row as high as its lines of words."""
    from openpyxl.styles import Alignment

    for line in _HEAD:
        for part in textwrap.wrap(line, sum(_NOTES_WIDE.values())):
            sheet.append([part])
    sheet.append([])
    sheet.append(["Header", "What stands there", "For"])
    _headed(sheet, sheet.max_row)
    for row in notes():
        sheet.append(row)
        for cell in sheet[sheet.max_row]:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
        lines = max(len(textwrap.wrap(text, wide)) for text, wide in zip(row, _NOTES_WIDE.values(), strict=True))
        sheet.row_dimensions[sheet.max_row].height = _LINE_PT * lines
    for letter, wide in _NOTES_WIDE.items():
        sheet.column_dimensions[letter].width = wide + 2


def _headed(sheet: Worksheet, row: int) -> None:
    """Make a row the headers of what stands below it."""
    from openpyxl.styles import Font, PatternFill

    for cell in sheet[row]:
        cell.font, cell.fill = Font(bold=True), PatternFill("solid", fgColor="E8E8E8")


def _ruled(sheet: Worksheet, columns: int) -> None:
    """Rule empty rows below the headers, which an office program prints as it does what is filled in."""
    from openpyxl.styles import Border, Side

    thin = Side("thin", color="808080")
    around = Border(left=thin, right=thin, top=thin, bottom=thin)
    for row in range(2, 2 + _RULED_ROWS):
        sheet.row_dimensions[row].height = _RULED_PT
        for place in range(1, columns + 1):
            sheet.cell(row, place).border = around


def _laid_out(sheet: Worksheet, pages: int) -> None:
    """Let a sheet be printed on A4 laid across, so many pages wide and as many down as it takes."""
    from openpyxl.worksheet.page import PageMargins
    from openpyxl.worksheet.properties import PageSetupProperties

    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_setup.paperSize, sheet.page_setup.orientation = sheet.PAPERSIZE_A4, sheet.ORIENTATION_LANDSCAPE
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = pages, 0
    sheet.page_margins = PageMargins(*[_MARGIN_IN] * 4)


def _undated(book: bytes) -> bytes:
    """Return a workbook without the time at which it was made, so that the same sheet is the same bytes."""
    from openpyxl.packaging.core import DocumentProperties
    from openpyxl.xml.functions import tostring

    about = DocumentProperties(creator="cutpath", created=_NO_TIME, modified=_NO_TIME)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as read, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as written:
        for name in read.namelist():
            data = tostring(about.to_tree()) if name == "docProps/core.xml" else read.read(name)
            written.writestr(zipfile.ZipInfo(name, _NO_TIME.timetuple()[:6]), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


_NO_TIME = dt.datetime(1980, 1, 1)  # noqa: DTZ001 - the first that a zip archive knows, in no zone
