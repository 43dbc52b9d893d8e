"""A square of modules that a telephone reads, for tickets only: never on lead."""

from __future__ import annotations

from cutpath.paper.markup import element, number, svg

QUIET = 4
"""Modules of clear border round a square (ISO/IEC 18004; from memory, unverified)."""


def qr_rows(text: str) -> tuple[tuple[bool, ...], ...]:
    """Return the modules of a QR code of ``text``, True for dark, row by row from the top, without the clear border.

    Error correction M.

    Raises
    ------
    ValueError
        When the text is empty, or too long for one code.
    """
    import segno

    try:
        code = segno.make_qr(text, error="m", boost_error=False)
    except segno.DataOverflowError as error:
        raise ValueError(f"{len(text)} characters are too long for one code") from error
    return tuple(tuple(bool(module) for module in row) for row in code.matrix)


def qr_svg(text: str, size_mm: float) -> str:
    """Return the square as a picture of ``size_mm``, its clear border included.

    Raises
    ------
    ValueError
        As `qr_rows`.
    """
    rows = qr_rows(text)
    module = size_mm / (len(rows) + 2 * QUIET)
    at = [number(module * (k + QUIET)) for k in range(len(rows) + 1)]
    contours = [
        f"M{at[c]} {at[r]}L{at[c + 1]} {at[r]}L{at[c + 1]} {at[r + 1]}L{at[c]} {at[r + 1]}Z"
        for r, row in enumerate(rows)
        for c, dark in enumerate(row)
        if dark
    ]
    ground = element("rect", width=size_mm, height=size_mm, fill="#fff")
    modules = element("path", d="".join(contours), fill="#000", shape_rendering="crispEdges")
    return svg(size_mm, size_mm, ground, modules, title=text)
