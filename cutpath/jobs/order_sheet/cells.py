"""Rows of cells from a CSV or XLSX file, as far as a file can be read; nothing that a file holds makes a traceback.

Workbooks are foreign files. What they unpack to is limited before they are read, defusedxml keeps their XML from
blowing up (openpyxl uses it where it is installed), and formulas count by the results that were saved with them.
"""

from __future__ import annotations

import csv
import io
import re
import warnings
import zipfile
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cutpath.ceilings import SHEET_COLUMNS, SHEET_ROWS, SHEET_UNPACKED_BYTES, bytes_text
from cutpath.errors import Finding, Severity
from cutpath.intake.files import TooLargeError, file_name, read_bytes

Row = tuple[int, tuple[object, ...]]
"""The number of a row, from 1, and the values of its cells; None for an empty one."""

SHEET = "Orders"
"""The sheet of a workbook that is read; where none is called so, the first one."""

EXAMPLES_SHEET = "Examples"
"""The sheet of the blank order sheet that shows how it is filled."""

_LAST_ROW = 1_048_576  # of an XLSX sheet (ECMA-376)

_BOOKS = frozenset({".xlsx", ".xlsm"})
_TEXTS = frozenset({".csv", ".tsv"})
_OTHERS = frozenset({".xls", ".xlsb", ".ods", ".numbers"})
_ACCEPTED = "an order sheet as XLSX, or as CSV in UTF-8"


@dataclass(frozen=True, slots=True)
class Cells:
    """The rows of one sheet that hold something, and what was found on the way; ``sheet`` is empty for CSV."""

    sheet: str
    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Unread:
    """Stands in the place of a value that cannot be used; ``found`` says what is there, ``remedy`` what to do."""

    found: str
    remedy: str


def is_sheet(path: Path) -> bool:
    """Tell by the end of its name whether a file is an order sheet, or one of a format that is not read."""
    return path.suffix.lower() in _BOOKS | _TEXTS | _OTHERS


def read_cells(path: Path) -> Cells:
    """Read the rows of an order sheet; what cannot be read becomes a finding."""
    name, suffix = file_name(path), path.suffix.lower()
    if path.name.startswith("~$"):
        found = "what a spreadsheet leaves beside a file that it has open"
        return _none(Finding("CP101", name, found, _ACCEPTED, f"Close {path.name[2:]} there, and name that file."))
    if suffix in _OTHERS:
        found = f"a file of the kind {suffix}"
        return _none(Finding("CP101", name, found, _ACCEPTED, "Save the sheet as XLSX."))
    try:
        data = read_bytes(path)
    except TooLargeError as error:
        remedy = "Delete the rows that are not used, or divide the sheet."
        return _none(Finding("CP101", name, str(error.strerror), _ACCEPTED, remedy))
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        remedy = "Check its name, and whether you may read it."
        return _none(Finding("CP101", name, reason.lower(), "a readable file", remedy))
    return _book(data, name) if suffix in _BOOKS else _text(data, name)


def _none(finding: Finding) -> Cells:
    return Cells("", (), (finding,))


def _text(data: bytes, name: str) -> Cells:
    """Read CSV: commas, semicolons or tabs, whichever the first line with words in it has most of."""
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        found = f"not UTF-8 text, at line {line}"
        return _none(Finding("CP101", name, found, _ACCEPTED, 'Save it as "CSV UTF-8", or as XLSX.'))
    lines = text.splitlines()
    hint = bool(lines) and lines[0].lower().startswith("sep=")
    first = next((line for line in lines[hint:] if line.strip(" ,;\t") and not _is_comment(line.lstrip(' "'))), "")
    separator = max(",;\t", key=first.count)
    rows: list[Row] = []
    number = 0
    try:
        for number, values in enumerate(csv.reader(io.StringIO(text), delimiter=separator, strict=True), start=1):
            cells = tuple(value if value.strip() else None for value in values[:SHEET_COLUMNS])
            if any(cells) and not (hint and number == 1):
                rows.append((number, cells))
            if len(rows) > SHEET_ROWS:
                break
    except csv.Error as error:
        found = f"{error} at row {number + 1}".replace("unexpected end of data", "a quote that is not closed")
        remedy = "Look for a quote too many; a quote inside a text is written twice."
        return _none(Finding("CP102", name, found, "cells between separators", remedy))
    return _limited("", rows, name)


def _is_comment(value: object) -> bool:
    return isinstance(value, str) and value.lstrip().startswith("#")


def _limited(sheet: str, rows: list[Row], name: str) -> Cells:
    """Leave out comments, and refuse what is far beyond a shop's day."""
    kept = [row for row in rows if not _is_comment(next((value for value in row[1] if value is not None), None))]
    if len(rows) <= SHEET_ROWS:
        return Cells(sheet, tuple(kept), ())
    found = f"more than {SHEET_ROWS} rows"
    remedy = "Divide the sheet; a day's orders are enough for one nest."
    return Cells(sheet, (), (Finding("CP107", name, found, f"up to {SHEET_ROWS} rows", remedy),))


def _book(data: bytes, name: str) -> Cells:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            unpacked = sum(part.file_size for part in archive.infolist())
        if unpacked > SHEET_UNPACKED_BYTES:
            found = f"a workbook that unpacks to {bytes_text(unpacked)}"
            remedy = "Copy the rows of the orders into the blank sheet of `cutpath new order sheet`."
            return _none(Finding("CP101", name, found, f"at most {bytes_text(SHEET_UNPACKED_BYTES)}", remedy))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # parts of a workbook that nobody reads here
            return _sheet(data, name)
    except Exception as error:  # a broken workbook breaks its reader anywhere, in any way
        reason = (
            "it is not a workbook, or is locked by a password" if isinstance(error, zipfile.BadZipFile) else "broken"
        )
        return _none(Finding("CP101", name, reason, _ACCEPTED, "Open it in a spreadsheet, and save it as XLSX."))


def _sheet(data: bytes, name: str) -> Cells:
    from openpyxl import load_workbook
    from openpyxl.utils import get_column_letter

    book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    books = [book]
    try:
        titles = [sheet.title for sheet in book.worksheets]
        if not titles:
            return _none(Finding("CP101", name, "no sheet of cells", f"a sheet called {SHEET}", "Add it."))
        place = titles.index(SHEET) if SHEET in titles else 0
        title = titles[place]
        results = written = book.worksheets[place]
        merged, hidden, columns, formulas = _looked_through(data, results)
        if merged:
            found = f"merged cells at {', '.join(merged[:3])}{' and others' if len(merged) > 3 else ''}"
            remedy = "Unmerge them, and fill every row: a merged cell holds its value in one row only."
            return _none(Finding("CP107", f"{name}: sheet {title}", found, "cells on their own", remedy))
        if formulas:
            books.append(load_workbook(io.BytesIO(data), read_only=True))
            written = books[1].worksheets[place]
        lines = frozenset(at for at, font in enumerate(book._fonts) if font.strike)  # noqa: SLF001 - no public name
        rows: list[Row] = []
        for row in _rows(results, written, lines):
            rows.append(row)
            if len(rows) > SHEET_ROWS:
                break
        read = _limited(title, rows, f"{name}: sheet {title}")
        told = _hidden("row", [number for number, _ in read.rows if number in hidden], f"{name}: sheet {title}")
        used = {place for _, row in read.rows for place, value in enumerate(row, start=1) if value is not None}
        told += _hidden("column", [get_column_letter(at) for at in sorted(columns & used)], f"{name}: sheet {title}")
        told += _unseen(results, f"{name}: sheet {title}")
        told += _left_out(book, place, read.rows[0], name) if read.rows else []
        return replace(read, findings=(*read.findings, *told))
    finally:
        for opened in books:
            opened.close()


def _rows(results: Any, written: Any, lines: Collection[int] = frozenset()) -> Iterator[Row]:  # noqa: ANN401
    """Yield the rows that hold something: values, and formulas by the results that were saved with them.

    ``lines`` are the numbers of the fonts that strike out what is written.

    Raises
    ------
    ValueError
        When rows lie beyond the last one that a sheet can have.
    """
    from openpyxl.cell.read_only import EMPTY_CELL

    for sheet in (results, written):
        sheet.reset_dimensions()  # what a file says of its size is not always so
    values = results.iter_rows(max_col=SHEET_COLUMNS)
    texts = written.iter_rows(max_col=SHEET_COLUMNS) if written is not results else None
    empty = None
    pairs = ((row, row) for row in values) if texts is None else zip(values, texts, strict=False)
    for number, (cells, sources) in enumerate(pairs, start=1):
        if number > _LAST_ROW:
            raise ValueError("a row beyond the last one")
        if cells is empty or all(cell is EMPTY_CELL for cell in cells):
            empty = cells  # one for all rows left out; a million is nothing rare: columns formatted to the end
            continue
        found = tuple(_value(cell, text, lines) for cell, text in zip(cells, sources, strict=False))
        if any(value is not None for value in found):
            yield number, found


def _value(cell: Any, text: Any, lines: Collection[int]) -> object:  # noqa: ANN401 - openpyxl's cells
    value = cell.value
    if text.data_type == "f" and value is None:
        return Unread("a formula without its result", "Open the sheet in a spreadsheet, save it, and try again.")
    if cell.data_type == "e":
        return Unread(f"the error {value}", "Correct the formula.")
    if isinstance(value, str) and not value.strip():
        return None
    if lines and value is not None and cell.style_array.fontId in lines:
        return Unread("struck out", "Delete what is not to be cut; of what is, take the line away.")
    if isinstance(value, int | float) and value % 1 and _FRACTION.search(cell.number_format):
        found = f"{value:g} in a cell that shows it as a fraction"
        return Unread(found, f"Show it as a plain number, and write the unit with the figure: {value:g} in.")
    if isinstance(value, int | float) and (unit := _unit_shown(cell.number_format)):
        found = f"{value:g} in a cell that shows {unit} behind it"
        return Unread(found, f"Show it as a plain number, and write the unit with the figure: {value:g} {unit}.")
    return value


def _unit_shown(number_format: str) -> str:
    """Return the unit that a cell's format puts to its figure, other than mm; empty where it puts none."""
    said = "".join(quoted or letter for quoted, letter in _LITERALS.findall(number_format)).strip(" .")
    return said if said.lower() in _OTHER_UNITS else ""


_FRACTION = re.compile(r"[?#]/")
_LITERALS = re.compile(r'"([^"]*)"|\\(.)')
_OTHER_UNITS = frozenset({"m", "cm", "dm", "in", "inch", "inches", "ft", "feet", "metres"})


def _hidden(what: str, names: Sequence[object], where: str) -> list[Finding]:
    """Warn of rows or columns that a filter or a hand has hidden: who looks at the sheet does not see what is cut."""
    if not names:
        return []
    named = ", ".join(map(str, names[:5])) + (f" and {len(names) - 5} more" if len(names) > 5 else "")
    accepted = "usual: what is to be cut can be seen"
    remedy = f"Show them and look, or delete them; they are read like any other {what}."
    return [Finding("CP113", where, f"hidden {what}s: {named}", accepted, remedy, Severity.WARNING)]


def _unseen(sheet: Any, where: str) -> list[Finding]:  # noqa: ANN401 - openpyxl's
    """Warn of a sheet that is hidden as a whole, and read all the same."""
    if sheet.sheet_state == "visible":
        return []
    accepted = "usual: what is to be cut can be seen"
    return [Finding("CP113", where, "a hidden sheet", accepted, "Show it and look, or delete it.", Severity.WARNING)]


def _left_out(book: Any, place: int, head: Row, name: str) -> Iterator[Finding]:  # noqa: ANN401 - openpyxl's
    """Warn of other sheets with rows under the same headers, which are not read; examples of our own are none."""
    heads = {str(word).strip().casefold() for word in head[1] if word is not None}
    for other, sheet in enumerate(book.worksheets):
        rows = _rows(sheet, sheet) if other != place and sheet.title != EXAMPLES_SHEET else iter(())
        first = next(rows, None)
        same = first is not None and len(heads & {str(word).strip().casefold() for word in first[1]}) >= _SAME_HEADERS
        if same and next(rows, None) is not None:
            found, accepted = f"rows of a sheet {sheet.title} that is not read", "usual: all orders on one sheet"
            yield Finding("CP113", name, found, accepted, "Copy them to the sheet that is read.", Severity.WARNING)


_SAME_HEADERS = 3


def _looked_through(data: bytes, sheet: Any) -> tuple[list[str], set[int], set[int], bool]:  # noqa: ANN401
    """Return merged cells, hidden rows and columns, whether there are formulas: reading row by row tells of none."""
    from defusedxml.ElementTree import iterparse

    part = sheet._worksheet_path  # noqa: SLF001 - openpyxl has no public name for it
    merged: list[str] = []
    hidden: set[int] = set()
    columns: set[int] = set()
    number, formulas = 0, False
    with zipfile.ZipFile(io.BytesIO(data)) as archive, archive.open(part) as source:
        for _, element in iterparse(source, events=("end",)):
            tag = element.tag.rpartition("}")[2]
            if tag == "mergeCell":
                merged.append(str(element.get("ref")))
            formulas = formulas or tag == "f"
            if tag == "col" and element.get("hidden") in {"1", "true"}:
                last = min(int(element.get("max", 0)), SHEET_COLUMNS)
                columns |= set(range(int(element.get("min", 1)), last + 1))
            if tag == "row":
                number = int(element.get("r", number + 1))
                hidden |= {number} if element.get("hidden") in {"1", "true"} else set()
                element.clear()
    return merged, hidden, columns, formulas
