"""How many wedges and clips hold a piece, and what of its lead moves with warmth, by the rules of the practice.

Terminology
-----------
Turn-in: the fold, one to each face, by which lead enters a joint or chase; wedges of lead hold it there until the
joint is pointed.
Free edge: an edge that lies open on the roof; clips under it keep the wind from lifting it.
Two sources speak of wedges. The building specification asks for one at each change of direction, none farther apart
than its spacing, and no fewer than two to a piece; the fitting guide asks for one at every step. Each step is a
stretch of its own and is counted by both; straight runs are counted by the specification.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from itertools import pairwise

from cutpath.plane import distance_mm
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import Practice
from cutpath.values.pattern import FlatPattern, Fold, Point

CLIPPED_EDGES = frozenset({"cover edge"})
"""Edges that lie open on the roof, whatever the family."""

HANGING = frozenset({"cover flashing"})
"""Families whose free edge hangs open over an upstand."""

_STEP_TURN_IN = re.compile(r"turn-in \d+")


def turn_ins(pattern: FlatPattern) -> tuple[Fold, ...]:
    """Give the folds by which a piece enters joints or chases."""
    return tuple(fold for fold in pattern.folds if "turn-in" in fold.name)


def is_step(fold: Fold) -> bool:
    """Tell whether a turn-in is that of one step, in a joint of its own."""
    return _STEP_TURN_IN.fullmatch(fold.name) is not None


def wedges(pattern: FlatPattern, practice: Practice) -> int:
    """Give how many wedges hold one piece, 0 where nothing turns in.

    Parameters
    ----------
    pattern : FlatPattern
    practice : mapping of str to Fact

    Returns
    -------
    int
        One to each step, more where its fold is longer than the spacing; along straight runs one near each end,
        at each arris and between them by the spacing; no fewer than the least to a piece.

    Notes
    -----
    Sources: H71 cl. 770 (spacing, changes of direction, least to a piece); a published fitting guide (every step).
    """
    spacing, each = practice["wedge_spacing"].value, practice["wedges_a_step"].value
    folds = turn_ins(pattern)
    if not folds:
        return 0
    steps = [max(math.ceil(each), _spaces(_long(fold), spacing)) for fold in folds if is_step(fold)]
    runs = [_spaces(_long(fold), spacing) for fold in folds if not is_step(fold)]
    # A run beside steps begins at their arris, where the first step's wedge is; alone, it has one more than spaces.
    straight = sum(runs) + (1 if runs and not steps else 0)
    return max(sum(steps) + straight, math.ceil(practice["wedges_a_piece"].value))


def clips(edge_mm: float, practice: Practice) -> int:
    """Give how many clips hold one free edge: one near each end, the rest no farther apart than the greatest spacing.

    Notes
    -----
    Source: a published fitting guide.
    """
    return _spaces(edge_mm, practice["clip_spacing_most"].value) + 1 if edge_mm > POINT_MM else 0


def free_edges_mm(pattern: FlatPattern) -> tuple[float, ...]:
    """Give the length of each edge of a piece that wants clips: covers on the roof, and what hangs over an upstand."""
    ring = pairwise((*pattern.outline, pattern.outline[0]))
    named = [(name, distance_mm(a, b)) for name, (a, b) in zip(pattern.edges, ring, strict=True)]
    hanging = pattern.family in HANGING
    return tuple(length for name, length in named if name in CLIPPED_EDGES or (hanging and name == "free edge"))


def joint_mm(pieces: Iterable[tuple[FlatPattern, float]]) -> float:
    """Give the length of joint or chase that the turn-ins of one run fill, laps counted once.

    Parameters
    ----------
    pieces : iterable of (FlatPattern, float)
        The lengths of one run and one hand, each with its extent along x, by which a left hand is mirrored back.

    Returns
    -------
    float
        mm, to be raked out before and pointed after.
    """
    lines: dict[tuple[float, float], list[tuple[float, float]]] = {}
    for pattern, extent_mm in pieces:
        for fold in turn_ins(pattern):
            a, b = (_in_run(pattern, extent_mm, point) for point in (fold.start, fold.end))
            size = distance_mm(a, b)
            if size <= POINT_MM:
                continue
            ux, uy = (b[0] - a[0]) / size, (b[1] - a[1]) / size
            if (ux, uy) < (-ux, -uy):
                ux, uy = -ux, -uy
            ends = sorted(x * ux + y * uy for x, y in (a, b))
            key = (round(math.degrees(math.atan2(uy, ux)), 4) + 0.0, round(a[1] * ux - a[0] * uy, 3) + 0.0)
            lines.setdefault(key, []).append((ends[0], ends[1]))
    return sum(_covered(stretches) for stretches in lines.values())


def _covered(stretches: list[tuple[float, float]]) -> float:
    total, reach = 0.0, -math.inf
    for start, end in sorted(stretches):
        total += max(0.0, end - max(start, reach))
        reach = max(reach, end)
    return total


def _in_run(pattern: FlatPattern, extent_mm: float, point: Point) -> Point:
    """Carry a point back into the right-handed frame that the lengths of a run share."""
    x = extent_mm - point[0] if pattern.mirrored else point[0]
    return (x + pattern.run_offset[0], point[1] + pattern.run_offset[1])


def _long(fold: Fold) -> float:
    return distance_mm(fold.start, fold.end)


def _spaces(length_mm: float, spacing_mm: float) -> int:
    return max(1, math.ceil(length_mm / spacing_mm - POINT_MM))
