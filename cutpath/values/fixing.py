"""What holds a piece on the roof, and where."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cutpath.values.pattern import Edge, Fold, Point


class FixingKind(StrEnum):
    """A wedge holds a turn-in in its joint, a clip a free edge, a nail the head of a length."""

    WEDGE = "wedge"
    CLIP = "clip"
    NAIL = "nail"


@dataclass(frozen=True, slots=True)
class Fixing:
    """One fixing: ``at`` its place in the pattern frame, ``on`` a fold or edge.

    ``rule`` names the figure of the practice that puts it there.
    """

    kind: FixingKind
    at: Point
    on: Fold | Edge
    rule: str
