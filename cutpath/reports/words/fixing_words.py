"""How a piece is held, in words: wedges, clips, nails and paint, each by its rule."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator

from cutpath.paper.fixing_marks import SIGNS
from cutpath.plain import in_words
from cutpath.plane import distance_mm
from cutpath.reports.account.marking import whole_mm
from cutpath.reports.pictures.pattern_picture import fold_groups
from cutpath.tolerances import POINT_MM
from cutpath.trade import fixings
from cutpath.trade.rules import Practice, figure
from cutpath.values.fixing import FixingKind
from cutpath.values.pattern import TURN_INS, Edge, Fold, MarkKind
from cutpath.values.piece import Piece, fixed_by


def fixing_lines(piece: Piece, practice: Practice) -> list[str]:
    """Say how many wedges, clips and nails hold a piece, by which rules, and when its turn-in is painted."""
    return [line for told in (_wedges, _clips, _paint, _nails) for line in told(piece, practice)]


def _wedges(piece: Piece, practice: Practice) -> Iterator[str]:
    count = len(fixed_by(piece, FixingKind.WEDGE))
    if not count:
        return
    steps = any(fixings.is_step(fold) for fold in fixings.turn_ins(piece.pattern))
    spacing = practice["wedge_spacing"]
    each = f"one at every step ({practice['wedges_a_step'].source}), and " if steps else ""
    lapped = any(mark.kind is MarkKind.LAP for mark in piece.pattern.marks)
    yield (
        f"{count} lead wedges ({SIGNS[FixingKind.WEDGE]}s): {each}at most {figure(spacing)} apart, "
        f"at each change of direction, {practice['wedges_a_piece'].value:g} or more a piece "
        f"({spacing.source.partition(':')[0]})." + (" At a lap one wedge holds both lengths." if lapped else "")
    )


def _clips(piece: Piece, practice: Practice) -> Iterator[str]:
    edges = fixings.free_edges(piece.pattern)
    if not edges:
        return
    least, most = practice["clip_spacing_least"], practice["clip_spacing_most"]
    clips = fixed_by(piece, FixingKind.CLIP)
    counts = Counter(fixing.on for fixing in clips)
    nearest = min((distance_mm(a.at, b.at) for a, b in itertools.pairwise(clips) if a.on == b.on), default=least.value)
    span = f"{least.value:g} to {figure(most)}" if nearest > least.value - POINT_MM else f"at most {figure(most)}"
    sizes: dict[Fold | Edge, float] = {}
    for edge, line in edges:
        sizes[edge] = sizes.get(edge, 0.0) + distance_mm(*line)
    if len(sizes) > 1:
        each = in_words([f"{counts[on]} under the {on.name} ({whole_mm(size)} mm)" for on, size in sizes.items()])
        where = f": {each}"
    else:
        where = next(f" under the {on.name}, {whole_mm(size)} mm long" for on, size in sizes.items())
    yield (
        f"{counts.total()} clips ({SIGNS[FixingKind.CLIP]}s){where}; one near each end, {span} apart "
        f"({most.source}). Fix them before the edge is dressed down."
    )


def _paint(piece: Piece, practice: Practice) -> Iterator[str]:
    depths = [g.depth_mm for g in fold_groups(piece.pattern) if g.use in TURN_INS and g.depth_mm is not None]
    bare = practice["turn_in_unpainted"]
    if max(depths, default=0.0) > bare.value + POINT_MM:
        source = bare.source.partition(":")[0]
        yield f"Bitumen paint on both sides of what goes more than {figure(bare)} into a joint ({source})."


def _nails(piece: Piece, practice: Practice) -> Iterator[str]:
    nails = fixed_by(piece, FixingKind.NAIL)
    if nails:
        spacing = practice["nail_spacing"]
        yield (
            f"{len(nails)} copper nails ({SIGNS[FixingKind.NAIL]}es) in a row below the {nails[0].on.name}, at most "
            f"{figure(spacing)} apart ({spacing.confidence.value}); leave the sides free to move."
        )
