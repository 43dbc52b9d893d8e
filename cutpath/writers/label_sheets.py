"""Stick-on labels as PDF: sheets of A4 in common grids, or one label a page for a label printer.

The grids are those that sheets of labels commonly have (from memory, unverified): print one on plain paper and hold it
against the sheet of labels before you use that up.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from cutpath.reports.pictures.qr import QUIET, qr_bars, qr_rows
from cutpath.tolerances import POINT_MM
from cutpath.writers.pdf import MM
from cutpath.writers.pdf_frame import canvas_on, font_for

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_PADDING_MM = 3.0
_TITLE_SHARE, _LEAST_PT, _LINE_PT = 0.34, 5.0, 11.0


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
    page_mm: tuple[float, float] = (210.0, 297.0)

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
    for number, label in enumerate(labels, first - 1):
        if number > first - 1 and number % grid.count == 0:
            canvas.showPage()
        _draw(canvas, label, grid.corner_mm(number % grid.count), grid.label_mm)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw(canvas: Canvas, label: Label, corner: tuple[float, float], size: tuple[float, float]) -> None:
    pad = min(_PADDING_MM, size[1] / 8)
    side = min(size[1] - 2 * pad, size[0] / 3)
    _square(canvas, label.code, (corner[0] + size[0] - pad - side, corner[1] + (size[1] - side) / 2), side)
    room = size[0] - side - 3 * pad
    high = size[1] - 2 * pad
    title_font = font_for(label.title, bold=True)
    title_pt = _fitting(label.title, title_font, high * _TITLE_SHARE * MM, room)
    y = corner[1] + size[1] - pad - title_pt * 0.8 / MM
    canvas.setFont(title_font, title_pt)
    canvas.drawString((corner[0] + pad) * MM, y * MM, label.title)
    step = (y - corner[1] - pad * 0.5) / max(1, len(label.lines))
    for line in label.lines:
        y -= step
        font = font_for(line)
        size_pt = _fitting(line, font, min(_LINE_PT, step * 0.85 * MM), room)
        canvas.setFont(font, size_pt)
        canvas.drawString((corner[0] + pad) * MM, y * MM, _cut(line, size_pt, room))


def _fitting(text: str, font: str, size_pt: float, room_mm: float) -> float:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    wide = stringWidth(text, font, size_pt)
    return float(size_pt if wide <= room_mm * MM else max(_LEAST_PT, size_pt * room_mm * MM / wide))


def _cut(text: str, size_pt: float, room_mm: float) -> str:
    """Leave off the end of a line that is too long even in small letters."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    if stringWidth(text, font_for(text), size_pt) <= room_mm * MM + POINT_MM:  # it was made to fit, but for rounding
        return text
    while text and stringWidth(text + "...", font_for(text), size_pt) > room_mm * MM:
        text = text[:-1]
    return text.rstrip() + "..."


def _square(canvas: Canvas, code: str, corner: tuple[float, float], side_mm: float) -> None:
    rows = qr_rows(code)
    module = side_mm / (len(rows) + QUIET)  # half of the clear border; the label's own paper is the other half
    border = module * QUIET / 2
    for r, first, end in qr_bars(rows):
        x, y = corner[0] + border + first * module, corner[1] + side_mm - border - (r + 1) * module
        canvas.rect(x * MM, y * MM, (end - first) * module * MM, module * MM, stroke=0, fill=1)
