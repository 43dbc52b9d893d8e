"""From rows of an order sheet to jobs as a job file would have them, with the cell that each key came from."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cutpath.errors import Finding, Severity
from cutpath.intake.files import file_name
from cutpath.intake.places import did_you_mean
from cutpath.jobs.order_sheet.cells import Unread, read_cells
from cutpath.jobs.order_sheet.columns import ALWAYS, BY_KEY, BY_WORD, COLUMNS, KINDS, RECTANGLE, Column, Holds, taken
from cutpath.jobs.order_sheet.places import Placed
from cutpath.units import COMMA_IN_NUMBER, COMMA_REMEDY, NotUnderstoodError, length_mm, mm_text, pitch_deg, written

_BARE = re.compile(r"-?(?:\d+(?:\.\d+)?|\.\d+)")
_CODE = re.compile(r"(?:code\s*)?(\d+)(?:\.0+)?", re.IGNORECASE)
_DITTO = frozenset({'"', '""', "''", "\u201c", "\u201d", "\u2033", "\u3003", "do", "do.", "ditto"})
_SHUT_COMMA = re.compile(r"\d,\d")
_FOLD = re.compile(r"(.+?)\s*(back|forward)?", re.IGNORECASE)
_CODE_FIGURES = 4
_OWN = re.compile(r"\[.*\]")
_HANDS = {
    **dict.fromkeys(("left", "l", "lh", "left hand", "left-hand"), "left"),
    **dict.fromkeys(("right", "r", "rh", "right hand", "right-hand"), "right"),
    **dict.fromkeys(("pair", "pairs", "both", "handed"), "pair"),
}
_NAMED_BY = ("name", "customer", "order")
_LONGEST_NAME = 80
_NOTES = 5000


@dataclass(frozen=True, slots=True)
class SheetJob:
    """One job of an order sheet: its name for findings, the keys of a job file, and where each of them stands."""

    file: str
    raw: dict[str, object]
    places: Mapping[str, str]


@dataclass(slots=True)
class _Row:
    """One row on its way: its values by key, read and checked one by one."""

    at: Placed
    values: dict[str, Any] = field(default_factory=dict)

    @property
    def errand(self) -> tuple[object, ...]:
        """What tells its order from others: whose it is, where it goes, and when."""
        return tuple(self.values.get(column.key, "") for column in COLUMNS if column.of_job and not column.of_roof)

    @property
    def roof(self) -> tuple[object, ...]:
        """What it says of its roof; rows of one order alike in that are one job."""
        return tuple(self.values.get(column.key, "") for column in COLUMNS if column.of_roof)


def read_sheet(path: Path) -> tuple[list[SheetJob], list[Finding]]:
    """Read an order sheet: its jobs, in the order of their first rows, and every fault of every cell.

    A row with a fault goes on into its job without the cell at fault, so that one run tells all there is to tell; the
    faults refuse the sheet in any case.
    """
    cells = read_cells(path)
    file = file_name(path)
    found = list(cells.findings)
    if not cells.rows:
        if not found:
            found = [_no_rows(file, "no row that holds anything")]
        return [], found
    (head_number, head), *body = cells.rows
    columns, wrong = _headers(file, cells.sheet, head_number, head)
    found += wrong
    if not columns:
        return [], found
    if not body:
        found.append(_no_rows(file, "headers, and no row below them"))
    rows = []
    for number, values in body:
        row = _Row(Placed(file, cells.sheet, number, {column.key: place for place, column in columns.items()}))
        found += _read(row, columns, values)
        found += _under_no_header(row, head, values)
        if "kind" in row.values:
            rows.append(row)
    orders = _orders(rows)
    found += [_several_jobs(jobs) for jobs in orders if len(jobs) > 1]
    return _jobs(file, orders), found


def _no_rows(file: str, found: str) -> Finding:
    remedy = "`cutpath new order sheet` writes a blank one with examples."
    return Finding("CP104", file, found, "needed: a row of headers, and below it one row to each thing", remedy)


def _headers(file: str, sheet: str, number: int, head: Sequence[object]) -> tuple[dict[int, Column], list[Finding]]:
    """Return the columns by their places; headers in brackets are the shop's own, and passed over."""
    out: dict[int, Column] = {}
    found: list[Finding] = []
    row = Placed(file, sheet, number, {})
    if not any(_words(value).casefold() in BY_WORD for value in head):
        accepted = f"headers such as {', '.join(column.word for column in COLUMNS[:9])}"
        remedy = "Put the headers in the first row; `cutpath new order sheet` writes them."
        return {}, [Finding("CP107", row.whole, f"{written(_first(head))} is not a header", accepted, remedy)]
    for place, value in enumerate(head):
        word = _words(value)
        column = BY_WORD.get(word.casefold())
        if value is None or _OWN.fullmatch(word):
            continue
        if column is None:
            meant = did_you_mean(word, [column.word for column in COLUMNS])
            remedy = f"Did you mean {meant}? " if meant else ""
            remedy += "Put a header of your own in brackets to have its column passed over: [price]."
            accepted = f"accepted: {', '.join(column.word for column in COLUMNS)}"
            found.append(Finding("CP103", row.cell(place, word), f'unknown header "{word}"', accepted, remedy))
        elif column in out.values():
            where = row.cell(place, word)
            found.append(Finding("CP109", where, f"{word} once more", "each header once", "Take one column out."))
        else:
            out[place] = column
    if not any(column.key == "kind" for column in out.values()):
        accepted = f"needed: the kind of each row, {', '.join(KINDS)}"
        found.append(Finding("CP104", row.whole, "no column Kind", accepted, "Add it."))
    return out, found


def _first(values: Sequence[object]) -> str:
    return _words(next((value for value in values if value is not None), ""))


def _words(value: object) -> str:
    """Return a value as text, with single spaces; whole numbers without a point."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float) and value.is_integer() and abs(value) < _EXACT:
        return str(int(value))
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    return " ".join(str(value).split()) if value is not None else ""


_EXACT = 1e15


def _read(row: _Row, columns: Mapping[int, Column], values: Sequence[object]) -> list[Finding]:
    """Read the cells of a row into its values by key, and return what is wrong with them."""
    found: list[Finding] = []
    for place, value in enumerate(values):
        column = columns.get(place)
        if value is None or column is None:
            continue
        try:
            row.values[column.key] = _cell(value, column)
        except NotUnderstoodError as error:
            where = row.at.cell(place, column.word)
            found.append(Finding(error.code, where, error.found, f"accepted: {error.accepted}", error.remedy))
            row.at.refused.add(column.key)
    if not (row.values or found):
        return []
    return [*found, *_whole(row)]


def _under_no_header(row: _Row, head: Sequence[object], values: Sequence[object]) -> Iterator[Finding]:
    """Find what stands in a column without a header: cells that went a place too far."""
    for place, value in enumerate(values):
        if value is not None and not (place < len(head) and head[place] is not None):
            remedy = "Look for a separator too many in the row, or put a header in brackets over a column of your own."
            found = f"{written(_words(value))} under no header"
            yield Finding("CP107", row.at.cell(place, "no header"), found, "needed: a header over it", remedy)


def _whole(row: _Row) -> Iterator[Finding]:
    """Find what is wrong with a row as a whole: no kind, nobody to give it to, cells that its kind does not take."""
    kind = row.values.get("kind")
    if kind is None and "kind" not in row.at.refused:
        accepted = f"needed: {', '.join(KINDS)}"
        yield Finding("CP104", row.at.key("kind"), "nothing", accepted, "Say what the row is.")
    if not any(row.values.get(key) for key in _NAMED_BY) and not row.at.refused & set(_NAMED_BY):
        remedy = "Fill one of them in every row, so that it is known whose it is."
        found = "there is no customer, order or job"
        yield Finding("CP104", row.at.key("customer"), found, "needed: one of the three", remedy)
    if kind is None:
        return
    allowed = {column.key: column.word for column in taken(str(kind))}
    for key in [key for key in row.values if key not in allowed]:
        del row.values[key]
        words = ", ".join(word for own, word in allowed.items() if own not in ALWAYS)
        found = f"{BY_KEY[key].word} of {'an' if str(kind)[0] in 'aeiou' else 'a'} {kind}"
        yield Finding("CP111", row.at.key(key), found, f"accepted: {words}", "Empty the cell.")
    if kind == RECTANGLE:
        for key in ("length", "width"):
            if key not in row.values and key not in row.at.refused:
                yield Finding("CP104", row.at.key(key), "nothing", "needed: both sides", f"Fill {BY_KEY[key].word}.")
        yield from _folded_the_short_way(row)


def _folded_the_short_way(row: _Row) -> Iterator[Finding]:
    """Doubt sides of a folded rectangle that stand the wrong way round: its folds run along the length."""
    values = row.values
    if "folds" in values and {"length", "width"} <= values.keys():
        length, width = length_mm(values["length"]), length_mm(values["width"])
        if width > length:
            found = f"{mm_text(width)}, longer than the length of {mm_text(length)}, along which the folds run"
            remedy = "Nothing to do where they run the short way; else change Length and Width over."
            yield Finding(
                "CP112", row.at.key("width"), found, "usual: the longer side as Length", remedy, Severity.WARNING
            )


def _cell(value: object, column: Column) -> object:
    """Return what a cell holds as its key takes it; the schema of the job file checks it further.

    Raises
    ------
    NotUnderstoodError
        When it cannot be such a thing.
    """
    holds = column.holds
    if isinstance(value, Unread):
        raise NotUnderstoodError(value.found, holds.value, value.remedy)
    if isinstance(value, str) and _words(value).casefold() in _DITTO:
        raise NotUnderstoodError(f"the ditto mark {value.strip()}", holds.value, "Write out what it stands for.")
    if isinstance(value, dt.date | dt.time | dt.timedelta) and holds is not Holds.DAY:
        remedy = "The spreadsheet has made it a date: set the cell to text, and type it again."
        raise NotUnderstoodError(f"the date {_words(value)}", holds.value, remedy)
    if isinstance(value, str) and holds in {Holds.LENGTH, Holds.ANGLE, Holds.WHOLE} and COMMA_IN_NUMBER.search(value):
        raise NotUnderstoodError(f"{written(value)} with a comma", holds.value, COMMA_REMEDY)
    return _READERS[holds](value, column)


def _number(value: object) -> object:
    """Return a number for text that is nothing else."""
    text = _words(value)
    if isinstance(value, str) and _BARE.fullmatch(text):
        number = float(text)
        return int(number) if number.is_integer() and abs(number) < _EXACT else number
    return text if isinstance(value, str) else value


def _length(value: object, _: Column) -> object:
    out = _number(value)
    length_mm(out)
    return out


def _angle(value: object, _: Column) -> object:
    out = _number(value)
    pitch_deg(out)
    return out


def _whole_number(value: object, column: Column) -> object:
    out = _number(value)
    if isinstance(out, float) and out.is_integer():
        out = int(out)
    if not isinstance(out, int) or isinstance(out, bool):
        raise NotUnderstoodError(written(out), column.holds.value, f"Write {column.word} as a figure alone.")
    return out


def _code(value: object, _: Column) -> object:
    match = _CODE.fullmatch(_words(value))
    figures = match[1].lstrip("0") if match else ""
    if not 0 < len(figures) <= _CODE_FIGURES:
        raise NotUnderstoodError(written(_words(value)), "a lead code such as 4", "Write the code as a figure.")
    return int(figures)


def _hand(value: object, _: Column) -> object:
    hand = _HANDS.get(_words(value).casefold())
    if hand is None:
        raise NotUnderstoodError(written(_words(value)), "left, right or pair", "Choose one of these.")
    return hand


def _day(value: object, _: Column) -> object:
    if isinstance(value, dt.datetime):
        return value.date()
    return value if isinstance(value, dt.date) else _words(value)


def _word(value: object, column: Column) -> object:
    word = _words(value).casefold()
    if column.key == "kind" and word not in KINDS:
        meant = did_you_mean(word, KINDS)
        remedy = f"Did you mean {meant}?" if meant else "Write a job file for any other kind: cutpath new KIND."
        raise NotUnderstoodError(written(_words(value)), ", ".join(KINDS), remedy)
    return word


_ONE_OF_TWO = 10_000
"""No fold is so many mm off (our own figure); 25,100 typed into a cell for numbers is 25100, elsewhere 25.1."""


def _folds(value: object, column: Column) -> object:
    """Return fold lines as distances in mm with their angles: 90 degrees forward, or back.

    Raises
    ------
    NotUnderstoodError
        When it is no list of distances.
    """
    # Typed as 25,50 a half is two folds as well.
    if isinstance(value, int | float) and (value != round(value) or value >= _ONE_OF_TWO):
        accepted = 'distances from one long edge, such as "25, 100"'
        remedy = "The spreadsheet may have made one of two: set the cell to text, and type it again."
        raise NotUnderstoodError(f"the number {value:g}", accepted, remedy)
    out = []
    for part in re.split(r"\s*[,;]\s*", _words(value).strip(",; ")):
        match = _FOLD.fullmatch(part)
        distance = length_mm(_number(match[1])) if match else math.nan
        if not distance > 0:
            accepted = 'distances from one long edge, such as "25, 100" or "25 back, 100"'
            raise NotUnderstoodError(written(_words(value)), accepted, f"Correct {column.word}.")
        out.append((distance, -90.0 if match and (match[2] or "").casefold() == "back" else 90.0))
    if isinstance(value, str) and _SHUT_COMMA.search(value) and out != sorted(out):
        found, remedy = f"{written(_words(value))} with a comma that may be a decimal one", COMMA_REMEDY
        raise NotUnderstoodError(found, 'distances with a blank after each comma, such as "25, 100"', remedy)
    return tuple(out)


def _headers_named(value: object, _: Column) -> object:
    out = []
    for part in re.split(r"\s*[,;/]\s*", _words(value).strip(",; ")):
        column = BY_WORD.get(part.casefold())
        if column is None:
            raise NotUnderstoodError(written(part), "headers of this sheet such as Length", "Write the header.")
        out.append(column.key)
    return tuple(out)


_READERS = {
    Holds.TEXT: lambda value, _: _words(value),
    Holds.WORD: _word,
    Holds.WHOLE: _whole_number,
    Holds.CODE: _code,
    Holds.LENGTH: _length,
    Holds.ANGLE: _angle,
    Holds.HAND: _hand,
    Holds.DAY: _day,
    Holds.FOLDS: _folds,
    Holds.HEADERS: _headers_named,
}


def _orders(rows: Sequence[_Row]) -> list[list[list[_Row]]]:
    """Put rows of one order together, and in it those of one job: alike in their roof, or with no roof of their own.

    What lies on no roof and says nothing of one goes into the one job that its order has beside.
    """
    orders: dict[tuple[object, ...], list[_Row]] = {}
    for row in rows:
        orders.setdefault(row.errand, []).append(row)
    out = []
    for order in orders.values():
        roofs = dict.fromkeys(row.roof for row in order if any(row.roof) or row.values["kind"] not in _OFF_ROOF)
        jobs: dict[tuple[object, ...], list[_Row]] = {}
        for row in order:
            jobs.setdefault(next(iter(roofs)) if len(roofs) == 1 else row.roof, []).append(row)
        out.append(list(jobs.values()))
    return out


_OFF_ROOF = frozenset({RECTANGLE, "cover flashing"})


def _several_jobs(jobs: Sequence[Sequence[_Row]]) -> Finding:
    """Say that an order becomes several jobs, and by which columns."""
    roof = [column for column in COLUMNS if column.of_roof]
    words = [c.word for k, c in enumerate(roof) if len({rows[0].roof[k] for rows in jobs}) > 1]
    first = [str(rows[0].at.number) for rows in jobs]
    return Finding(
        "CP115",
        jobs[1][0].at.whole,
        f"its order is {len(jobs)} jobs, which begin in rows {', '.join(first)}: {' and '.join(words)} differ",
        "one job to each roof of an order",
        f"Nothing to do where these are {len(jobs)} roofs; else write the same in every row of the order.",
        Severity.NOTE,
    )


def _jobs(file: str, orders: Sequence[Sequence[Sequence[_Row]]]) -> list[SheetJob]:
    """Return the jobs of all orders as they stand in the sheet, by their first rows."""
    jobs = sorted((rows for order in orders for rows in order), key=lambda rows: rows[0].at.number)
    return [_job(f"{file} [job {number}]", rows) for number, rows in enumerate(jobs, start=1)]


def _job(file: str, rows: Sequence[_Row]) -> SheetJob:
    first = rows[0]
    roof = next((row for row in rows if any(row.roof)), first)
    told = {column.key: roof if column.of_roof else first for column in COLUMNS if column.of_job}
    raw = {key: row.values[key] for key, row in told.items() if key in row.values}
    if "name" not in raw:
        words = [str(raw["customer"])] if raw.get("customer") else []
        words += [f"order {raw['order']}"] if raw.get("order") else []
        raw["name"] = (", ".join(words) or f"row {first.at.number}")[:_LONGEST_NAME]
    notes = dict.fromkeys(str(row.values["notes"]) for row in rows if row.values.get("notes"))
    if notes:
        raw["notes"] = "\n".join(notes)[:_NOTES]
    places = {"": first.at.whole, "detail": first.at.whole}
    places |= {key: row.at.key(key) for key, row in told.items()} | {"notes": first.at.key("notes")}
    details = []
    for number, row in enumerate(rows, start=1):
        details.append(_detail(row))
        places[f"detail[{number}]"] = row.at.whole
        places |= {f"detail[{number}].{column.key}": row.at.key(column.key) for column in COLUMNS if not column.of_job}
        places |= {
            f"detail[{number}].pitch": row.at.key("pitch"),
            f"detail[{number}].size[1]": row.at.key("length"),
            f"detail[{number}].size[2]": row.at.key("width"),
            f"detail[{number}].size": row.at.key("length"),
        }
    return SheetJob(file, {**raw, "detail": details}, places)


def _detail(row: _Row) -> dict[str, object]:
    """Return the table of a detail as a job file would have it."""
    own = {key: value for key, value in row.values.items() if key not in ALWAYS - {"kind"}}
    confirmed = list(own.pop("confirmed", ()))
    if own["kind"] != RECTANGLE:
        return {**own, "confirmed": confirmed}
    length, width = own.pop("length", _UNKNOWN_MM), own.pop("width", _UNKNOWN_MM)
    across = length_mm(length)
    folds = [{"from": [0, y], "to": [across, y], "angle": angle} for y, angle in own.pop("folds", ())]
    keys = dict.fromkeys("size" if key in {"length", "width"} else key for key in confirmed)
    return {**own, "kind": "outline", "size": [length, width], "folds": folds, "confirmed": list(keys)}


_UNKNOWN_MM = 300.0
"""Stands in for a side that is at fault, so that the rest of the row is checked; the sheet is refused all the same."""
