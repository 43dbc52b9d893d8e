"""Pages of A4 that words and tables flow over, one paragraph after another, by reportlab's own layout."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from cutpath.writers.pages import A4_MM
from cutpath.writers.pdf import MM
from cutpath.writers.pdf_frame import about, font_for

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

_NUMBER_MM = 10.0  # above the lower edge
TEXT_PT, SMALL_PT = 9.5, 8.0


def pages(flowables: Sequence[Flowable], title: str, margin_mm: float) -> bytes:
    """Return a PDF; the same flowables always give the same bytes."""
    from reportlab.platypus import SimpleDocTemplate

    out, margin = io.BytesIO(), margin_mm * MM
    paper = SimpleDocTemplate(
        out,
        pagesize=(A4_MM[0] * MM, A4_MM[1] * MM),
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=margin,
        **about(title),
    )
    paper.build(list(flowables), onFirstPage=_numbered, onLaterPages=_numbered)
    return out.getvalue()


def _numbered(canvas: Canvas, _paper: object) -> None:
    """Write a page's number below it, so that loose pages find their order."""
    canvas.setFont("Helvetica", SMALL_PT)
    canvas.drawCentredString(A4_MM[0] / 2 * MM, _NUMBER_MM * MM, f"page {canvas.getPageNumber()}")


def words(text: str, size_pt: float = TEXT_PT, *, bold: bool = False, after_mm: float = 0.6, to: str = "") -> Flowable:
    """Return a paragraph; ``after_mm`` is the space below it, ``to`` a place in a file beside it that it leads to."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    class Leading(Paragraph):  # type: ignore[misc] # the library's own links lead to whole addresses alone
        def draw(self) -> None:
            super().draw()
            self.canv.linkURL(f"./{to}", (0, 0, self.width, self.height), relative=1)

    font = font_for(text, bold=bold)
    style = ParagraphStyle(font, fontName=font, fontSize=size_pt, leading=size_pt * 1.25, spaceAfter=after_mm * MM)
    return (Leading if to else Paragraph)(escape(text), style)
