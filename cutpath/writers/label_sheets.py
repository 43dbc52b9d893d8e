"""Stick-on labels as PDF: sheets of A4 in common grids, or one label a page for a label printer.

The grids are those that sheets of labels commonly have (from memory, unverified): print one on plain paper and hold it
against the sheet of labels before you use that up.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from cutpath.reports.pictures.qr import QUIET, qr_bars, qr_rows
from cutpath.tolerances import POINT_MM
from cutpath.writers.pages import A4_MM
from cutpath.writers.pdf import MM
from cutpath.writers.pdf_frame import canvas_on, font_for

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_PADDING_MM, _CLEAR_MM, _LEAST_SQUARE_MM = 3.0, 1.2, 12.0
_TITLE_SHARE, _TITLE_PT, _LEAST_PT, _READABLE_PT = 0.34, 20.0, 5.0, 8.0
_LEADING = 1.2
_SIZES_PT = tuple(half / 2 for half in range(26, 9, -1))
"""Sizes of letters that are tried for the lines of a label, all of them in one: 13 to 5 points."""


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says: a title to be read from afar, lines below it, and the text of a QR square."""

    title: str
    lines: tuple[str, ...]
    code: str


@dataclass(frozen=True, slots=True)
class Grid:
    """Labels on a page: how many, how large each, how far apart; they stand in the middle of the page."""

    columns: int
    rows: int
    label_mm: tuple[float, float]
    gap_mm: tuple[float, float] = (0.0, 0.0)
    page_mm: tuple[float, float] = A4_MM

    @property
    def count(self) -> int:
        """Labels on a page."""
        return self.columns * self.rows

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Return the lower left corner of a place, counted from 0 along the rows from the top."""
        row, column = divmod(place, self.columns)
        sizes = [
            n * size + (n - 1) * gap
            for n, size, gap in zip((self.columns, self.rows), self.label_mm, self.gap_mm, strict=True)
        ]
        left, top = ((page - size) / 2 for page, size in zip(self.page_mm, sizes, strict=True))
        x = left + column * (self.label_mm[0] + self.gap_mm[0])
        y = self.page_mm[1] - top - row * (self.label_mm[1] + self.gap_mm[1]) - self.label_mm[1]
        return x, y


GRIDS = MappingProxyType(
    {
        "2x7": Grid(2, 7, (99.1, 38.1), (2.5, 0.0)),
        "2x8": Grid(2, 8, (99.1, 33.9), (2.5, 0.0)),
        "3x7": Grid(3, 7, (63.5, 38.1), (2.54, 0.0)),
        "3x8": Grid(3, 8, (70.0, 37.0)),
    }
)
"""Common sheets of A4 by how many labels stand across and down."""

LEAST_MM = (25.0, 12.0)
"""A label on which everything can still be read."""


def single(width_mm: float, height_mm: float) -> Grid:
    """Return the grid of a label printer: one label a page.

    Raises
    ------
    ValueError
        When nothing could be read on a label of that size.
    """
    if width_mm < LEAST_MM[0] or height_mm < LEAST_MM[1]:
        raise ValueError(f"a label of {width_mm:g} x {height_mm:g} mm is too small")
    return Grid(1, 1, (width_mm, height_mm), page_mm=(width_mm, height_mm))


def grid_named(name: str) -> Grid:
    """Return a grid of A4 by its name, or the page of a label printer by its size, such as ``62 x 29 mm``.

    Raises
    ------
    ValueError
        When it is neither, or nothing could be read on a label of that size.
    """
    if name in GRIDS:
        return GRIDS[name]
    size = re.fullmatch(r"(\d{1,4}(?:\.\d+)?) ?x ?(\d{1,4}(?:\.\d+)?) ?mm", name.strip())
    if size is None:
        raise ValueError(f"{name} is neither one of {', '.join(GRIDS)} nor the size of a label, such as 62 x 29 mm")
    return single(float(size[1]), float(size[2]))


def label_sheets(labels: Sequence[Label], grid: Grid, first: int = 1) -> bytes:
    """Write labels as PDF pages, from a place of the first page on; the same input always gives the same bytes.

    Raises
    ------
    ValueError
        When there are no labels, or the page has no such place.
    """
    if not labels or not 1 <= first <= grid.count:
        raise ValueError(f"{len(labels)} labels from place {first} of {grid.count} on")
    out = io.BytesIO()
    title = f"Labels {labels[0].title} to {labels[-1].title}"
    canvas = canvas_on(out, title, pagesize=(grid.page_mm[0] * MM, grid.page_mm[1] * MM))
    canvas.setViewerPreference("PrintScaling", "None")
    for number, (label, size_pt) in enumerate(zip(labels, _sizes(labels, grid.label_mm), strict=True), first - 1):
        if number > first - 1 and number % grid.count == 0:
            canvas.showPage()
        _draw(canvas, label, grid.corner_mm(number % grid.count), grid.label_mm, size_pt)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


@dataclass(frozen=True, slots=True)
class _Room:
    """Where words go on a label, in mm from its lower left corner: beside the square, and below it over all its width.

    ``top_mm`` and ``low_mm`` are the levels between which its lines stand.
    """

    left_mm: float
    beside_mm: float
    below_mm: float
    from_mm: float
    top_mm: float
    low_mm: float

    def at(self, y_mm: float, size_pt: float) -> float:
        """Return the room of a row of letters that stands on a level."""
        return self.below_mm if y_mm + 0.75 * size_pt / MM <= self.from_mm else self.beside_mm


def _side_mm(size: tuple[float, float], pad: float) -> float:
    """Return how large the square of a label is."""
    return min(size[1] - 2 * pad, max(size[0] / 4, min(size[0] / 3, _LEAST_SQUARE_MM)))


def _room(label: Label, size: tuple[float, float]) -> tuple[float, _Room]:
    """Return the size of a label's title in points, and the room for its lines."""
    pad = min(_PADDING_MM, size[1] / 8)
    side, top = _side_mm(size, pad), size[1] - pad
    beside = size[0] - side - 3 * pad
    title_pt = min(_TITLE_PT, (size[1] - 2 * pad) * _TITLE_SHARE * MM)
    title_pt = min(title_pt, max(_LEAST_PT, beside / _wide_mm(label.title, font_for(label.title, bold=True))))
    return title_pt, _Room(pad, beside, size[0] - 2 * pad, top - side - _CLEAR_MM, top - title_pt / MM, pad * 0.7)


def _sizes(labels: Sequence[Label], size: tuple[float, float]) -> list[float]:
    """Return how large the lines of each label are: alike on all labels on which that can be read."""
    own = []
    for label in labels:
        _, room = _room(label, size)
        fitting = (pt for pt in _SIZES_PT if _rows(label.lines, pt, room)[-1][1] >= room.low_mm)
        own.append(next(fitting, 0.0))
    common = max(_READABLE_PT, min(own))
    return [min(pt, common) for pt in own]


def _draw(canvas: Canvas, label: Label, corner: tuple[float, float], size: tuple[float, float], size_pt: float) -> None:
    """Draw the square in the upper right corner, the title beside it, and the lines, which run on below it."""
    title_pt, room = _room(label, size)
    pad = room.left_mm
    side = _side_mm(size, pad)
    _square(canvas, label.code, (corner[0] + size[0] - pad - side, corner[1] + size[1] - pad - side), side)

    def write(text: str, y_mm: float, font: str, letters_pt: float) -> None:
        canvas.setFont(font, letters_pt)
        canvas.drawString((corner[0] + pad) * MM, (corner[1] + y_mm) * MM, text)

    write(label.title, room.top_mm + title_pt * 0.2 / MM, font_for(label.title, bold=True), title_pt)
    if not size_pt:
        size_pt = min(_LEAST_PT, (room.top_mm - room.low_mm) / len(label.lines) * 0.85 * MM)
        rows = _a_row_each(label.lines, size_pt, room)
    else:
        rows = _rows(label.lines, size_pt, room)
    for text, y_mm, font in rows:
        write(text, y_mm, font, size_pt)


_Row = tuple[str, float, str]
"""A row of letters, the level in mm on which it stands, and its font."""


def _rows(lines: Sequence[str], size_pt: float, room: _Room) -> list[_Row]:
    """Set lines one below the other in letters of one size, each broken between its words where it is too long."""
    y_mm = room.top_mm
    rows: list[_Row] = []
    for line in lines:
        font, row, used = font_for(line), "", 0.0
        space = _wide_mm(" ", font) * size_pt
        y_mm -= size_pt * _LEADING / MM
        for word in line.split(" "):
            wide = _wide_mm(word, font) * size_pt
            if row and used + space + wide > room.at(y_mm, size_pt) + POINT_MM:
                rows.append((row, y_mm, font))
                row, used = word, wide
                y_mm -= size_pt * _LEADING / MM
            else:
                used += (space if row else 0.0) + wide
                row = f"{row} {word}" if row else word
        rows.append((_cut(row, size_pt, room.at(y_mm, size_pt)), y_mm, font))
    return rows


def _a_row_each(lines: Sequence[str], size_pt: float, room: _Room) -> list[_Row]:
    """Set every line in one row, and leave off the ends of those that are too long."""
    step = (room.top_mm - room.low_mm) / len(lines)
    levels = [room.top_mm - step * (k + 1) for k in range(len(lines))]
    return [(_cut(t, size_pt, room.at(y, size_pt)), y, font_for(t)) for t, y in zip(lines, levels, strict=True)]


@lru_cache(maxsize=4096)  # the same words stand on most labels of a run
def _wide_mm(text: str, font: str) -> float:
    """Return how wide a text is in letters of one point."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(text, font, 1000.0)) / 1000.0 / MM


def _cut(text: str, size_pt: float, room_mm: float) -> str:
    """Leave off the end of a row that is too long even by itself."""
    font = font_for(text)
    if _wide_mm(text, font) * size_pt <= room_mm + POINT_MM:  # it was made to fit, but for rounding
        return text
    while text and _wide_mm(text + "...", font) * size_pt > room_mm:
        text = text[:-1]
    return text.rstrip() + "..."


def _square(canvas: Canvas, code: str, corner: tuple[float, float], side_mm: float) -> None:
    rows = qr_rows(code)
    module = side_mm / (len(rows) + QUIET)  # half of the clear border; the label's own paper is the other half
    border = module * QUIET / 2
    for r, first, end in qr_bars(rows):
        x, y = corner[0] + border + first * module, corner[1] + side_mm - border - (r + 1) * module
        canvas.rect(x * MM, y * MM, (end - first) * module * MM, module * MM, stroke=0, fill=1)
