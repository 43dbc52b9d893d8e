"""A piece laid flat in the right-handed run frame, with everything that is drawn on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from cutpath.folding.gap import Ends
from cutpath.folding.sheet import HingedSheet
from cutpath.folding.space import Array, Folded
from cutpath.values.pattern import Fold, FoldUse, Mark, PartKind, Point, Station
from cutpath.values.piece import Piece
from cutpath.values.survey import Hand


@dataclass(frozen=True, slots=True)
class Flat:
    """What lies on a piece, in mm from the origin of its run; a left hand is seen in a mirror.

    Attributes
    ----------
    ring : array
        The outline (n x 2), counter-clockwise.
    folds : tuple of (Fold, array)
        Folds of the pattern and their ends (2 x 2), the end at the lower x first, or the lower one of a plumb fold.
    parts : mapping of Fold to array
        Corners (n x 2) of the part that hangs on that fold; on None, the still one.
    faces : sequence of Folded
        The same parts folded up.
    marks, stations : tuples of (Mark, array) and (Station, array)
    ends : Ends
        Which ends of the run the piece holds.
    """

    piece: Piece
    ring: Array
    folds: tuple[tuple[Fold, Array], ...]
    parts: Mapping[Fold | None, Array]
    faces: Sequence[Folded]
    marks: tuple[tuple[Mark, Array], ...]
    stations: tuple[tuple[Station, Array], ...]
    ends: Ends

    @property
    def part(self) -> PartKind:
        """What the pattern is of its detail."""
        return self.piece.pattern.part

    @property
    def steps(self) -> set[int | None]:
        """The numbers of the joints into which its steps turn."""
        return {fold.joint for fold, _ in self.folds if fold.use is FoldUse.STEP_TURN_IN}

    def step(self, number: int) -> tuple[Fold, Array] | None:
        """Return the fold of a step in a joint and its ends; None where there is none."""
        return next((both for both in self.folds if _is_step(both[0], number)), None)

    @property
    def corners(self) -> Array:
        """Every point at which something is cut, folded or marked."""
        pattern, move = self.piece.pattern, to_run(self.piece)
        inner = [point for cut in (*(snip.points for snip in pattern.snips), *pattern.holes) for point in cut]
        drawn = [self.ring, *(ends for _, ends in self.folds), *(points for _, points in self.marks)]
        return np.vstack([*drawn, carried(inner, move)])


def _is_step(fold: Fold, number: int) -> bool:
    return fold.use is FoldUse.STEP_TURN_IN and fold.joint == number


def lay_flat(piece: Piece, sheet: HingedSheet, faces: Sequence[Folded], ends: Ends) -> Flat:
    """Carry a piece into its run frame."""
    move, pattern = to_run(piece), piece.pattern

    def ordered(start: Point, end: Point) -> Array:
        points = carried((start, end), move)
        return points[np.lexsort((points[:, 1], np.round(points[:, 0], 6)))]

    return Flat(
        piece=piece,
        ring=ring(pattern.outline, piece),
        folds=tuple((fold, ordered(fold.start, fold.end)) for fold in pattern.folds),
        parts={face.fold: ring(sheet.faces[face.index].exterior.coords[:-1], piece) for face in faces},
        faces=faces,
        marks=tuple((mark, carried(mark.points, move)) for mark in pattern.marks),
        stations=tuple((station, carried((station.at,), move)[0]) for station in pattern.stations),
        ends=ends,
    )


def to_run(piece: Piece) -> Array:
    """Carry the pattern frame into the right-handed run frame; a left-hand piece is seen in a mirror.

    Which hand it is, is what the piece was ordered as, not what the pattern says of itself; only the two gussets of
    a piece without a hand are told apart by their patterns.
    """
    pattern = piece.pattern
    move = np.eye(4)
    move[:2, 3] = pattern.run_offset
    if is_left(piece):
        move[0, 0] = -1.0
        move[0, 3] += max(x for x, _ in pattern.outline)
    return move


def is_left(piece: Piece) -> bool:
    """Tell whether a piece is to be seen in a mirror."""
    return piece.pattern.mirrored if piece.hand is None else piece.hand is Hand.LEFT


def ring(points: Sequence[Sequence[float]], piece: Piece) -> Array:
    """Carry a ring into the run frame, counter-clockwise as it was."""
    placed = carried(points, to_run(piece))
    return placed[::-1] if is_left(piece) else placed


def carried(points: Sequence[Sequence[float]], move: Array) -> Array:
    """Carry points of the flat by a 4 x 4 matrix."""
    placed: Array = np.array(points, dtype=float).reshape(-1, 2) @ move[:2, :2].T + move[:2, 3]
    return placed
