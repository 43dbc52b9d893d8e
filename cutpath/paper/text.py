"""Figures, tables and CSV as plain text, the same in every report."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from math import floor, fsum

from cutpath.tolerances import FILE_DECIMALS
from cutpath.units import MM2_PER_M2

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the beginning of a formula (OWASP, CSV injection)."""


def fixed(value: float, decimals: int) -> str:
    """Return a figure with so many decimals and never a minus before zero."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}"  # adding zero turns -0.0 into 0.0


def millimetres(length_mm: float) -> str:
    """Return a length as a tape gives it: in whole millimetres, and with a half where it is one.

    >>> millimetres(222.8), millimetres(102.5), millimetres(1417.04)
    ('223', '102.5', '1417')
    """
    tenths = round(round(length_mm, FILE_DECIMALS) * 10)
    return f"{tenths / 10:.1f}" if tenths % 10 == 5 else str(floor(round(length_mm, FILE_DECIMALS) + 0.5))


def whole_mm(length_mm: float) -> str:
    """Return a length in whole millimetres, as far as a tape can be read."""
    return fixed(length_mm, 0)


def metres(length_mm: float) -> str:
    """Return a length in metres to 10 mm, rounded as `millimetres` rounds.

    >>> metres(475.0), millimetres(475.0)
    ('0.48', '475')
    """
    return fixed(floor(round(length_mm, FILE_DECIMALS) / 10 + 0.5) / 100, 2)


def square_metres(area_mm2: float) -> str:
    """Return an area in m2 to a thousand mm2."""
    return fixed(area_mm2 / MM2_PER_M2, 3)


def kilograms(mass_kg: float) -> str:
    """Return a mass in kg to ten grams."""
    return fixed(mass_kg, 2)


ROUNDED = "Every weight and every total is rounded by itself."
"""What is said below weights that stand with their total."""


def add_up(masses_kg: Sequence[float]) -> bool:
    """Tell whether masses as they are written come to their total as it is written.

    >>> add_up([1.0, 2.5]), add_up([1.004, 2.004])
    (True, False)
    """
    return kilograms(fsum(float(kilograms(mass)) for mass in masses_kg)) == kilograms(fsum(masses_kg))


def percent(ratio: float | None) -> str:
    """Return a ratio as a percentage to a tenth, a dash for none."""
    return "-" if ratio is None else f"{fixed(100 * ratio, 1)} %"


def day_words(day: date) -> str:
    """Return a day as it is written in a letter, whatever language the machine speaks."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def clock_text(at: str) -> str:
    """Return a moment that is written in UTC as a list on a screen has it: ``2026-11-30 16:05 UTC``."""
    return f"{datetime.fromisoformat(at):%Y-%m-%d %H:%M} UTC"


_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def counted(number: int, noun: str) -> str:
    """Return how many there are of what a noun names: one takes no s."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def unbroken(words: str) -> str:
    """Return words that no line ends in, such as a scale: their spaces do not break."""
    return words.replace(" ", "\u00a0")


_BY = re.compile(r"(?<=\d)( mm)? x (?=\d)")


def times(words: str) -> str:
    """Return words for paper, with the sign between sizes that a terminal has as a letter.

    >>> times("1 of code 4, 390 x 3000 mm; 300 mm x 6 m; 4 boxes")
    '1 of code 4, 390 × 3000 mm; 300 mm × 6 m; 4 boxes'
    """
    return _BY.sub(r"\1 × ", words)


def table(
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    left: frozenset[int] = frozenset({0}),
    total: bool = False,
) -> str:
    """Lay out rows under a head in columns parted by two spaces.

    Columns numbered in ``left`` (from 0) are set left, all others right; with ``total`` a rule stands
    before the last row.
    """
    body = [tuple(row) for row in rows]
    widths = [max(len(row[i]) for row in (tuple(head), *body)) for i in range(len(head))]

    def line(row: Sequence[str]) -> str:
        cells = (
            cell.ljust(w) if i in left else cell.rjust(w) for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        return "  ".join(cells).rstrip()

    rule = "  ".join("-" * w for w in widths)
    lines = [line(head), rule, *map(line, body)]
    if total and body:
        lines.insert(-1, rule)
    return "\n".join(lines)


def rolls_named(rolls: Sequence[str]) -> str:
    """Name rolls in their order, those whose numbers follow each other by the first and the last.

    >>> rolls_named(["code3-01", "code3-02", "code3-03", "code4-02", "code4-05"])
    'code3-01 to 03, code4-02, 05'
    """
    runs: list[tuple[str, list[str]]] = []
    for roll in rolls:
        found = _NUMBERED.fullmatch(roll)
        stem, figure = found.groups() if found else (roll, "")
        before = runs[-1] if runs else ("", [""])
        follows = figure and before[0] == stem and before[1][-1].isdigit() and int(figure) == int(before[1][-1]) + 1
        if follows:
            before[1].append(figure)
        else:
            runs.append((stem, [figure]))
    said, stem_before = [], None
    for stem, figures in runs:
        name = figures[0] if figures[0] and stem == stem_before else stem + figures[0]
        joint = " to " if len(figures) > 2 else ", "
        said.append(name + (joint + figures[-1] if len(figures) > 1 else ""))
        stem_before = stem
    return ", ".join(said)


_NUMBERED = re.compile(r"(.*-)(\d+)")


def _cell(value: object) -> object:
    """Return a value that no spreadsheet takes for a formula; figures stay figures."""
    if not isinstance(value, str) or not value.startswith(_FORMULA) or _is_figure(value):
        return value
    return f"'{value}"


def _is_figure(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> str:
    """Write rows as CSV with a head line; keys that are no column are left out, missing ones are empty."""
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows({key: _cell(value) for key, value in row.items()} for row in rows)
    return out.getvalue()
