"""Where wedges, clips and nails hold a piece, and what else its making wants, by the rules of the practice.

Terminology
-----------
Turn-in: the fold, one to each face, by which lead enters a joint or chase; wedges of lead hold it there until the
joint is pointed.
Free edge: an edge that lies open, on the roof, on the length below, or hanging over an upstand; clips under it keep the
wind from lifting it. Which edges lie open is common practice, no source; edges under the covering and turned over
fillets are held by it.
Head: the upper edge of a length that runs with the slope, under the next one or the covering; it is nailed, and the
rest is free to move. Gutters across the slope are held by their upstand and their fillet, soakers by what is turned
down over the slate or tile: neither is nailed.
Two rules speak of wedges. The building specification (work section H71) asks for one at each change of direction, none
farther apart than its spacing, and no fewer than two to a piece; common practice sets one at every step. Each step is
a stretch of its own and is counted by both; straight runs are counted by the specification.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from cutpath import sure
from cutpath.plane import distance_mm, same_point
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import Practice
from cutpath.values.fixing import Fixing, FixingKind
from cutpath.values.pattern import (
    LIES_OPEN,
    SEAMS,
    WELDS,
    Edge,
    EdgeUse,
    FlatPattern,
    Fold,
    FoldUse,
    MarkUse,
    PartKind,
    Point,
    Side,
    SnipUse,
)
from cutpath.values.piece import Piece

Segment = tuple[Point, Point]

BESIDE_THE_ROOF = frozenset({FoldUse.FILLET_FOOT, FoldUse.OUTER_EDGE, FoldUse.WALL})
"""Folds between which a head lies flat on the roof; all of it does without them."""


def turn_ins(pattern: FlatPattern) -> tuple[Fold, ...]:
    """Return the folds by which a piece enters joints or chases."""
    return tuple(fold for fold in pattern.folds if fold.is_turn_in)


def is_step(fold: Fold) -> bool:
    """Tell whether a turn-in is that of one step, in a joint of its own."""
    return fold.use is FoldUse.STEP_TURN_IN


def with_fixings(pieces: Iterable[Piece], practice: Practice) -> tuple[Piece, ...]:
    """Return the pieces with everything that holds them in its place."""
    return tuple(
        replace(p, fixings=(*wedges(p.pattern, practice), *clips(p.pattern, practice), *nails(p.pattern, practice)))
        for p in pieces
    )


def wedges(pattern: FlatPattern, practice: Practice) -> tuple[Fixing, ...]:
    """Place the wedges that hold one piece, each on the fold of its turn-in; none where nothing turns in.

    One in the middle of each step, more where its fold is longer than the spacing; along straight runs one near each
    end, at each arris and between them by the spacing; no fewer than the least to a piece.

    Notes
    -----
    Sources: work section H71 (spacing, changes of direction, least to a piece); common practice (every step).
    """
    spacing, each = practice["wedge_spacing"].value, practice["wedges_a_step"].value
    folds = [fold for fold in turn_ins(pattern) if _long(fold) > POINT_MM]
    if not folds:
        return ()
    steps = [fold for fold in folds if is_step(fold)]
    counts = [_spaces(_long(fold), spacing) for fold in folds]
    counts = [max(math.ceil(each), n) if fold in steps else n for fold, n in zip(folds, counts, strict=True)]
    runs = _chained([fold for fold in folds if fold not in steps], steps)
    met = {n for line, n in runs if n is not None}  # the steps that turn a corner into a run: their wedge stands there
    starts = sum(1 for place, (_, step) in enumerate(runs) if step is None and not place)
    short = math.ceil(practice["wedges_a_piece"].value) - sum(counts) - starts
    if short > 0:
        longest = max(range(len(folds)), key=lambda i: _long(folds[i]) / counts[i])
        counts[longest] += short
    out = []
    for fold, n in zip(folds, counts, strict=True):
        if fold in steps:
            line = (fold.start, fold.end) if fold not in met else _from_corner(fold, runs)
            near = _near(_long(fold), practice) / _long(fold)
            shares = [near + i * (1 - near) / n if fold in met else (i + 0.5) / n for i in range(n)]
            rule = "wedges_a_step"
        else:
            place = next(i for i, (ends, _) in enumerate(runs) if set(ends) == {fold.start, fold.end})
            line, step = runs[place]
            near = _near(_long(fold), practice) / _long(fold)
            first, last = place == 0 and step is None, place == len(runs) - 1
            shares = [i / n for i in range(0 if first else 1, n + 1)]
            shares = [min(max(share, near if first else 0.0), 1 - near if last else 1.0) for share in shares]
            rule = "wedge_spacing"
        out += [Fixing(FixingKind.WEDGE, _along(line, share), fold, rule) for share in shares]
    return tuple(out)


def clips(pattern: FlatPattern, practice: Practice) -> tuple[Fixing, ...]:
    """Place the clips that hold the free edges: one near each end, the rest no farther apart than the greatest spacing.

    Notes
    -----
    Source: common practice, no source.
    """
    most = practice["clip_spacing_most"].value
    return tuple(
        Fixing(FixingKind.CLIP, at, edge, "clip_spacing_most")
        for edge, line in free_edges(pattern)
        for at in _evenly(line, most, practice["fixing_from_end"].value)
    )


def nails(pattern: FlatPattern, practice: Practice) -> tuple[Fixing, ...]:
    """Place the nails through the head of a piece, in one row beside its upper edge where that lies on the roof.

    Notes
    -----
    Source: from memory, unverified.
    """
    inside = practice["nail_from_edge"].value
    out: list[Fixing] = []
    for edge, start, end in pattern.sides():
        if edge.use is EdgeUse.HEAD:
            a, b = _between((start, end), [f for f in pattern.folds if f.use in BESIDE_THE_ROOF])
            size = distance_mm(a, b)
            # The outline runs counter-clockwise: the sheet lies to the left of its edge.
            dx, dy = -(b[1] - a[1]) / size * inside, (b[0] - a[0]) / size * inside
            row = ((a[0] + dx, a[1] + dy), (b[0] + dx, b[1] + dy))
            places = _evenly(row, practice["nail_spacing"].value, inside)
            out += [Fixing(FixingKind.NAIL, at, edge, "nail_spacing") for at in places]
    return tuple(out)


def free_edges(pattern: FlatPattern) -> tuple[tuple[Edge, Segment], ...]:
    """Return each edge, and its ends, of a piece that wants clips, as far as it does not stand on a wall.

    What stands up a wall at the end of a cover is its stop end.
    """
    top = next((fold.start[1] for fold in pattern.folds if fold.use is FoldUse.WALL), math.inf)
    found = []
    for edge, start, end in pattern.sides():
        if edge.use in LIES_OPEN:
            a, b = _between_stop_ends((start, end), pattern) if edge.use is EdgeUse.COVER else (start, end)
            rise, low = abs(b[1] - a[1]), min(a[1], b[1])
            share = 1.0 if rise <= POINT_MM else max(0.0, min(1.0, (top - low) / rise))
            if share * distance_mm(a, b) > POINT_MM:
                found.append((edge, (a, _along((a, b), share)) if a[1] <= b[1] else (_along((b, a), share), b)))
    return tuple(found)


def _between_stop_ends(line: Segment, pattern: FlatPattern) -> Segment:
    """Return the part of a cover's edge between the feet of its stop ends; it runs from left to right."""
    first, last = line
    for fold in pattern.folds:
        if fold.use is FoldUse.STOP_END:
            foot = min(fold.start, fold.end, key=lambda at: at[1])
            if (fold.side is Side.LEFT) is not pattern.mirrored:
                first = foot
            else:
                last = foot
    return first, last


def _between(line: Segment, folds: Sequence[Fold]) -> Segment:
    """Return the part of an edge between folds that end on it; all of it where there are none."""
    a, b = line
    size = distance_mm(a, b)

    def along(point: Point) -> float:
        return ((point[0] - a[0]) * (b[0] - a[0]) + (point[1] - a[1]) * (b[1] - a[1])) / size / size

    ends = [min((f.start, f.end), key=lambda at: min(distance_mm(at, a), distance_mm(at, b))) for f in folds]
    shares = sorted(along(at) for at in ends) or [0.0, 1.0]
    return _along(line, shares[0]), _along(line, shares[-1])


def _chained(runs: Sequence[Fold], steps: Sequence[Fold]) -> list[tuple[Segment, Fold | None]]:
    """Return straight turn-ins as lines that follow each other round arrises, each with the step it begins beside.

    The first begins at the arris where a step turns in at the same place, or at its free end.
    """
    out: list[tuple[Segment, Fold | None]] = []
    for fold in sorted(runs, key=lambda f: min(f.start[0], f.end[0])):
        ends = (fold.start, fold.end) if fold.start[0] <= fold.end[0] else (fold.end, fold.start)
        beside = next((s for s in steps for at in (s.start, s.end) for end in ends if same_point(at, end)), None)
        corner = next((at for s in steps for at in (s.start, s.end)), None)
        if corner is not None and distance_mm(ends[1], corner) < distance_mm(ends[0], corner):
            ends = ends[::-1]
        out.append((ends, beside))
    return out


def _from_corner(step: Fold, runs: Sequence[tuple[Segment, Fold | None]]) -> Segment:
    """Return a step's fold from the arris on at which a run begins beside it."""
    corner = next(line[0] for line, beside in runs if beside is step)
    return (step.start, step.end) if same_point(step.start, corner) else (step.end, step.start)


def _evenly(line: Segment, spacing_mm: float, from_end_mm: float) -> list[Point]:
    """Return places along a line, one near each end, the others between them by the spacing."""
    size = distance_mm(*line)
    near = min(from_end_mm, size / 4) / size
    spaces = _spaces(size, spacing_mm)
    return [_along(line, near + i * (1 - 2 * near) / spaces) for i in range(spaces + 1)]


def _near(length_mm: float, practice: Practice) -> float:
    return min(practice["fixing_from_end"].value, length_mm / 4)


def _along(line: Segment, share: float) -> Point:
    (x0, y0), (x1, y1) = line
    return (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)


def weld_mm(pattern: FlatPattern) -> float:
    """Return the length of seam along which a piece is welded: a gusset, sleeve, stop end, notch at a change of pitch.

    The sheets round a gusset or a sleeve, and the other side of a notch, are not counted again.

    Notes
    -----
    Derived: its welds that are not counted at the edge beside, and of a sleeve the edge of its own seam that lies over.
    """
    return math.fsum(distance_mm(a, b) for edge, a, b in pattern.sides() if edge.use in _COUNTED_WELDS)


_COUNTED_WELDS = frozenset({EdgeUse.WELD, EdgeUse.SEAM_OVER})


def opened_to_weld(pattern: FlatPattern) -> bool:
    """Tell whether another part of its detail is welded into a piece: a gusset into its cuts, a sleeve into its hole.

    Notes
    -----
    Derived: a base has its hole for the sleeve, and only welded corners are cut open; a user's own cuts are the user's.
    """
    cut = any(snip.use is SnipUse.CUT for snip in pattern.snips) and pattern.part is not PartKind.PLAIN
    return cut or pattern.part is PartKind.BASE


def is_welded(pattern: FlatPattern) -> bool:
    """Tell whether a piece is leadwelded: at edges of its own, or where another part of its detail is welded into it.

    Notes
    -----
    Derived: as `opened_to_weld`.
    """
    return opened_to_weld(pattern) or any(edge.use in WELDS | SEAMS for edge in pattern.edges)


def welded_corners(pattern: FlatPattern) -> int:
    """Return how many corners, sleeves, stop ends and notches are welded: edges that meet count as one.

    Notes
    -----
    Derived: as `weld_mm`.
    """
    counted = [edge.use in _COUNTED_WELDS for edge, _, _ in pattern.sides()]
    begins = sum(here and not before for before, here in zip((counted[-1:] + counted[:-1]), counted, strict=True))
    return begins or int(any(counted))


def roll_mm(pattern: FlatPattern) -> float:
    """Return the length of the core of a wood-cored roll, which the undercloak of a piece is formed over; 0 without.

    Notes
    -----
    Derived: the length of its mark; the overcloak lies over the same core.
    """
    marks = (m for m in pattern.marks if m.use is MarkUse.UNDERCLOAK)
    return math.fsum(distance_mm(m.points[0], m.points[-1]) for m in marks)


def crests(pattern: FlatPattern) -> tuple[Fold, ...]:
    """Return the folds over the crests of tilting fillets."""
    return tuple(fold for fold in pattern.folds if fold.use is FoldUse.FILLET_CREST)


def run_mm(
    pieces: Iterable[tuple[FlatPattern, float]], chosen: Callable[[FlatPattern], tuple[Fold, ...]] = turn_ins
) -> float:
    """Return the length of joint, or of what else lies along chosen folds of one run, laps counted once.

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
            key = (round(math.degrees(sure.atan2(uy, ux)), 4) + 0.0, round(a[1] * ux - a[0] * uy, 3) + 0.0)
            lines.setdefault(key, []).append((ends[0], ends[1]))
    return math.fsum(_covered(stretches) for stretches in lines.values())


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
