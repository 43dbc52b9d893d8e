"""The order of the lines of every setting, and each line begun where it is run from.

Head by head, pens before knives; the raw end first and the cross-cut last; with each head piece by piece, a piece
finished before the next is begun; in a piece marks, folds, inner cuts, outer cut, and among cuts the deepest nested
first. Where neighbours are cut along the same lines, each all round, their outlines together free what stands between
them: there the deepest nested cuts of all pieces come first, so that no snip or hole is begun in a loose piece. Within
these rules rapid travel is shortened (`cutpath.drawing.travel`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby

from cutpath.drawing import heads
from cutpath.drawing.toolline import ToolLine, from_corner, rapid_mm
from cutpath.drawing.travel import Chosen, Known, as_drawn, polished, shortened
from cutpath.drawing.work import CUTS, Layout, Setting, Work
from cutpath.values.drawing import Role
from cutpath.values.machine import Head, Machine
from cutpath.values.pattern import Point


def ordered(work: Work) -> Work:
    """Return the work with the lines of every setting in order, and the rapid travel of the nest's own order."""
    settings: list[Setting] = []
    known = Known()
    plain_mm = 0.0
    for setting in work.settings:
        begin = (setting.window.start_mm, 0.0)
        plain: list[ToolLine] = []
        short: list[ToolLine] = []
        for head in heads.in_order(work.machine):
            turn = partial(_turn, innermost_first=_frees_neighbours(head, work.machine))
            lines = sorted((n for n in setting.lines if n.head == head.name), key=turn)
            for _, run in groupby(lines, key=turn):
                own = list(run)
                keys = groups(own, work.layout), classes(own)
                plain += _begun(own, as_drawn(own, *keys))
                at = short[-1].ring[-1] if short else begin
                short += _begun(own, shortened(own, *keys, at, known))
        plain_mm += rapid_mm(plain, begin)
        # What is shortest of each stage may end where the next is far.
        settings.append(replace(setting, lines=tuple(min(short, plain, key=partial(rapid_mm, start=begin)))))
    return replace(work, settings=tuple(settings), nest_order_mm=plain_mm)


def stage(line: ToolLine) -> int:
    """Return when a line is run among those of its head: the raw end first, offcuts after all pieces, then across."""
    return {Role.SQUARING: 0, Role.KEPT: 2, Role.CROSS: 3}.get(line.role, 1)


def _frees_neighbours(head: Head, machine: Machine) -> bool:
    """Tell whether a head cuts each outline whole along the lines that neighbours share."""
    return head.kind.cuts and not head.kerf_mm and not machine.shared_once


def _turn(line: ToolLine, *, innermost_first: bool) -> tuple[int, int]:
    """Return when a line is run among those of its head; ``innermost_first``: cuts by how many others lie round them.

    Round a hole lies one cut more than round its piece's outline, and round a piece in the hole one more again.
    """
    return stage(line), -line.depth if innermost_first and line.role in CUTS else 0


def polished_lines(lines: Sequence[ToolLine], layout: Layout, start: Point, known: Known) -> list[ToolLine]:
    """Return the lines of one head with less rapid travel, groups and classes in the order in which they are given."""
    return _begun(lines, polished(lines, groups(lines, layout), classes(lines), start, known))


def groups(lines: Sequence[ToolLine], layout: Layout) -> list[int]:
    """Return the group of each line; what belongs to no piece is a group of its own."""
    return [layout.group.get(n.piece, len(layout.names) + k) for k, n in enumerate(lines)]


def classes(lines: Sequence[ToolLine]) -> list[tuple[int, ...]]:
    """Return the class of each line: by role, and cuts by their depth first."""
    return [(9, -n.depth, heads.RANK[n.role]) if n.role in CUTS else (heads.RANK[n.role],) for n in lines]


def _begun(lines: Sequence[ToolLine], order: Sequence[Chosen]) -> list[ToolLine]:
    out = []
    for chosen in order:
        line = lines[chosen.line]
        if line.closed:
            out.append(replace(line, points=from_corner(line.points, chosen.start)))
        else:
            out.append(replace(line, points=line.points[::-1]) if chosen.start else line)
    return out
