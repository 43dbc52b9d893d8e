"""How a drawing is laid out at full size on pages: tiles that overlap, or long pages.

Window: the part of a page that shows the drawing. Beside it, to the left and below, stand the check bars and the
page's words. Neighbouring windows show the overlap both; they are joined along its middle, the seam.
"""

from __future__ import annotations

from dataclasses import dataclass

from cutpath.drawing.frames import frame_count
from cutpath.values.machine import Paper

A4_MM = (210.0, 297.0)
"""A sheet that stands (ISO 216)."""

BAR_MM = 100.0
LEFT_MM = 9.0
BELOW_MM = 24.0
PAD_MM = 3.0
"""Clear space round the drawing, so that its edge is no page's edge."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One page's window: its name (row letter, column number), place in the grid, and lower left corner."""

    name: str
    row: int
    column: int
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Pages:
    """Page size, window size, the step from window to window, and the grid."""

    page_mm: tuple[float, float]
    window_mm: tuple[float, float]
    overlap_mm: float
    rows: int
    columns: int
    tiles: tuple[Tile, ...]


def row_name(row: int) -> str:
    """Return A to Z, then AA and on."""
    return (row_name(row // 26 - 1) if row >= 26 else "") + chr(ord("A") + row % 26)


def lay_pages(low: tuple[float, float], high: tuple[float, float], paper: Paper) -> Pages:
    """Lay the box from ``low`` to ``high`` on pages, upright or on their side, whichever takes fewer.

    Parameters
    ----------
    low, high : (x, y) in mm
    paper : Paper
        With ``long``, x runs along the page's length, and the page ends where its drawing ends.
    """
    size = (high[0] - low[0] + 2 * PAD_MM, high[1] - low[1] + 2 * PAD_MM)
    start = (low[0] - PAD_MM, low[1] - PAD_MM)
    shapes = [(paper.width_mm, paper.height_mm), (paper.height_mm, paper.width_mm)]
    if paper.long:
        shapes = [(max(shapes[0]), min(shapes[0]))]
    laid = [_lay(start, size, shape, paper) for shape in shapes]
    return min(laid, key=lambda p: p.rows * p.columns)


def _lay(start: tuple[float, float], size: tuple[float, float], page: tuple[float, float], paper: Paper) -> Pages:
    lost = (2 * paper.margin_mm + LEFT_MM, 2 * paper.margin_mm + BELOW_MM)
    window = (page[0] - lost[0], page[1] - lost[1])
    columns, rows = (frame_count(s, w, paper.overlap_mm) for s, w in zip(size, window, strict=True))
    if paper.long:
        # Never so short that the bars would not stand on it.
        counts = (columns, rows)
        window = tuple(  # type: ignore[assignment]
            min(w, max(s, BAR_MM + 20.0)) if n == 1 else w for n, s, w in zip(counts, size, window, strict=True)
        )
        page = (window[0] + lost[0], window[1] + lost[1])
    step = (window[0] - paper.overlap_mm, window[1] - paper.overlap_mm)
    tiles = tuple(
        Tile(f"{row_name(r)}{c + 1}", r, c, start[0] + c * step[0], start[1] + r * step[1])
        for r in range(rows)
        for c in range(columns)
    )
    return Pages(page, window, paper.overlap_mm, rows, columns, tiles)
