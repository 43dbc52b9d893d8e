"""The columns of an order sheet by the words of the trade, and the kinds of detail that a row may hold."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from cutpath.families.registry import by_kind

RECTANGLE = "rectangle"
KINDS = (RECTANGLE, "soakers", "cover flashing", "apron", "top-edge abutment", "lead slate")
"""Kinds that a few figures tell whole. Others need what no row holds, such as bed joints: they take a job file."""


class Holds(Enum):
    """What stands in the cells of a column."""

    TEXT = "text"
    WORD = "one of the words told"
    WHOLE = "a whole number"
    CODE = "a lead code"
    LENGTH = "a length: mm, or with its unit"
    ANGLE = "degrees, or rise to run as 7:12"
    HAND = "left, right or pair"
    DAY = "a date, or text"
    FOLDS = "distances across the width"
    HEADERS = "headers of this sheet"


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its header, the key of the job file that it fills, what its cells hold and mean.

    ``of_job`` tells that it speaks of the whole job, ``of_roof`` that it does so of the job's roof.
    """

    word: str
    key: str
    holds: Holds
    says: str
    of_job: bool = False
    of_roof: bool = False


COLUMNS = (
    Column("Customer", "customer", Holds.TEXT, "who it is for", of_job=True),
    Column("Order", "order", Holds.TEXT, "number or name of the order", of_job=True),
    Column("Job", "name", Holds.TEXT, "your own name for the job; customer and order if left out", of_job=True),
    Column("Site", "site", Holds.TEXT, "where it goes", of_job=True),
    Column("Wanted by", "due", Holds.DAY, "day it is wanted", of_job=True),
    Column("Kind", "kind", Holds.WORD, f"what it is: {', '.join(KINDS)}"),
    Column("Quantity", "quantity", Holds.WHOLE, "how many, of each hand where it has one; 1 if left out"),
    Column("Code", "code", Holds.CODE, "lead code; the usual one of its kind if left out"),
    Column("Length", "length", Holds.LENGTH, "along the wall, chase or slope; the longer side of a rectangle"),
    Column("Width", "width", Holds.LENGTH, "along the face of an apron, arris to arris; the other side of a rectangle"),
    Column(
        "Folds",
        "folds",
        Holds.FOLDS,
        "fold lines along the length of a rectangle, by their distances from one long edge: 25, 100. They go forward, "
        "to the face that you see; write back behind a distance for the other way: 25 back",
    ),
    Column("Hand", "hands", Holds.HAND, "which way the roof rises as you face the wall; a pair if left out"),
    Column("Pitch", "pitch", Holds.ANGLE, "pitch of the roof", of_job=True, of_roof=True),
    Column(
        "Covering",
        "covering",
        Holds.TEXT,
        "interlocking tile, plain tile 265, single-lap tile, slate 400, slate 500 or slate 600",
        of_job=True,
        of_roof=True,
    ),
    Column(
        "Exposure",
        "exposure",
        Holds.WORD,
        "sheltered, moderate or severe; moderate if left out",
        of_job=True,
        of_roof=True,
    ),
    Column("Upstand", "upstand", Holds.LENGTH, "up the wall or face"),
    Column("Cover", "cover", Holds.LENGTH, "down the roof; down over the upstand for a cover flashing"),
    Column("Turn in", "turn_in", Holds.LENGTH, "depth turned into the joint or chase"),
    Column("Past arris", "side", Holds.LENGTH, "of an apron past each arris; of a lead slate beside its hole"),
    Column("On roof", "roof", Holds.LENGTH, "of a soaker, under the covering"),
    Column("Headlap", "headlap", Holds.LENGTH, "headlap of the covering"),
    Column("Count", "count", Holds.WHOLE, "soakers to cut, in place of a length"),
    Column("Slope", "slope", Holds.ANGLE, "rake of a chase; level if left out"),
    Column("Returns", "returns", Holds.LENGTH, "of a cover flashing, round the arris at each end"),
    Column("Pipe", "pipe", Holds.LENGTH, "outside diameter of the pipe"),
    Column("Sleeve", "sleeve", Holds.LENGTH, "height of a lead slate's sleeve above the roof, on its upper side"),
    Column("Corners", "corners", Holds.WORD, "bossed or welded"),
    Column("Label", "label", Holds.TEXT, "short name on the pieces, 1 to 4 capitals and digits"),
    Column("Measured again", "confirmed", Holds.HEADERS, "headers whose size looks like a slip and is right: Length"),
    Column("Note", "notes", Holds.TEXT, "told with the whole job"),
)
"""Every column, in the order of the template."""

BY_WORD = {column.word.casefold(): column for column in COLUMNS}
BY_KEY = {column.key: column for column in COLUMNS}
ALWAYS = frozenset({"kind", "notes"}) | {column.key for column in COLUMNS if column.of_job}


def taken(kind: str) -> tuple[Column, ...]:
    """Return the columns that a row of a kind may fill."""
    if kind == RECTANGLE:
        keys = {"quantity", "code", "length", "width", "folds", "label", "confirmed"}
    else:
        keys = set(by_kind(kind).table.model_fields)
    return tuple(column for column in COLUMNS if column.key in keys | ALWAYS)
