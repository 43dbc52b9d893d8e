"""A square of modules that a telephone reads, for tickets only: never on lead."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import groupby

from cutpath.paper.markup import element, number, svg

QUIET = 4
"""Modules of clear border round a square (ISO/IEC 18004; from memory, unverified)."""


@lru_cache(maxsize=512)  # ticket, label and cover bear the same text; choosing the mask of one takes milliseconds
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


def qr_bars(rows: Sequence[Sequence[bool]]) -> Iterator[tuple[int, int, int]]:
    """Yield dark modules that lie side by side as one bar: row, first column, and the column after its last.

    Drawn one by one, renderers leave hairlines between them, and files are twice as long.
    """
    for r, row in enumerate(rows):
        for dark, columns in groupby(range(len(row)), row.__getitem__):
            if dark:
                side_by_side = list(columns)
                yield r, side_by_side[0], side_by_side[-1] + 1


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
        f"M{at[first]} {at[r]}L{at[end]} {at[r]}L{at[end]} {at[r + 1]}L{at[first]} {at[r + 1]}Z"
        for r, first, end in qr_bars(rows)
    ]
    ground = element("rect", width=size_mm, height=size_mm, fill="#fff")
    modules = element("path", d="".join(contours), fill="#000", shape_rendering="crispEdges")
    return svg(size_mm, size_mm, ground, modules, title=text)
