"""Lines that neighbours share: run once over the whole roll, by the one that comes last.

The last of two neighbours takes the line that they share, in whichever setting it is cut. So neither comes loose before
its own holes and snips are cut, and nothing is cut a second time after the roll was fed on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby, pairwise

from cutpath.drawing.order import polished_lines, stage
from cutpath.drawing.overlap import merged, overlaps, segments_of
from cutpath.drawing.toolline import ToolLine, between
from cutpath.drawing.travel import Known
from cutpath.drawing.work import Setting, Work
from cutpath.tolerances import LEAST_STROKE_MM, OVERLAP_DEPTH_MM
from cutpath.values.drawing import Drawing, Role
from cutpath.values.machine import Head


def run_once(work: Work) -> Work:
    """Return the work with every shared line in the last of the lines that hold it, where the machine asks for that.

    Heads with a kerf run beside the lines, so that they share none. The roll's own long edges are left out where they
    are not to be cut.
    """
    if not work.machine.shared_once:
        return work
    settings = work.settings
    for head in work.machine.heads:
        if not head.kerf_mm:
            edges = roll_edges(work.drawing) if head.kind.cuts and not work.machine.edge_cuts else ()
            settings = _with_head_once(settings, head, edges)
    known = Known()
    return replace(
        work,
        settings=tuple(
            new if new.lines == old.lines else replace(new, lines=_polished(new, work, known))
            for old, new in zip(work.settings, settings, strict=True)
        ),
    )


def roll_edges(drawing: Drawing) -> tuple[ToolLine, ...]:
    """Return the two long edges of a roll."""
    return tuple(
        ToolLine(Role.REFERENCE, "", "", "roll edge", ((0.0, y), (drawing.length_mm, y)), closed=False)
        for y in (0.0, drawing.width_mm)
    )


def _with_head_once(settings: Sequence[Setting], head: Head, edges: Sequence[ToolLine]) -> tuple[Setting, ...]:
    places = [(k, line) for k, setting in enumerate(settings) for line in setting.lines if line.head == head.name]
    kept = without_shared([*edges, *(line for _, line in reversed(places))])[len(edges) :]
    of_setting: dict[int, list[ToolLine]] = {}
    for (k, _), parts in zip(reversed(places), kept, strict=True):
        of_setting.setdefault(k, [])[:0] = parts
    return tuple(
        replace(setting, lines=tuple(_replaced(setting.lines, head, of_setting.get(k, []))))
        for k, setting in enumerate(settings)
    )


def _replaced(lines: Sequence[ToolLine], head: Head, own: Sequence[ToolLine]) -> list[ToolLine]:
    """Put other lines in the place of those of one head, which stand together."""
    out: list[ToolLine] = []
    for name, run in groupby(lines, key=lambda n: n.head):
        out += own if name == head.name else run
    return out


def _polished(setting: Setting, work: Work, known: Known) -> tuple[ToolLine, ...]:
    out: list[ToolLine] = []
    at = (setting.window.start_mm, 0.0)
    for _, run in groupby(setting.lines, key=lambda n: (n.head, stage(n))):
        out += polished_lines(list(run), work.layout, at, known)
        at = out[-1].ring[-1]
    return tuple(out)


def without_shared(lines: Sequence[ToolLine]) -> list[list[ToolLine]]:
    """Return what is left of each line without what an earlier one runs along; a ring that loses a stretch is open.

    What is left over shorter than `LEAST_STROKE_MM` is dropped. Lettering stands clear of all lines and stays whole.
    """
    segments = []
    owner: list[tuple[int, float]] = []  # the line of each segment, and how far along it the segment begins
    for k, line in enumerate(lines):
        way = 0.0
        for a, b in () if line.is_lettering else segments_of(line.points, closed=line.closed):
            segments.append((a, b))
            owner.append((k, way))
            way += math.dist(a, b)
    run: dict[int, list[tuple[float, float]]] = {}
    for o in overlaps(segments, OVERLAP_DEPTH_MM):
        (first, _), (k, way) = owner[o.first], owner[o.second]
        if first != k:
            run.setdefault(k, []).append((way + o.start_mm, way + o.end_mm))
    return [_parts(line, run[k]) if k in run else [line] for k, line in enumerate(lines)]


def _parts(line: ToolLine, run: Sequence[tuple[float, float]]) -> list[ToolLine]:
    total = line.length_mm
    spans = merged((a - LEAST_STROKE_MM / 2, b + LEAST_STROKE_MM / 2) for a, b in run)
    edges = [0.0, *(e for a, b in spans for e in (a + LEAST_STROKE_MM / 2, b - LEAST_STROKE_MM / 2)), total]
    left = [(a, b) for a, b in pairwise(edges)][::2]
    kept = [between(line.ring, a, b) for a, b in left if b - a > LEAST_STROKE_MM]
    if line.closed and len(kept) > 1 and kept[0][0] == kept[-1][-1]:
        kept[0] = (*kept.pop(), *kept[0][1:])
    return [replace(line, points=points, closed=False, starts=None) for points in kept]
