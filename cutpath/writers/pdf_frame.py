"""What every PDF has alike: letters for any name of Europe, its title and its language.

What it cannot have: tags for headings and tables. The library that writes it has none, so a reader for the blind gets
the words in the order in which they were drawn; the report and the tickets in HTML have headings, captions and tables.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib.resources import as_file, files
from typing import IO, TYPE_CHECKING, Any

from cutpath.errors import Finding, Severity
from cutpath.values.survey import Job

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

LANGUAGE, _BY = "en-GB", "cutpath"
_PLAIN, _BOLD = "Helvetica", "Helvetica-Bold"
_OWN = {_PLAIN: "DejaVuSans", _BOLD: "DejaVuSans-Bold"}
"""The fonts for names that the plain ones cannot write, which every reader of PDF has: they have Latin-1 alone."""


def font_for(text: str, *, bold: bool = False) -> str:
    """Return the name of a font that has the letters of a text.

    It is Helvetica, which need not be put into the file, unless a letter stands outside Windows-1252; then DejaVu Sans,
    of which the letters used are put in. It has Latin, Greek and Cyrillic letters; any other shows as an empty box.
    """
    plain = _BOLD if bold else _PLAIN
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return _registered(_OWN[plain])
    return plain


def letters_lacking(text: str) -> str:
    """Return the letters of a text that no font of ours has, each once, in their order; a PDF shows them as boxes."""
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        from reportlab.pdfbase.pdfmetrics import getFont

        known = getFont(_registered(_OWN[_PLAIN])).face.charToGlyph
        return "".join(dict.fromkeys(letter for letter in text if not letter.isspace() and ord(letter) not in known))
    return ""


def letter_findings(jobs: Iterable[Job]) -> tuple[Finding, ...]:
    """Warn of each job whose name, customer, site, order or day no PDF can write."""
    found = []
    for job in jobs:
        lacking = letters_lacking(" ".join((job.name, job.customer, job.site, job.order, job.due)))
        if lacking:
            found.append(
                Finding(
                    "CP613",
                    job.file,
                    f"in {job.name} the letters {' '.join(lacking)} are missing from the font of PDF files, which show "
                    "empty boxes in their place",
                    "Latin, Greek and Cyrillic letters",
                    "Print report.html and tickets.html, which show all letters, or add the name in Latin letters.",
                    Severity.WARNING,
                )
            )
    return tuple(found)


@cache
def _registered(name: str) -> str:
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    with as_file(files("cutpath") / "writers" / "letters" / f"{name}.ttf") as file:
        registerFont(TTFont(name, str(file)))
    return name


def canvas_on(out: IO[bytes], title: str, pagesize: tuple[float, float] | None = None) -> Canvas:
    """Return a canvas whose document says its title and language, and is the same bytes whenever it is written."""
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(out, invariant=1, pageCompression=1, lang=LANGUAGE, pagesize=pagesize)
    canvas.setTitle(title)
    canvas.setAuthor(_BY)
    canvas.setCreator(_BY)
    canvas.setViewerPreference("DisplayDocTitle", "true")
    return canvas


def about(title: str) -> dict[str, Any]:
    """Return the same for a document that the library lays out by itself."""
    return {
        "title": title,
        "author": _BY,
        "creator": _BY,
        "lang": LANGUAGE,
        "displayDocTitle": True,
        "invariant": 1,
    }
