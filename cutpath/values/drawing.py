"""A neutral drawing: strokes with roles, before any file format.

Sheet frame: mm, x along the roll, y across it and upwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cutpath.values.pattern import FoldWay, MarkKind, Point, Polyline

LETTERING = "lettering"
"""Name of every stroke that is part of a letter."""


class Role(StrEnum):
    """What a machine or a person does along a stroke; in the order of work.

    Squaring, kept and cross-cut are the shop's to decide: a machine runs them only where its profile says which head.
    """

    MARK = "mark"
    FOLD = "fold"
    INNER = "inner"  # holes and snips
    OUTER = "outer"
    SQUARING = "squaring"  # across the roll's raw end
    KEPT = "kept"  # offcuts to keep
    CROSS = "cross-cut"  # across the roll, where what is drawn ends
    REFERENCE = "reference"  # roll edge, check bar: not for the machine


@dataclass(frozen=True, slots=True)
class Stroke:
    """One polyline; ``closed`` by flag, the first point never repeated. ``piece`` is empty for sheet-wide strokes.

    ``tells`` says of a fold which way it goes on the sheet as it lies, and of a mark what it is.
    """

    role: Role
    points: Polyline
    closed: bool
    piece: str
    name: str
    tells: FoldWay | MarkKind | None = None


@dataclass(frozen=True, slots=True)
class Drawing:
    """Strokes on one sheet of ``length_mm`` (x) by ``width_mm`` (y), in the order in which they are to be run.

    ``unlettered`` are the pieces whose number stands neither on them nor beside them; ``roll`` is the number of the
    roll that is drawn, if one is.
    """

    title: str
    length_mm: float
    width_mm: float
    strokes: tuple[Stroke, ...]
    unlettered: tuple[str, ...] = ()
    roll: str = ""

    @property
    def place(self) -> str:
        """What findings call it: the number of its roll, else its title."""
        return self.roll or self.title


@dataclass(frozen=True, slots=True)
class Note:
    """Words beside a line, for paper only: ``at`` the middle of the line, ``turn_deg`` along it and readable.

    ``room_mm`` is the line's length; longer words are left out.
    """

    text: str
    at: Point
    turn_deg: float
    room_mm: float
