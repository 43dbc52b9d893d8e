"""What a run may write beside its report and its tickets."""

from __future__ import annotations

from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class LabelSheets:
    """The grid of stick-on labels, none where it is empty: one to a piece, or to all alike in a pack, and to a pack."""

    grid: str = ""
    one_to_a_pack: bool = False


NO_LABELS = LabelSheets()
