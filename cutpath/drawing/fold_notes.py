"""Which way and how far each fold goes, in words for paper.

Seen from above on the sheet: forward comes towards the viewer, back goes away. A piece that lies face down has its
folds the other way round.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping

from cutpath import sure
from cutpath.drawing.sheet import placer
from cutpath.values.batch import Sheet
from cutpath.values.drawing import Note
from cutpath.values.pattern import FlatPattern, Fold, Point
from cutpath.values.piece import Piece


def fold_words(fold: Fold, *, flipped: bool = False) -> str:
    """Say which way and how far a fold goes, such as ``back 90°``."""
    way = fold.way.turned if flipped else fold.way
    return f"{way.value} {round(fold.angle_deg, 1):g}°"


def fold_notes(sheet: Sheet, pieces: Mapping[str, Piece]) -> tuple[Note, ...]:
    """Return a note for every fold on a roll, where it lies there."""
    notes: list[Note] = []
    for placement in sheet.nested.placements:
        pattern = pieces[placement.id].pattern
        notes += pattern_notes(pattern, placer(placement), flipped=placement.flipped)
    return tuple(notes)


def pattern_notes(
    pattern: FlatPattern, place: Callable[[Point], Point] = lambda p: p, *, flipped: bool = False
) -> Iterable[Note]:
    """Return a note for every fold of a pattern, where ``place`` puts it."""
    for fold in pattern.folds:
        a, b = place(fold.start), place(fold.end)
        turn = math.degrees(sure.atan2(b[1] - a[1], b[0] - a[0]))
        upright = (turn + 90) % 180 - 90
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        yield Note(fold_words(fold, flipped=flipped), middle, upright, math.dist(a, b))
