"""PDF at full size, for an office printer (tiles) or a printer for rolls of paper (long pages).

The first page is a cover: what it is, how to print and join the pages, a map of them, what the lines mean. Every page
has a bar of 100 mm along both edges, since a printer may scale one axis alone; tiles have crosses on their seams.
Points are written as they are, in one coordinate system, so that any reader finds the drawing's own millimetres.
No real printer was tried; pikepdf and poppler read the files back in the tests.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cutpath.reports.pictures.qr import qr_bars, qr_rows
from cutpath.units import PT_PER_MM
from cutpath.values.drawing import Drawing, Note, Role, Stroke
from cutpath.values.looks import CHAIN, GREY, OF_ROLE, Look
from cutpath.values.machine import Paper
from cutpath.values.pattern import Point
from cutpath.writers.pages import A4_MM, BAR_MM, BELOW_MM, LEFT_MM, Pages, Tile, lay_pages
from cutpath.writers.pdf_frame import canvas_on, font_for

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

MM = PT_PER_MM
"""Points to the millimetre."""

HOW_TO_PRINT = "Print at 100 %, measure both bars, discard the page if either is not 100 ± 0.5 mm."

_NOTE_PT = 8.0
_LETTERS = "lettering"


@dataclass(frozen=True, slots=True)
class Cover:
    """What the first page says: facts as (name, value), cautions, and the text of a QR square (empty: none)."""

    title: str
    facts: tuple[tuple[str, str], ...] = ()
    cautions: tuple[str, ...] = ()
    code: str = ""


def to_pdf(drawing: Drawing, paper: Paper, cover: Cover, notes: Sequence[Note] = ()) -> bytes:
    """Write a drawing as PDF pages at full size.

    Reference strokes beyond the sheet (words, check bar) are left out: pages have their own. The same input always
    gives the same bytes.

    Raises
    ------
    ValueError
        For a drawing without strokes for a machine.
    """
    strokes = [s for s in drawing.strokes if s.role is not Role.REFERENCE]
    if not strokes:
        raise ValueError(f"{drawing.title}: there is nothing to draw")
    points = [p for s in strokes for p in s.points]
    low = (min(0.0, *(x for x, _ in points)), min(0.0, *(y for _, y in points)))
    high = (max(drawing.length_mm, *(x for x, _ in points)), max(drawing.width_mm, *(y for _, y in points)))
    inside = [s for s in drawing.strokes if s.role is Role.REFERENCE and _within(s, low, high)]
    shown = [*inside, *strokes]
    pages = lay_pages(low, high, paper)
    used = [t for t in pages.tiles if _on(t, pages, strokes)]

    out = io.BytesIO()
    canvas = canvas_on(out, cover.title)
    canvas.setViewerPreference("PrintScaling", "None")
    _Cover(canvas, cover, pages, used, paper).draw(shown)
    for number, tile in enumerate(used, 2):
        _page(canvas, tile, pages, paper, shown, notes, f"{cover.title}   page {number} of {len(used) + 1}")
    canvas.save()
    return out.getvalue()


def _within(stroke: Stroke, low: Point, high: Point) -> bool:
    """Tell whether a stroke begins on the sheet; roll edges that run on past it are clipped by the page."""
    return all(low[1] - 1 <= y <= high[1] + 1 for _, y in stroke.points) and any(
        low[0] <= x <= high[0] for x, _ in stroke.points
    )


def _touches(stroke: Stroke, tile: Tile, pages: Pages) -> bool:
    x0, y0 = tile.x_mm, tile.y_mm
    x1, y1 = x0 + pages.window_mm[0], y0 + pages.window_mm[1]
    xs, ys = [x for x, _ in stroke.points], [y for _, y in stroke.points]
    return min(xs) <= x1 and max(xs) >= x0 and min(ys) <= y1 and max(ys) >= y0


def _on(tile: Tile, pages: Pages, strokes: Iterable[Stroke]) -> bool:
    """Tell whether any line runs through a window."""
    x0, y0 = tile.x_mm, tile.y_mm
    x1, y1 = x0 + pages.window_mm[0], y0 + pages.window_mm[1]
    return any(
        _crosses(a, b, (x0, y0), (x1, y1))
        for s in strokes
        if _touches(s, tile, pages)
        for a, b in zip(s.points, (*s.points[1:], s.points[0] if s.closed else s.points[-1]), strict=True)
    )


def _crosses(a: Point, b: Point, low: Point, high: Point) -> bool:
    """Tell whether a segment runs through a box."""
    first, last = 0.0, 1.0
    for k in (0, 1):
        run = b[k] - a[k]
        if run == 0:
            if not low[k] <= a[k] <= high[k]:
                return False
            continue
        t = sorted(((low[k] - a[k]) / run, (high[k] - a[k]) / run))
        first, last = max(first, t[0]), min(last, t[1])
    return first <= last


def _look(canvas: Canvas, role: Role, name: str, paper: Paper, scale: float = 1.0) -> None:
    from reportlab.lib.colors import HexColor

    look = _look_of(role, paper)
    canvas.setStrokeColor(HexColor(look.colour))
    canvas.setLineWidth(look.width_mm * MM * scale)
    canvas.setDash([d * MM for d in look.dashes_mm] if name != _LETTERS else [])


def _look_of(role: Role, paper: Paper) -> Look:
    return CHAIN if role is Role.FOLD and paper.chain_folds else OF_ROLE[role]


def _stroke(canvas: Canvas, stroke: Stroke, origin: Point, scale: float = MM) -> None:
    path = canvas.beginPath()
    for k, (x, y) in enumerate(stroke.points):
        at = ((x - origin[0]) * scale, (y - origin[1]) * scale)
        (path.lineTo if k else path.moveTo)(*at)
    if stroke.closed:
        path.close()
    canvas.drawPath(path)


def _page(
    canvas: Canvas,
    tile: Tile,
    pages: Pages,
    paper: Paper,
    strokes: Sequence[Stroke],
    notes: Sequence[Note],
    words: str,
) -> None:
    canvas.setPageSize((pages.page_mm[0] * MM, pages.page_mm[1] * MM))
    left, below = paper.margin_mm + LEFT_MM, paper.margin_mm + BELOW_MM
    origin = (tile.x_mm - left, tile.y_mm - below)
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(left * MM, below * MM, pages.window_mm[0] * MM, pages.window_mm[1] * MM)
    canvas.clipPath(window, stroke=0, fill=0)
    for stroke in strokes:
        if _touches(stroke, tile, pages):
            _look(canvas, stroke.role, stroke.name, paper)
            _stroke(canvas, stroke, origin)
    _write_notes(canvas, notes, tile, pages, origin)
    canvas.restoreState()
    _seams(canvas, tile, pages, (left, below))
    _bars(canvas, paper.margin_mm, below)
    canvas.setFont("Helvetica-Bold", 12)
    canvas.drawString(left * MM, (paper.margin_mm + 13) * MM, tile.name)
    canvas.setFont(font_for(words), 7)
    canvas.drawString((left + 14) * MM, (paper.margin_mm + 16) * MM, words)
    canvas.setFont("Helvetica", 7)
    canvas.drawString((left + 14) * MM, (paper.margin_mm + 12.5) * MM, HOW_TO_PRINT)
    canvas.showPage()


def _write_notes(canvas: Canvas, notes: Sequence[Note], tile: Tile, pages: Pages, origin: Point) -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    canvas.setFont("Helvetica", _NOTE_PT)
    for note in notes:
        x, y = note.at
        off = (x - tile.x_mm, y - tile.y_mm)
        shown = all(0 <= o <= w for o, w in zip(off, pages.window_mm, strict=True))
        if shown and stringWidth(note.text, "Helvetica", _NOTE_PT) <= note.room_mm * MM:
            canvas.saveState()
            canvas.translate((x - origin[0]) * MM, (y - origin[1]) * MM)
            canvas.rotate(note.turn_deg)
            canvas.drawCentredString(0, 1.2, note.text)
            canvas.restoreState()


def _seams(canvas: Canvas, tile: Tile, pages: Pages, corner: Point) -> None:
    """Draw the lines along which this page is joined, with crosses and the names of the neighbours."""
    from reportlab.lib.colors import HexColor

    from cutpath.writers.pages import row_name

    (wide, high), half = pages.window_mm, pages.overlap_mm / 2
    xs = [(half, -1)] * (tile.column > 0) + [(wide - half, 1)] * (tile.column + 1 < pages.columns)
    ys = [(half, -1)] * (tile.row > 0) + [(high - half, 1)] * (tile.row + 1 < pages.rows)
    canvas.setStrokeColor(HexColor("#000000"))
    canvas.setLineWidth(0.1 * MM)
    canvas.setFont("Helvetica", 6)

    def at(x: float, y: float) -> tuple[float, float]:
        return ((corner[0] + x) * MM, (corner[1] + y) * MM)

    canvas.setDash([0.5 * MM, 2 * MM])
    for x, _ in xs:
        canvas.line(*at(x, 0), *at(x, high))
    for y, _ in ys:
        canvas.line(*at(0, y), *at(wide, y))
    canvas.setDash([])
    for x in [x for x, _ in xs] or [wide / 2]:
        for y in [y for y, _ in ys] or [high / 3, 2 * high / 3]:
            if xs or ys:
                canvas.line(*at(x - 4, y), *at(x + 4, y))
                canvas.line(*at(x, y - 4), *at(x, y + 4))
    for x, side in xs:
        name = f"{row_name(tile.row)}{tile.column + 1 + side}"
        canvas.saveState()
        canvas.translate(*at(x - 0.6, high / 2))
        canvas.rotate(90)
        canvas.drawCentredString(0, 0, f"joins {name}")
        canvas.restoreState()
    for y, side in ys:
        canvas.drawCentredString(*at(wide / 2, y + 0.6), f"joins {row_name(tile.row + side)}{tile.column + 1}")


def _bars(canvas: Canvas, margin: float, below: float) -> None:
    """Draw a bar of 100 mm along the page's lower edge, and one along its left edge."""
    from reportlab.lib.colors import HexColor

    canvas.setStrokeColor(HexColor("#000000"))
    canvas.setLineWidth(0.25 * MM)
    canvas.setDash([])
    x, y = margin + LEFT_MM, margin + 4
    canvas.line(x * MM, y * MM, (x + BAR_MM) * MM, y * MM)
    for end in (x, x + BAR_MM):
        canvas.line(end * MM, (y - 2) * MM, end * MM, (y + 2) * MM)
    canvas.setFont("Helvetica", 7)
    canvas.drawCentredString((x + BAR_MM / 2) * MM, (y + 1.2) * MM, "100 mm")
    x, y = margin + 3, below
    canvas.line(x * MM, y * MM, x * MM, (y + BAR_MM) * MM)
    for end in (y, y + BAR_MM):
        canvas.line((x - 2) * MM, end * MM, (x + 2) * MM, end * MM)
    canvas.saveState()
    canvas.translate((x + 3.2) * MM, (y + BAR_MM / 2) * MM)
    canvas.rotate(90)
    canvas.drawCentredString(0, 0, "100 mm")
    canvas.restoreState()


_STRIP_GAP_MM = 4.0
_LONGEST_STRIP = 8  # pages across that are still told apart when they stand in one row


class _Cover:
    """The first page, of office size whatever the other pages are."""

    def __init__(self, canvas: Canvas, cover: Cover, pages: Pages, used: Sequence[Tile], paper: Paper) -> None:
        self._canvas, self._cover, self._pages, self._used, self._paper = canvas, cover, pages, used, paper
        self._left = max(12.0, paper.margin_mm)
        self._y = A4_MM[1] - self._left - 8

    def draw(self, strokes: Sequence[Stroke]) -> None:
        self._canvas.setPageSize((A4_MM[0] * MM, A4_MM[1] * MM))
        self._text(self._cover.title, 14, bold=True)
        if self._cover.code:
            self._square(self._cover.code)
        for name, value in self._cover.facts:
            self._text(f"{name}: {value}", 9)
        self._y -= 3
        pages = self._pages
        self._text(HOW_TO_PRINT, 9, bold=True)
        if len(self._used) > 1:
            self._text(
                "Cut each page along one seam, lay it on its neighbour's seam so that the crosses meet, and tape it. "
                f"{len(self._used)} pages of {pages.page_mm[0]:g} × {pages.page_mm[1]:g} mm; "
                "pages on which nothing is drawn are left out.",
                9,
            )
        for caution in self._cover.cautions:
            self._text(caution, 9, bold=True)
        self._y -= 3
        self._legend({s.role for s in strokes})
        self._map(strokes)
        _bars(self._canvas, self._left, self._left + BELOW_MM)
        self._canvas.showPage()

    def _text(self, text: str, size: float, *, bold: bool = False) -> None:
        from reportlab.lib.utils import simpleSplit

        font = font_for(text, bold=bold)
        room = A4_MM[0] - 2 * self._left - LEFT_MM - (34 if self._cover.code else 0)
        self._canvas.setFont(font, size)
        for line in simpleSplit(text, font, size, room * MM):
            self._canvas.drawString((self._left + LEFT_MM) * MM, self._y * MM, line)
            self._y -= size * 0.45
        self._y -= 1

    def _square(self, code: str) -> None:
        rows = qr_rows(code)
        module = 28.0 / len(rows)
        x0, top = A4_MM[0] - self._left - 28.0, A4_MM[1] - self._left - 2
        for r, first, end in qr_bars(rows):
            at = ((x0 + first * module) * MM, (top - (r + 1) * module) * MM)
            self._canvas.rect(*at, (end - first) * module * MM, module * MM, stroke=0, fill=1)

    def _legend(self, roles: set[Role]) -> None:
        x = self._left + LEFT_MM
        for role in OF_ROLE:
            if role in roles:
                _look(self._canvas, role, "", self._paper)
                self._canvas.line(x * MM, (self._y + 1) * MM, (x + 18) * MM, (self._y + 1) * MM)
                self._canvas.setFont("Helvetica", 9)
                self._canvas.drawString((x + 21) * MM, self._y * MM, _look_of(role, self._paper).says)
                self._y -= 5
        self._canvas.setFont("Helvetica", 9)
        self._canvas.drawString(
            x * MM,
            self._y * MM,
            "Beside each fold stand its way and its angle: back goes away from you, forward comes towards you.",
        )
        self._y -= 6

    def _map(self, strokes: Sequence[Stroke]) -> None:
        """Draw the whole drawing small, with the pages over it; a long one in strips below each other."""
        pages = self._pages
        step = (pages.window_mm[0] - pages.overlap_mm, pages.window_mm[1] - pages.overlap_mm)
        high = step[1] * pages.rows + pages.overlap_mm
        room = (A4_MM[0] - 2 * self._left - LEFT_MM, self._y - self._left - BELOW_MM - 4)

        def scale(strips: int) -> float:
            across = step[0] * -(-pages.columns // strips) + pages.overlap_mm
            return min(room[0] / across, (room[1] / strips - _STRIP_GAP_MM) / high, 1.0)

        strips = max(range(1, pages.columns + 1), key=scale) if pages.columns > _LONGEST_STRIP else 1
        each = -(-pages.columns // strips)
        for strip in range(-(-pages.columns // each)):
            tiles = [t for t in pages.tiles if strip * each <= t.column < (strip + 1) * each]
            top = self._y - strip * (high * scale(strips) + _STRIP_GAP_MM)
            self._strip(strokes, tiles, top, scale(strips))

    def _strip(self, strokes: Sequence[Stroke], tiles: Sequence[Tile], top: float, scale: float) -> None:
        canvas, pages = self._canvas, self._pages
        half, first = pages.overlap_mm / 2, tiles[0]
        x0 = self._left + LEFT_MM
        y0 = top - (max(t.y_mm for t in tiles) - first.y_mm + pages.window_mm[1]) * scale
        origin = (first.x_mm - x0 / scale, first.y_mm - y0 / scale)
        boxes = []
        for tile in tiles:
            low = (tile.x_mm + half * (tile.column > 0), tile.y_mm + half * (tile.row > 0))
            high = (
                tile.x_mm + pages.window_mm[0] - half * (tile.column + 1 < pages.columns),
                tile.y_mm + pages.window_mm[1] - half * (tile.row + 1 < pages.rows),
            )
            boxes.append([(v - o) * scale * MM for point in (low, high) for v, o in zip(point, origin, strict=True)])
        canvas.saveState()
        window = canvas.beginPath()
        for x_low, y_low, x_high, y_high in boxes:
            window.rect(x_low, y_low, x_high - x_low, y_high - y_low)
        canvas.clipPath(window, stroke=0, fill=0)
        for stroke in strokes:
            if stroke.name != _LETTERS:
                _look(canvas, stroke.role, _LETTERS, self._paper, 0.4)
                _stroke(canvas, stroke, origin, scale * MM)
        canvas.restoreState()
        self._page_boxes(tiles, boxes)

    def _page_boxes(self, tiles: Sequence[Tile], boxes: Sequence[Sequence[float]]) -> None:
        """Draw the pages' edges, and the names of those that are there."""
        from reportlab.lib.colors import HexColor

        canvas = self._canvas
        canvas.setStrokeColor(HexColor(GREY))
        canvas.setLineWidth(0.15 * MM)
        canvas.setDash([0.5 * MM, 0.5 * MM])
        used = {t.name for t in self._used}
        for tile, (left, low, right, high) in zip(tiles, boxes, strict=True):
            canvas.rect(left, low, right - left, high - low, stroke=1, fill=0)
            if tile.name in used:
                size = max(4.0, min(10.0, 0.4 * (right - left)))
                canvas.setFont("Helvetica-Bold", size)
                canvas.drawCentredString((left + right) / 2, (low + high - 0.7 * size) / 2, tile.name)
