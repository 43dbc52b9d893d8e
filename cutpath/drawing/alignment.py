"""A stroke in waste at the start of every setting, by which the blade of a drag knife is brought round.

How the blade points after a change of heads, or after a hand was at it, nobody knows. Dragged along a straight line it
comes round: its heading error p fades by tan(p/2) = tan(t/2) exp(-s/d) over a way s with a blade offset d (derived), so
that after ten offsets one of 170 deg is under a fifth of a degree. Only a blade that points straight back may stay so.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from cutpath.drawing.toolline import ToolLine
from cutpath.drawing.work import Setting, Work
from cutpath.errors import Finding, Severity
from cutpath.plain import in_words
from cutpath.values.drawing import Role
from cutpath.values.machine import Head, Stuff
from cutpath.values.pattern import Point, Polyline

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

OFFSETS_LONG = 10.0
_CLEAR_MM = 1.0  # of pieces and marks, besides the blade's own reach; common practice, no source
_EVERY_MM = 2.0  # lines that are tried
_AT_ONCE = 40  # of them, the nearest to the corner first


def aligned(work: Work) -> Work:
    """Return the work with a stroke in waste before the first line of every drag knife in every setting."""
    heads = [h for h in work.machine.heads if h.offset_mm and work.machine.tool_paths]
    bare: list[int] = []
    for head in heads:
        settings = []
        for number, setting in enumerate(work.settings, 1):
            first = next((k for k, line in enumerate(setting.lines) if line.head == head.name), None)
            stroke = None if first is None else _stroke(work, setting, head)
            if first is not None and stroke is not None:
                line = ToolLine(Role.OUTER, head.name, "", "alignment stroke", stroke, closed=False, waste=True)
                setting = replace(setting, lines=(*setting.lines[:first], line, *setting.lines[first:]))
            elif first is not None:
                bare.append(number)
            settings.append(setting)
        work = replace(work, settings=tuple(settings))
    return work.found(_findings(work, bare))


def _stroke(work: Work, setting: Setting, head: Head) -> Polyline | None:
    """Return the stroke along the roll or across it that lies nearest to the setting's corner."""
    import numpy as np
    import shapely

    waste = _waste(work, setting, head)
    if waste.is_empty:
        return None
    x0, y0, x1, y1 = waste.bounds
    corner = (setting.window.start_mm, 0.0)
    ys, xs = np.arange(y0, y1 + _EVERY_MM / 2, _EVERY_MM), np.arange(x0, x1 + _EVERY_MM / 2, _EVERY_MM)
    lines = np.array([*(((x0, y), (x1, y)) for y in ys), *(((x, y0), (x, y1)) for x in xs)])
    away = np.abs(np.concatenate([ys - corner[1], xs - corner[0]]))  # at least
    need = OFFSETS_LONG * head.offset_mm
    best: tuple[float, tuple[Point, Point]] | None = None
    for some in np.split(away.argsort(), range(_AT_ONCE, len(lines), _AT_ONCE)):
        if best is not None and best[0] < away[some[0]]:
            break
        parts = shapely.get_parts(shapely.intersection(shapely.linestrings(lines[some]), waste))
        for part in parts[(shapely.get_type_id(parts) == 1) & (shapely.length(parts) >= need)].tolist():
            start, end = part.coords[0], part.interpolate(need).coords[0]
            found = abs(start[0] - corner[0]) + abs(start[1] - corner[1]), (start, end)
            best = found if best is None else min(best, found)
    if best is None:
        return None
    (xa, ya), (xb, yb) = best[1]
    return ((float(xa), float(ya)), (float(xb), float(yb)))


def _waste(work: Work, setting: Setting, head: Head) -> BaseGeometry:
    """Return where the tip may be: on the sheet, off every piece by the blade's reach to both sides, off every mark.

    Card reaches beyond its pattern.
    """
    import shapely

    reach = 2 * head.offset_mm + _CLEAR_MM
    window = setting.window
    beyond = work.machine.bed.inset_mm - head.offset_mm if work.machine.stuff is Stuff.CARD else -reach
    room = shapely.box(
        window.start_mm - beyond, -beyond, min(window.end_mm, work.drawing.length_mm) + beyond,
        work.drawing.width_mm + beyond,
    )  # fmt: skip
    near = [
        shapely.Polygon(shape.exterior).buffer(reach, join_style="mitre")
        for (name, shape) in work.layout.outlines
        if work.layout.spans[name][1] >= window.start_mm - reach and work.layout.spans[name][0] <= window.end_mm + reach
    ]
    marks = [shapely.LineString(n.points).buffer(reach) for n in setting.lines if n.role is Role.MARK and not n.piece]
    read = [shapely.Point(at).buffer(reach + 5.0) for at in setting.register]
    return room.difference(shapely.union_all([*near, *marks, *read]))


def _findings(work: Work, bare: list[int]) -> list[Finding]:
    if not bare:
        return []
    numbers = sorted(set(bare))
    frames = f" in frame{'s' if len(numbers) > 1 else ''} {in_words(numbers)}" if len(work.settings) > 1 else ""
    return [
        Finding(
            "CP607",
            work.drawing.place,
            f"no waste{frames} for the stroke that brings the blade of the drag knife round",
            f"a straight way of {OFFSETS_LONG:g} blade offsets in waste",
            "Turn the blade by hand along the bed's x before each of these files, or leave an edge trim (--edge-trim).",
            Severity.WARNING,
        )
    ]
