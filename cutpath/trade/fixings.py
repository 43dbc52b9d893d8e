"""How many wedges and clips hold a piece, and what else its making wants, by the rules of the practice.

Terminology
-----------
Turn-in: the fold, one to each face, by which lead enters a joint or chase; wedges of lead hold it there until the
joint is pointed.
Free edge: an edge that lies open, on the roof, on the length below, or hanging over an upstand; clips under it keep the
wind from lifting it. Which edges lie open is common practice, no source; edges under the covering and turned over
fillets are held by it.
Two rules speak of wedges. The building specification (work section H71) asks for one at each change of direction, none
farther apart than its spacing, and no fewer than two to a piece; common practice sets one at every step. Each step is
a stretch of its own and is counted by both; straight runs are counted by the specification.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from itertools import pairwise

from cutpath.plane import distance_mm
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import Practice
from cutpath.values.pattern import FlatPattern, Fold, MarkKind, Point

FREE_EDGES: dict[str, tuple[frozenset[str], str]] = {
    "cover flashing": (frozenset({"free edge"}), ""),
    "ridge saddle": (frozenset({"lower edge", "left edge", "right edge"}), "wall, left"),
    "valley gutter": (frozenset({"lower end"}), ""),
    "abutment gutter": (frozenset({"lower end"}), "wall"),
    "back gutter": (frozenset({"left end", "right end"}), "wall"),
}
"""Edges of a family that lie open beside `COVER_EDGE`, and the fold above which they stand on the wall instead."""

COVER_EDGE = "cover edge"
"""An edge that lies open on the roof, whatever the family."""

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
    Sources: work section H71 (spacing, changes of direction, least to a piece); common practice (every step).
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
    Source: common practice, no source.
    """
    return _spaces(edge_mm, practice["clip_spacing_most"].value) + 1 if edge_mm > POINT_MM else 0


def free_edges(pattern: FlatPattern) -> tuple[tuple[str, float], ...]:
    """Give name and length in mm of each edge of a piece that wants clips, as far as it does not stand on a wall.

    The ends of a back gutter that meet at a wood-cored roll are held by that and want none.
    """
    names, fold_name = FREE_EDGES.get(pattern.family, (frozenset(), ""))
    top = next((fold.start[1] for fold in pattern.folds if fold.name == fold_name), math.inf)
    if pattern.family == "back gutter":
        names = frozenset(f"{side} end" for side in ("left", "right") if _has_fold(pattern, f"{side} arris"))
    found = []
    for name, (a, b) in zip(pattern.edges, pairwise((*pattern.outline, pattern.outline[0])), strict=True):
        if name == COVER_EDGE or name in names:
            rise, low = abs(b[1] - a[1]), min(a[1], b[1])
            share = 1.0 if rise <= POINT_MM else max(0.0, min(1.0, (top - low) / rise))
            if share * distance_mm(a, b) > POINT_MM:
                found.append((name, share * distance_mm(a, b)))
    return tuple(found)


def _has_fold(pattern: FlatPattern, name: str) -> bool:
    return any(fold.name == name for fold in pattern.folds)


def weld_mm(pattern: FlatPattern) -> float:
    """Give the length of seam along which a piece is welded: a gusset, a sleeve, a notch at a change of pitch.

    The sheets round a gusset or a sleeve, and the other side of a notch, are not counted again.

    Notes
    -----
    Derived: its edges named as welds, and of a sleeve the edge of its own seam that lies over.
    """
    fitted_in = pattern.family in {"gusset", "sleeve"}
    ring = pairwise((*pattern.outline, pattern.outline[0]))
    return math.fsum(
        distance_mm(a, b)
        for name, (a, b) in zip(pattern.edges, ring, strict=True)
        if name in {"weld to the tongue", "seam, over"} or (fitted_in and "weld" in name)
    )


def roll_mm(pattern: FlatPattern) -> float:
    """Give the length of the core of a wood-cored roll, which the undercloak of a piece is formed over; 0 without.

    Notes
    -----
    Derived: the length of its mark; the overcloak lies over the same core.
    """
    marks = (m for m in pattern.marks if m.kind is MarkKind.ROLL and "undercloak" in m.name)
    return math.fsum(distance_mm(m.points[0], m.points[-1]) for m in marks)


def crests(pattern: FlatPattern) -> tuple[Fold, ...]:
    """Give the folds over the crests of tilting fillets."""
    return tuple(fold for fold in pattern.folds if fold.name.startswith("crest of the fillet"))


def run_mm(
    pieces: Iterable[tuple[FlatPattern, float]], chosen: Callable[[FlatPattern], tuple[Fold, ...]] = turn_ins
) -> float:
    """Give the length of joint, or of what else lies along chosen folds of one run, laps counted once.

    Parameters
    ----------
    pieces : iterable of (FlatPattern, float)
        The lengths of one run and one hand, each with its extent along x, by which a left hand is mirrored back.
    chosen : callable
        Gives the folds of a pattern that count; turn-ins, whose joint is raked out before and pointed after.
    """
    lines: dict[tuple[float, float], list[tuple[float, float]]] = {}
    for pattern, extent_mm in pieces:
        for fold in chosen(pattern):
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
