"""What a run may write beside its report and its tickets."""

from __future__ import annotations

from enum import StrEnum


class Format(StrEnum):
    """Files that are written only where they are asked for.

    CSV: the lists, and the yield as a table. JSON: the yield as data. PDF: the pack list, a page to each customer. The
    others: one drawing of each roll.
    """

    CSV = "csv"
    JSON = "json"
    PDF = "pdf"
    DXF = "dxf"
    DXF_R12 = "dxf-r12"
    SVG = "svg"


ALL_FORMATS = frozenset(Format)
