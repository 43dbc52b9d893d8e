"""From a drawing to what one machine runs: heads, order, kerf, swivels, leads, tabs, frames.

Order: frame by frame; in a frame head by head, pens before knives; with each head piece by piece, a piece finished
before the next is begun; in a piece marks, folds, inner cuts, outer cut, and among cuts the deepest nested first.
Within these rules the way in the air is shortened (`cutpath.drawing.travel`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from cutpath.drawing import frames as fr
from cutpath.drawing.arcs import length_mm
from cutpath.drawing.containment import depths, round_each
from cutpath.drawing.kerf import kerf_findings, offset_lines
from cutpath.drawing.leads import Sheet, lead_points, lead_starts
from cutpath.drawing.perforation import perforated
from cutpath.drawing.shared import without_shared
from cutpath.drawing.swivel import pivot_path, with_overcut
from cutpath.drawing.tabs import with_tabs
from cutpath.drawing.toolline import ToolLine, from_corner
from cutpath.drawing.travel import Chosen, as_drawn, polished, shortened, travel_mm
from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.values.drawing import Drawing, Role
from cutpath.values.machine import Head, HeadKind, Machine
from cutpath.values.pattern import Point, Polyline
from cutpath.values.toolpath import Frame, Pass, PathReport, RoleTotal, Step, ToolPaths

if TYPE_CHECKING:
    from shapely import Polygon

_RANK = {role: k for k, role in enumerate(Role)}
_CUTS = (Role.INNER, Role.OUTER)
_MARK_WITHIN_MM = 0.25  # how well a mark is met by eye; common practice, no source


@dataclass(frozen=True, slots=True)
class _Layout:
    """What stands on a sheet.

    ``names`` lists the pieces along the roll; ``group`` gives for each the number of the outermost piece round it, or
    its own; ``depth`` how many closed cuts lie round each stroke; ``clear`` where tabs may not be;
    ``edges`` the roll's long edges.
    """

    names: tuple[str, ...]
    outlines: tuple[tuple[str, Polygon], ...]
    spans: dict[str, tuple[float, float]]
    group: dict[str, int]
    depth: dict[int, int]
    clear: dict[str, tuple[Point, ...]]
    edges: tuple[ToolLine, ...]


def tool_paths(drawing: Drawing, machine: Machine) -> ToolPaths:
    """Order a sheet's strokes for a machine and lay the tool's way along them.

    Parameters
    ----------
    drawing : Drawing
        mm; x along the roll.
    machine : Machine
        With ``tool_paths`` unset the lines stay as drawn, only ordered.

    Returns
    -------
    ToolPaths
        In the sheet's own frame; ``findings`` holds everything that stands against running it, faults included.
    """
    layout = _layout(drawing)
    findings = _fit(drawing, machine)
    lines, found = _lines(drawing, machine, layout)
    findings += found
    bed = machine.bed
    windows = fr.windows(drawing.length_mm, bed.length_mm, bed.overlap_mm, tuple(layout.spans.values()))
    frames: list[Frame] = []
    ways = [0.0, 0.0]
    register: tuple[Point, ...] = ()
    for number, window in enumerate(windows, 1):
        own = _in_window(lines, windows, number - 1, layout)
        marks: tuple[Point, ...] = ()
        if number < len(windows):
            marks, crosses = fr.marks_at(window.to_mm, drawing.width_mm, bed.mark_inset_mm)
            own += _crosses(crosses, machine)
        ordered, plain_mm, ordered_mm = _ordered(own, machine, layout, (window.start_mm, 0.0))
        ways = [ways[0] + plain_mm, ways[1] + ordered_mm]
        passes, found = _passes(ordered, machine, layout)
        findings += found
        frames.append(Frame(number, window.start_mm, window.end_mm, tuple(passes), register))
        register = marks
    findings += _frame_findings(drawing, machine, windows, layout)
    findings += _reach_findings(frames, drawing, machine)
    return ToolPaths(
        title=drawing.title,
        machine=machine.name,
        length_mm=drawing.length_mm,
        width_mm=drawing.width_mm,
        frames=tuple(frames),
        report=_report(frames, machine, *ways),
        findings=tuple(findings),
    )


# What there is


def _layout(drawing: Drawing) -> _Layout:
    import shapely

    outer = [s for s in drawing.strokes if s.role is Role.OUTER and s.closed]
    outer.sort(key=lambda s: (min(x for x, _ in s.points), min(y for _, y in s.points), s.piece))
    surrounding = round_each([s.points for s in outer])
    group = {
        s.piece: min(around, key=lambda k: len(surrounding[k]), default=i)
        for i, (s, around) in enumerate(zip(outer, surrounding, strict=True))
    }
    holes: dict[str, list[Polyline]] = {s.piece: [] for s in outer}
    clear: dict[str, tuple[Point, ...]] = {}
    for stroke in drawing.strokes:
        if stroke.role is Role.INNER and stroke.closed:
            holes[stroke.piece].append(stroke.points)
        elif stroke.role in (Role.FOLD, Role.INNER):
            clear[stroke.piece] = (*clear.get(stroke.piece, ()), stroke.points[0], stroke.points[-1])
    return _Layout(
        names=tuple(s.piece for s in outer),
        outlines=tuple((s.piece, shapely.Polygon(s.points, holes[s.piece])) for s in outer),
        spans={s.piece: (min(x for x, _ in s.points), max(x for x, _ in s.points)) for s in outer},
        group=group,
        depth=depths(drawing.strokes),
        clear=clear,
        edges=tuple(
            ToolLine(Role.REFERENCE, "", "", "roll edge", ((0.0, y), (drawing.length_mm, y)), closed=False)
            for y in (0.0, drawing.width_mm)
        ),
    )


def _lines(drawing: Drawing, machine: Machine, layout: _Layout) -> tuple[list[ToolLine], list[Finding]]:
    lines: list[ToolLine] = []
    for k, stroke in enumerate(drawing.strokes):
        task = machine.task(stroke.role)
        if task.head is None or stroke.role is Role.REFERENCE:
            continue
        line = ToolLine(
            stroke.role, task.head, stroke.piece, stroke.name, stroke.points, stroke.closed, layout.depth.get(k, 0)
        )
        dashed = machine.perforation is not None and stroke.role is Role.FOLD and machine.head(task.head).kind.cuts
        if dashed and machine.tool_paths and machine.perforation is not None:
            lines += [replace(line, points=points) for points in perforated(line.points, machine.perforation)]
        else:
            lines.append(line)
    findings: list[Finding] = []
    if machine.tool_paths:
        for head in machine.heads:
            if head.kerf_mm:
                lines, found = _with_kerf(lines, head, machine, layout, drawing)
                findings += found
    return lines, findings


def _with_kerf(
    lines: Sequence[ToolLine], head: Head, machine: Machine, layout: _Layout, drawing: Drawing
) -> tuple[list[ToolLine], list[Finding]]:
    others = [n for n in lines if n.head != head.name or n.role not in _CUTS]
    own, findings = offset_lines([n for n in lines if n.head == head.name and n.role in _CUTS], head.kerf_mm)
    findings += kerf_findings(own, layout.outlines, head.kerf_mm)
    if machine.leads is not None:
        sheet = Sheet([shape for _, shape in layout.outlines], drawing.length_mm, drawing.width_mm)
        own, found = lead_starts(own, machine.leads, head.kerf_mm, sheet)
        findings += found
    # A snip is begun at the outline: where a jet or spindle goes down it leaves a hole as wide as itself.
    own = [n if n.closed else replace(n, starts=(0,)) for n in own]
    return [*others, *own], findings


# Frames


def _home(span: tuple[float, float], windows: Sequence[fr.Window]) -> int | None:
    """Give the first window that holds a piece whole, or None."""
    low, high = span
    for k, window in enumerate(windows):
        if window.start_mm - POINT_MM <= low and high <= window.end_mm + POINT_MM:
            return k
    return None


def _in_window(lines: Sequence[ToolLine], windows: Sequence[fr.Window], number: int, layout: _Layout) -> list[ToolLine]:
    low = windows[number].from_mm if number else -math.inf
    high = windows[number].to_mm if number + 1 < len(windows) else math.inf
    out: list[ToolLine] = []
    for line in lines:
        home = _home(layout.spans[line.piece], windows)
        if home == number:
            out.append(line)
        elif home is None:
            parts = fr.clipped(line.ring, low, high)
            whole = len(parts) == 1 and parts[0] == line.ring
            out += [line] if whole else [replace(line, points=p, closed=False, starts=None) for p in parts]
    return out


def _crosses(strokes: Sequence[Polyline], machine: Machine) -> list[ToolLine]:
    pen = next((h.name for h in machine.heads if h.kind is HeadKind.PEN), None)
    if pen is None:
        return []
    return [ToolLine(Role.MARK, pen, "", "registration mark", points, closed=False) for points in strokes]


# Order


def _ordered(
    lines: Sequence[ToolLine], machine: Machine, layout: _Layout, start: Point
) -> tuple[list[ToolLine], float, float]:
    """Give the lines in order, each from where it is begun, and the way in the air in nest order and in this order."""
    out: list[ToolLine] = []
    plain_mm = ordered_mm = 0.0
    at = plain_at = start
    for head in _heads(machine):
        own = [n for n in lines if n.head == head.name]
        if not own:
            continue
        plain = as_drawn(own, _groups(own, layout), _classes(own))
        plain_mm += travel_mm(own, plain, plain_at)
        plain_at = _begun(own, plain)[-1].ring[-1]
        run = _begun(own, shortened(own, _groups(own, layout), _classes(own), at))
        if machine.shared_once and not head.kerf_mm:
            there = layout.edges if head.kind.cuts and not machine.edge_cuts else ()
            parts = without_shared([*there, *run])[len(there) :]
            if len(parts) != len(run) or any(a is not b for a, b in zip(parts, run, strict=True)):
                run = _begun(parts, polished(parts, _groups(parts, layout), _classes(parts), at))
        ordered_mm += math.dist(at, run[0].points[0])
        ordered_mm += math.fsum(math.dist(a.ring[-1], b.points[0]) for a, b in pairwise(run))
        at = run[-1].ring[-1]
        out += run
    return out, plain_mm, ordered_mm


def _heads(machine: Machine) -> list[Head]:
    """Give the heads that work, pens before what cuts, then by the first role of each."""
    first = {h.name: min((_RANK[t.role] for t in machine.tasks if t.head == h.name), default=99) for h in machine.heads}
    return sorted(machine.heads, key=lambda h: (h.kind.cuts, first[h.name]))


def _groups(lines: Sequence[ToolLine], layout: _Layout) -> list[int]:
    return [layout.group.get(n.piece, len(layout.names) + k) for k, n in enumerate(lines)]


def _classes(lines: Sequence[ToolLine]) -> list[tuple[int, ...]]:
    return [(9, -n.depth, _RANK[n.role]) if n.role in _CUTS else (_RANK[n.role],) for n in lines]


def _begun(lines: Sequence[ToolLine], order: Sequence[Chosen]) -> list[ToolLine]:
    out = []
    for chosen in order:
        line = lines[chosen.line]
        if line.closed:
            out.append(replace(line, points=from_corner(line.points, chosen.start)))
        else:
            out.append(replace(line, points=line.points[::-1]) if chosen.start else line)
    return out


# Passes


def _passes(lines: Sequence[ToolLine], machine: Machine, layout: _Layout) -> tuple[list[Pass], list[Finding]]:
    passes: list[Pass] = []
    findings: list[Finding] = []
    heading = {h.name: 0.0 for h in machine.heads}
    for line in lines:
        head = machine.head(line.head)
        parts, found = _ways(line, head, machine, layout)
        findings += found
        for number in range(1, head.passes + 1):
            for way, kept in parts:
                start, steps = way[0], tuple(Step(p) for p in way[1:])
                if machine.tool_paths and head.offset_mm:
                    start, steps, heading[head.name] = pivot_path(way, head.offset_mm, heading[head.name])
                passes.append(
                    Pass(line.role, head.name, line.piece, line.name, start, steps, kept, number, head.passes)
                )
    return passes, findings


def _ways(
    line: ToolLine, head: Head, machine: Machine, layout: _Layout
) -> tuple[list[tuple[Polyline, Polyline]], list[Finding]]:
    """Give the stretches that are run with the head down, each with what of it is the line itself."""
    if not machine.tool_paths or line.role not in _CUTS or not line.closed:
        return [(line.ring, line.ring)], []
    parts: list[Polyline] = [line.ring]
    findings: list[Finding] = []
    tabbed = machine.tabs is not None and line.role is Role.OUTER and head.kind.cuts
    if tabbed and machine.tabs is not None:
        parts, findings = with_tabs(line, machine.tabs, head.kerf_mm, layout.clear.get(line.piece, ()))
    ways = list(parts)
    if machine.leads is not None and head.kerf_mm and line.starts:
        begin, end = lead_points(line, 0, machine.leads)
        ways[0] = (begin, *ways[0])
        if machine.leads.out_mm:
            ways[-1] = (*ways[-1], end)
    elif len(parts) == 1:
        ways[0] = with_overcut(ways[0], head.overcut_mm)
    return list(zip(ways, parts, strict=True)), findings


# Findings and figures


def _fit(drawing: Drawing, machine: Machine) -> list[Finding]:
    bed = machine.bed
    out = []
    if drawing.width_mm > bed.width_mm + POINT_MM:
        out.append(
            Finding(
                "CP603",
                drawing.title,
                f"{drawing.width_mm:g} mm wide on a machine that reaches {bed.width_mm:g} mm across",
                f"rolls up to {bed.width_mm:g} mm wide",
                "Give a list of rolls that are no wider (--rolls), or choose another machine.",
            )
        )
    if drawing.length_mm > bed.length_mm + POINT_MM and not bed.roll_feed:
        out.append(
            Finding(
                "CP603",
                drawing.title,
                f"{drawing.length_mm:g} mm long on a machine that reaches {bed.length_mm:g} mm and feeds no roll",
                f"sheets up to {bed.length_mm:g} mm long",
                "Give a list of rolls that are no longer (--rolls), or choose another machine.",
            )
        )
    return out


def _frame_findings(drawing: Drawing, machine: Machine, windows: Sequence[fr.Window], layout: _Layout) -> list[Finding]:
    if len(windows) < 2:
        return []
    out = []
    across = [name for name, span in layout.spans.items() if _home(span, windows) is None]
    if across:
        out.append(
            Finding(
                "CP609",
                drawing.title,
                f"{len(across)} pieces are cut in two settings: {', '.join(across[:5])}{' ...' if across[5:] else ''}",
                f"pieces that stand inside one frame of {machine.bed.length_mm:g} mm",
                "Set the roll to its marks with care, or ask for pieces kept inside a frame.",
                Severity.WARNING,
            )
        )
    apart = drawing.width_mm - 2 * machine.bed.mark_inset_mm
    error = fr.registration_error_mm(apart, _MARK_WITHIN_MM, machine.bed.length_mm)
    pen = any(h.kind is HeadKind.PEN for h in machine.heads)
    out.append(
        Finding(
            "CP609",
            machine.name,
            f"rolls {drawing.width_mm:g} mm wide run in frames; marks {apart:.0f} mm apart, each met within "
            f"{_MARK_WITHIN_MM:g} mm, leave up to {error:.1f} mm at the far end of a frame",
            "the roll set to both marks of the frame before",
            "Draw the roll on along a straight edge, to the marks at both of its edges."
            if pen
            else "There is no pen: mark the sheet by hand at the places that the file lists.",
            Severity.NOTE,
        )
    )
    return out


def _reach_findings(frames: Sequence[Frame], drawing: Drawing, machine: Machine) -> list[Finding]:
    """Find passes whose head would leave the machine's reach."""
    inset = machine.bed.inset_mm + POINT_MM
    low, high = (-inset, -inset), (machine.bed.length_mm + inset, machine.bed.width_mm + inset)
    beyond = {
        p.piece
        for frame in frames
        for p in frame.passes
        for x, y in (p.start, *(s.to for s in p.steps))
        if not (low[0] <= x - frame.start_mm <= high[0] and low[1] <= y <= high[1])
    }
    if not beyond or any(f.code == "CP603" for f in _fit(drawing, machine)):
        return []
    return [
        Finding(
            "CP603",
            drawing.title,
            f"the head would leave the machine's reach at {', '.join(sorted(beyond)[:5])}",
            f"ways within {machine.bed.inset_mm:g} mm of the sheet",
            "Lay the sheet further in (bed.inset_mm), or leave an edge trim.",
        )
    ]


def _report(frames: Sequence[Frame], machine: Machine, plain_mm: float, ordered_mm: float) -> PathReport:
    passes = [p for f in frames for p in f.passes]
    totals = []
    for role in Role:
        first = [p for p in passes if p.role is role and p.number == 1]
        if first:
            size = math.fsum(math.dist(a, b) for p in first for a, b in pairwise(p.line))
            totals.append(RoleTotal(role, len(first), size))
    run = {h.name: math.fsum(length_mm(p.start, p.steps) for p in passes if p.head == h.name) for h in machine.heads}
    air = 0.0
    for frame in frames:
        at: Point = (frame.start_mm, 0.0)
        for p in frame.passes:
            air += math.dist(at, p.start)
            at = p.end
    changes = sum(a.head != b.head for a, b in pairwise(passes))
    return PathReport(
        totals=tuple(totals),
        run_mm=math.fsum(run.values()),
        air_mm=air,
        order_mm=ordered_mm,
        nest_order_mm=plain_mm,
        lifts=sum(_downs(frames, h.name) for h in machine.heads),
        changes=changes,
        seconds=_seconds(frames, run, air, changes, machine),
    )


def _downs(frames: Sequence[Frame], head: str) -> int:
    """Count how often a head goes down."""
    return sum(
        p.head == head and not p.goes_on_from(before)
        for frame in frames
        for before, p in pairwise([None, *frame.passes])
        if p is not None
    )


def _seconds(
    frames: Sequence[Frame], run: dict[str, float], air_mm: float, changes: int, machine: Machine
) -> float | None:
    """Estimate the time from the profile's speeds; starting and stopping are not counted, nor is feeding a roll on."""
    if machine.travel_mm_min is None:
        return None
    total = air_mm / machine.travel_mm_min * 60 + changes * machine.change_s
    for head in machine.heads:
        lifts = _downs(frames, head.name)
        if lifts and head.speed_mm_min is None:
            return None
        if lifts and head.speed_mm_min is not None:
            total += run[head.name] / head.speed_mm_min * 60 + lifts * head.lift_s
    return total


def told(paths: ToolPaths) -> str:
    """Say in one line what a machine has to do for a sheet."""
    report = paths.report
    frames = f"{len(paths.frames)} frames, " if len(paths.frames) > 1 else ""
    time = "" if report.seconds is None else f", about {max(1, round(report.seconds / 60))} min"
    return (
        f"{paths.title}: {frames}{report.run_mm / 1000:.1f} m with the head down, {report.air_mm / 1000:.1f} m in the "
        f"air ({report.saving:.0%} less than in nest order), {report.lifts} lifts{time}"
    )
