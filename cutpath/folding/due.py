"""What must be drawn on a piece: marks and setting-out points, each by what it is and where."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from cutpath.folding.flat import Flat, reach_mm
from cutpath.folding.space import Array
from cutpath.values.pattern import FoldUse, Mark, MarkKind, MarkUse, Side, StationKey, StationUse


@dataclass(frozen=True, slots=True)
class DueMark:
    """A mark that must be there (or may, where ``needed`` is not set): its kind and points, and what tells it apart."""

    kind: MarkKind
    points: Array
    use: MarkUse | None = None
    side: Side | None = None
    needed: bool = True

    def is_of(self, mark: Mark) -> bool:
        """Tell whether it is the line of a mark, which may stand for the ends of both neighbours."""
        both = mark.use is MarkUse.BOTH_LENGTHS and self.use in {MarkUse.LENGTH_BELOW, MarkUse.LENGTH_ABOVE}
        return self.kind is mark.kind and self.side is mark.side and (both or self.use is mark.use)

    @property
    def words(self) -> str:
        """What it is, for a message."""
        side = f", {self.side.value}" if self.side else ""
        return f"{self.use.value if self.use else self.kind.value}{side}"


Points = Iterator[tuple[StationKey, Sequence[float] | Array]]
"""Setting-out points: what each is, and its place in the run frame."""


def key(
    use: StationUse, fold: FoldUse | None = None, number: int | None = None, side: Side | None = None
) -> StationKey:
    """Return what a setting-out point is: its use, the fold that it is on, its number, its side."""
    return use, fold, number, side


def fold_ends(flat: Flat, *uses: FoldUse, side: Side | None = None) -> Array:
    """Return the ends of the folds of these uses, as though they were one; none: they lie nowhere."""
    ends = [points for fold, points in flat.folds if fold.use in uses and fold.side is side]
    if not ends:
        return np.full((2, 2), math.inf)
    both = np.vstack(ends)
    both = both[np.lexsort((both[:, 1], np.round(both[:, 0], 6)))]
    return both[[0, -1]]


def both_ends(flat: Flat, use: FoldUse) -> Points:
    """Return both ends of a fold that must be there."""
    start, end = fold_ends(flat, use)
    yield key(StationUse.START, use), start
    yield key(StationUse.END, use), end


def turned_in(flat: Flat) -> Points:
    """Return both ends of a turn-in, its returns included."""
    start, end = fold_ends(flat, FoldUse.TURN_IN, FoldUse.RETURN_TURN_IN)
    yield key(StationUse.START, FoldUse.TURN_IN), start
    yield key(StationUse.END, FoldUse.TURN_IN), end


def of_folds(flat: Flat, use: FoldUse, ends: tuple[StationUse, ...] = (StationUse.START, StationUse.END)) -> Points:
    """Return the ends of all folds of one use, on either side."""
    for fold, (start, end) in flat.folds:
        if fold.use is use:
            for which in ends:
                yield key(which, use, side=fold.side), start if which is StationUse.START else end


def open_edge(flat: Flat, level: float) -> Points:
    """Return both ends of the free edge at a level of the run frame."""
    yield key(StationUse.OPEN_EDGE_START), edge_at(flat, level, -1)
    yield key(StationUse.OPEN_EDGE_END), edge_at(flat, level, 1)


def edge_at(flat: Flat, level: float, side: int) -> tuple[float, float]:
    """Return the greatest (side 1) or least (side -1) point of a piece at a level of the run frame."""
    return reach_mm(flat.ring, level, side), level


def arrises(width_mm: float, flat: Flat) -> list[tuple[Side, float, float]]:
    """Return side, place and outward way of the arrises that a piece goes round."""
    sides = [(Side.LEFT, 0.0, -1.0, flat.ends[0]), (Side.RIGHT, width_mm, 1.0, flat.ends[1])]
    return [(side, x, out) for side, x, out, there in sides if there]
