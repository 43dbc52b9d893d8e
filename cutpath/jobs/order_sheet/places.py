"""Findings of a job from an order sheet, told by sheet, row and column as whoever filled the sheet in sees them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from cutpath.errors import Finding
from cutpath.jobs.order_sheet.columns import BY_KEY

_LETTERS = 26


@dataclass(frozen=True, slots=True)
class Placed:
    """One row of a sheet: its number, the place of the column of each key, and keys whose cells were refused."""

    file: str
    sheet: str
    number: int
    columns: Mapping[str, int]
    refused: set[str] = field(default_factory=set)

    @property
    def whole(self) -> str:
        """The row as findings name it."""
        return f"{self.file}: {f'sheet {self.sheet}, ' if self.sheet else ''}row {self.number}"

    def cell(self, place: int, word: str) -> str:
        """Name one cell by the place of its column, from 0, and the header over it."""
        return f"{self.whole}, column {letters(place)}: {word}"

    def key(self, key: str) -> str:
        """Name the cell under the header of a key; the row alone where the sheet has no such column."""
        word = BY_KEY[key].word
        return self.cell(self.columns[key], word) if key in self.columns else f"{self.whole}: {word}"


def row_of(finding: Finding) -> tuple[int, int, str]:
    """Return the row that a finding speaks of, and its column's letters by length and alphabet, to sort by."""
    match = _ROW.search(finding.where)
    return (int(match[1]), len(match[2] or ""), match[2] or "") if match else (0, 0, "")


_ROW = re.compile(r": (?:sheet .*, )?row (\d+)(?:, column ([A-Z]+))?")


def letters(place: int) -> str:
    """Name a column, counted from 0, as a spreadsheet does.

    >>> letters(0), letters(25), letters(26)
    ('A', 'Z', 'AA')
    """
    out = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, _LETTERS)
        out = chr(ord("A") + rest) + out
    return out


def in_cells(findings: Iterable[Finding], sheets: Mapping[str, Mapping[str, str]]) -> list[Finding]:
    """Return findings with those about jobs from order sheets told by their cells, each once.

    Parameters
    ----------
    findings : iterable of Finding
    sheets : mapping
        Of each such job: its name for findings -> key path -> where that stands, the empty path for the whole of it.
    """
    return list(dict.fromkeys(_told(finding, sheets) for finding in findings)) if sheets else list(findings)


def _told(finding: Finding, sheets: Mapping[str, Mapping[str, str]]) -> Finding:
    match = _OF_JOB.match(finding.where)
    if match is None or match[1] not in sheets:
        return replace(finding, found=_IN_WORDS.sub(lambda m: _place(m[0], sheets), finding.found))
    path, _, piece = finding.where.partition(" (piece ")
    where = _place(path, sheets) + (f" (piece {piece}" if piece else "")
    return replace(finding, where=where, remedy=_remedy(finding.remedy, where.rpartition(": ")[2]))


def _place(text: str, sheets: Mapping[str, Mapping[str, str]]) -> str:
    """Return a key path of a job as its cell; anything else as it is."""
    match = _OF_JOB.match(text)
    if match is None or match[1] not in sheets:
        return text
    places, path = sheets[match[1]], match[2] or ""
    while path not in places:
        path = path[: max(path.rfind("."), path.rfind("["), 0)]
    return places[path]


_OF_JOB = re.compile(r"(.*\[job \d+\])(?:: (.*))?$", re.DOTALL)
_IN_WORDS = re.compile(r"\S+ \[job \d+\](?:: [\w.\[\]]+)?")

_REMEDIES = (
    (r'add confirmed = \["(\w+)"\] to the same table', 'write {0} in the column "Measured again"'),
    (r"\b(?:Add|add) (\w+) = \.\.\.", 'fill the column "{0}"'),
    (r"\bAdd (\w+)(?:: .*)?\.$", 'fill the column "{0}".'),
    (r" at the top of the file(?:, or to the detail)?", ""),
    (r"Take the line out", "empty the cell"),
)
"""What a job file is told, and what the same is in an order sheet; {0} is a header."""


def _remedy(text: str, own: str) -> str:
    for pattern, words in _REMEDIES:
        for found in list(re.finditer(pattern, text))[::-1]:
            text = (
                text[: found.start()]
                + words.format(*(_header(key, own) for key in found.groups()))
                + text[found.end() :]
            )
    return text[:1].upper() + text[1:]


def _header(key: str, own: str) -> str:
    """Return the header of a key; ``own`` is the one at which it is told, which tells the sides of a size apart."""
    if key == "size":
        return own if own == BY_KEY["width"].word else BY_KEY["length"].word
    return BY_KEY[key].word if key in BY_KEY else key
