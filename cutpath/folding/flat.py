"""A piece laid flat in the right-handed run frame, with everything that is drawn on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from shapely import Polygon, hausdorff_distance
from shapely.geometry.base import BaseGeometry

from cutpath.folding.gap import Ends, Gap
from cutpath.folding.sheet import HingedSheet
from cutpath.folding.space import Array, Folded
from cutpath.tolerances import AREA_MM2, FOLD_DEVIATION_MM
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

    def ends_or(self, left: float, right: float) -> tuple[float, float]:
        """Return the ends of a length: of the run where it holds them, else its own, which are proved as laps."""
        low, high = float(self.ring[:, 0].min()), float(self.ring[:, 0].max())
        return left if self.ends[0] else low, right if self.ends[1] else high

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


def reach_mm(ring: Array, level: float, side: int) -> float:
    """Return where a ring ends at a height, on its greatest (side 1) or least (side -1) x."""
    found = []
    level = min(max(level, float(ring[:, 1].min())), float(ring[:, 1].max()))
    for (x0, y0), (x1, y1) in pairwise(np.vstack([ring, ring[:1]]).tolist()):
        low, high = min(y0, y1), max(y0, y1)
        if low - FOLD_DEVIATION_MM <= level <= high + FOLD_DEVIATION_MM:
            share = np.clip((level - y0) / (y1 - y0), 0.0, 1.0) if high - low > FOLD_DEVIATION_MM else 0.0
            found += [x0 + (x1 - x0) * share] if high - low > FOLD_DEVIATION_MM else [x0, x1]
    return float(max(x * side for x in found) * side)


def misfit(flat: Flat, wanted: BaseGeometry, what: str) -> Gap:
    """Hold the outline of a piece to a shape of the run frame; the size is what they are apart by."""
    sheet = Polygon(flat.ring)
    if sheet.symmetric_difference(wanted).area <= AREA_MM2:
        return Gap(0.0, what)
    return Gap(float(hausdorff_distance(sheet.boundary, wanted.boundary)), what)
