"""The set-up sheet as one page of PDF, A4, with a small picture of the sheet and its frames."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from cutpath.values.looks import BLACK, BLUE, GREY, VERMILION
from cutpath.values.pattern import Point
from cutpath.writers.pages import A4_MM
from cutpath.writers.pdf import MM
from cutpath.writers.pdf_frame import canvas_on, font_for
from cutpath.writers.set_up import Block, Picture, SetUp

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_MARGIN_MM = 15.0
_ROOM_MM = A4_MM[0] - 2 * _MARGIN_MM
_PICTURE_MM = 62.0  # height at most
_MOST_FILES = 16
_TEXT_PT, _HEAD_PT, _TITLE_PT = 8.5, 10.0, 15.0
_LARGER = (1.3, 1.2, 1.1, 1.0)
"""By how much letters are larger than the least, as the page has room: they are read at arm's length."""


def set_up_page(made: SetUp) -> bytes:
    """Write a set-up sheet as one page; the same input always gives the same bytes."""
    for larger in _LARGER:
        out = io.BytesIO()
        canvas = canvas_on(out, made.title, pagesize=(A4_MM[0] * MM, A4_MM[1] * MM))
        if _Page(canvas, larger).draw(made) >= _MARGIN_MM:
            break
    canvas.showPage()
    canvas.save()
    return out.getvalue()


class _Page:
    """Lays blocks below each other, in letters that are larger by a factor than the least."""

    def __init__(self, canvas: Canvas, larger: float) -> None:
        self._canvas = canvas
        self._larger = larger
        self._y = A4_MM[1] - _MARGIN_MM - 5

    def draw(self, made: SetUp) -> float:
        """Draw the sheet, and return the level in mm of its lower end."""
        self._words(made.title, _TITLE_PT, bold=True)
        self._y -= 2
        for block in made.blocks:
            self._block(block)
        if made.picture is not None:
            self._picture(made.picture)
        self._block(_shortened(made.files))
        self._block(Block("Take care", made.cautions))
        return self._y

    def _block(self, block: Block) -> None:
        self._words(block.heading, _HEAD_PT, bold=True)
        for line in block.lines:
            self._words(line, _TEXT_PT, indent=3.0)
        self._y -= 2

    def _words(self, text: str, size: float, *, bold: bool = False, indent: float = 0.0) -> None:
        from reportlab.lib.utils import simpleSplit

        font = font_for(text, bold=bold)
        size *= self._larger
        self._canvas.setFont(font, size)
        for line in simpleSplit(text, font, size, (_ROOM_MM - indent) * MM):
            self._canvas.drawString((_MARGIN_MM + indent) * MM, self._y * MM, line)
            self._y -= size * 0.44
        self._y -= 0.6

    def _picture(self, picture: Picture) -> None:
        """Draw the sheet with its free end to the left, its pieces, and the frames in which it is worked."""
        from reportlab.lib.colors import HexColor

        canvas = self._canvas
        scale = min(_ROOM_MM / picture.length_mm, _PICTURE_MM / picture.width_mm)
        top = self._y - 4
        low = top - picture.width_mm * scale

        def at(point: Point) -> Point:
            return ((_MARGIN_MM + point[0] * scale) * MM, (low + point[1] * scale) * MM)

        canvas.setStrokeColor(HexColor(BLACK))
        canvas.setLineWidth(0.2 * MM)
        for outline in picture.outlines:
            path = canvas.beginPath()
            path.moveTo(*at(outline[0]))
            for point in outline[1:]:
                path.lineTo(*at(point))
            path.close()
            canvas.drawPath(path)
        canvas.setStrokeColor(HexColor(GREY))
        canvas.setLineWidth(0.4 * MM)
        canvas.rect(*at((0.0, 0.0)), picture.length_mm * scale * MM, picture.width_mm * scale * MM, stroke=1, fill=0)
        frames = picture.frames if len(picture.frames) > 1 else ()
        for k, frame in enumerate(frames):
            # Frames overlap: each is a bracket above the sheet, on one of two heights in turn.
            (x0, y), (x1, _) = at((frame.start_mm, picture.width_mm)), at((frame.end_mm, picture.width_mm))
            y += (1.5 + 1.8 * (k % 2)) * MM
            canvas.setStrokeColor(HexColor(BLUE))
            canvas.setLineWidth(0.3 * MM)
            canvas.line(x0, y, x1, y)
            for x in (x0, x1):
                canvas.line(x, y, x, at((0.0, picture.width_mm))[1])
            canvas.setFont("Helvetica-Bold", 7)
            canvas.drawCentredString((x0 + x1) / 2, y + 0.5 * MM, str(frame.number))
            canvas.setFont("Helvetica", 6)
            for x, across in frame.register:
                mark = at((x, across))
                canvas.drawString(mark[0] + 1 * MM, mark[1] + 0.8 * MM, str(frame.number))
                canvas.line(mark[0] - 1.5 * MM, mark[1], mark[0] + 1.5 * MM, mark[1])
                canvas.line(mark[0], mark[1] - 1.5 * MM, mark[0], mark[1] + 1.5 * MM)
        canvas.setFillColor(HexColor(VERMILION))
        canvas.circle(*at((0.0, 0.0)), 1.2 * MM, stroke=0, fill=1)
        canvas.setFillColor(HexColor(BLACK))
        self._y = low - 4
        of_frames = " Brackets: frames by number. Crosses: the marks to which the frame of that number is set."
        self._words(
            f"Dot: the sheet's corner at zero, at its free end.{of_frames if frames else ''} "
            f"{picture.length_mm:.0f} × {picture.width_mm:.0f} mm.",
            7.0,
        )
        self._y -= 3


def _shortened(files: Block) -> Block:
    if len(files.lines) <= _MOST_FILES:
        return files
    rest = len(files.lines) - _MOST_FILES
    return Block(
        files.heading, (*files.lines[:_MOST_FILES], f"and {rest} more, in the order of their names: see the text file.")
    )
