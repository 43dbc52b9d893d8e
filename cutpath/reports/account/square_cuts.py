"""Straight cuts across the whole roll that part no piece: by them a sheet is broken down with hand shears."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from cutpath.plane import bounds_mm
from cutpath.reports.account.shape import placed
from cutpath.tolerances import OVERLAP_DEPTH_MM
from cutpath.values.nest import Blank, NestedRoll


def square_cuts(nested: NestedRoll, blanks: Mapping[str, Blank]) -> tuple[float, ...]:
    """Return where a straight cut across the whole roll parts no piece and no kept offcut, in mm along it, ascending.

    Of a stretch that is free of pieces its end is taken. The last is the cross-cut that parts what was drawn from the
    roll; there is none where nothing stays on the roll.
    """
    spans = (bounds_mm(placed(blanks[p.id].outline, p))[::2] for p in nested.placements)
    return between(nested, ((x0, x1) for x0, x1 in spans))


def between(nested: NestedRoll, spans: Iterable[tuple[float, float]]) -> tuple[float, ...]:
    """Return the cuts between kept offcuts and pieces that take these stretches of a roll; see `square_cuts`."""
    cuts: list[float] = []
    reach = 0.0
    kept = ((o.x_mm, o.x_mm + o.length_mm) for o in nested.offcuts)
    for x0, x1 in sorted([*spans, *kept]):
        if reach and x0 >= reach - OVERLAP_DEPTH_MM:
            cuts.append(max(x0, reach))
        reach = max(reach, x1)
    if nested.drawn_mm < nested.roll.length_mm - OVERLAP_DEPTH_MM:
        cuts.append(nested.drawn_mm)
    return tuple(cuts)
