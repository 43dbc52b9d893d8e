"""The only place with ceilings on what is read, each with its reason.

They stand far over any job of a shop, and far under what would keep a machine busy for minutes or fill its memory.
What jobs come to in pieces and in lead is held by the ranges of ``profiles/plausible``, and sizes likewise.
"""

from __future__ import annotations

MB = 1_000_000

TEXT_BYTES = 8 * MB
"""Of a job, a list of rolls, a practice, a machine: the largest that came from a shop had a hundredth of it."""

PIECES_BYTES = 256 * MB
"""Of pieces or a nest as JSON: 20,000 pieces with all their lines take a tenth of it."""

MANIFEST_BYTES = 64 * MB
"""Of a run's manifest: 5,000 pieces with their places take a twentieth of it."""

DRAWING_BYTES = 16 * MB
"""Of a DXF drawing: the reader builds some 50 times as much in memory."""

DRAWING_ENTITIES = 20_000
"""Lines, arcs, polylines and their vertices in a DXF drawing, blocks and all: the reader takes some 5 s for these."""

BINARY_DRAWING_BYTES = 2 * MB
"""Of a DXF drawing in binary, whose entities cannot be counted beforehand."""

SHEET_UNPACKED_BYTES = 16 * MB
"""Of an XLSX workbook, all its parts together: a full order sheet takes a fifth of it."""

SHEET_ROWS = 2_000
"""Rows of one order sheet: with hundreds of jobs it is more than a shop cuts in a week."""

SHEET_COLUMNS = 100
"""Columns of an order sheet that are looked at; there are some 30, and a shop's own beside them."""

DETAILS = 500
"""Tables in one job: a street of houses."""

OUTLINE_POINTS = 5_000
"""Corners of one plain shape, its holes and its cuts: what is compared point by point grows with their square."""

OUTLINE_MEETINGS = 10_000
"""Places where cuts and folds of one plain shape meet: each makes a part of the sheet; these take 2 s."""

FARTHEST_MM = 1_000_000.0
"""Of every size and place that a value holds: a kilometre. Beyond it points are no longer told apart finely enough."""

LARGEST_MM = 100_000.0
"""Of a size in a file or an option: the longest roll that a list may hold."""

SEARCH_S = 86_400.0
"""Of a search: a day."""

STAGE_S = 1800.0
"""Of one stage of the work without a word on how far it is: the longest of a week's 5,000 pieces takes a hundredth."""

FAULTS = 1_000
"""Of one table and all inside it: nobody reads more in one go, and to word each takes half a millisecond."""

DEEPEST = 30
"""Tables and lists inside each other: four levels are enough for every file that is read here."""


def bytes_text(count: int) -> str:
    """Return a size of a file as a person reads it: ``8 MB``."""
    return f"{count / MB:.3g} MB"
