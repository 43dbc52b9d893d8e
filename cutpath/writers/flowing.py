"""Pages of A4 that words and tables flow over, one paragraph after another, by reportlab's own layout."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from cutpath.writers.pdf import MM
from cutpath.writers.pdf_frame import about, font_for

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

_PAGE_MM = (210.0, 297.0)
TEXT_PT, SMALL_PT = 9.5, 8.0


def pages(flowables: Sequence[Flowable], title: str, margin_mm: float) -> bytes:
    """Return a PDF; the same flowables always give the same bytes."""
    from reportlab.platypus import SimpleDocTemplate

    out, margin = io.BytesIO(), margin_mm * MM
    paper = SimpleDocTemplate(
        out,
        pagesize=(_PAGE_MM[0] * MM, _PAGE_MM[1] * MM),
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=margin,
        **about(title),
    )
    paper.build(list(flowables))
    return out.getvalue()


def words(text: str, size_pt: float = TEXT_PT, *, bold: bool = False, after_mm: float = 0.6) -> Flowable:
    """Return a paragraph; ``after_mm`` is the space below it."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    font = font_for(text, bold=bold)
    style = ParagraphStyle(font, fontName=font, fontSize=size_pt, leading=size_pt * 1.25, spaceAfter=after_mm * MM)
    return Paragraph(escape(text), style)
