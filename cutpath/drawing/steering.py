"""From lines in order to what the heads are steered along: overcut, tabs, leads, repeated passes, swivels."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from cutpath.drawing.dashes import dashed
from cutpath.drawing.leads import lead_points
from cutpath.drawing.swivel import pivot_path, with_overcut
from cutpath.drawing.tabs import with_tabs
from cutpath.drawing.tangential import heading_deg, lifted_at_corners, turn_deg
from cutpath.drawing.toolline import ToolLine
from cutpath.drawing.work import CUTS, Work
from cutpath.errors import Finding
from cutpath.values.drawing import Role
from cutpath.values.machine import Head
from cutpath.values.pattern import Polyline
from cutpath.values.toolpath import Frame, Pass, ToolMove

Stretch = tuple[Polyline, Polyline]
"""A way that is run with the head down, and what of it is the line itself."""


def steered(work: Work) -> tuple[tuple[Frame, ...], tuple[Finding, ...]]:
    """Return a frame for every setting, with its passes, and what was found on the way."""
    frames: list[Frame] = []
    findings: list[Finding] = []
    for number, setting in enumerate(work.settings, 1):
        passes: list[Pass] = []
        heading = {h.name: 0.0 for h in work.machine.heads}
        for line in setting.lines:
            stretches, found = _stretches(line, work)
            findings += found
            own, heading[line.head] = _passes(line, stretches, work, heading[line.head])
            passes += own
        passes = _turned_in_the_air(passes, work)
        frames.append(Frame(number, setting.window.start_mm, setting.window.end_mm, tuple(passes), setting.register))
    return tuple(frames), tuple(findings)


def _passes(line: ToolLine, stretches: list[Stretch], work: Work, heading_rad: float) -> tuple[list[Pass], float]:
    """Return the passes of one line, and the heading in which its blade ends."""
    head = work.machine.head(line.head)
    if line.waste:
        heading_rad = math.radians(heading_deg(*line.points))
    out: list[Pass] = []
    for number in range(1, head.passes + 1):
        for way, kept in stretches:
            start, moves = way[0], tuple(ToolMove(p) for p in way[1:])
            if work.machine.tool_paths and head.offset_mm:
                start, moves, heading_rad = pivot_path(way, head.offset_mm, heading_rad)
            out.append(Pass(line.role, head.name, line.piece, line.name, start, moves, kept, number, head.passes))
    return out, heading_rad


def _turned_in_the_air(passes: list[Pass], work: Work) -> list[Pass]:
    """Return the passes with the head lifted between two where the knife has to be turned over a sharp corner."""
    out = passes[:1]
    for before, p in pairwise(passes):
        head = work.machine.head(p.head)
        sharp = bool(head.axis) and p.goes_on_from(before) and abs(_turn_deg(before, p)) > head.lift_over_deg
        out.append(replace(p, lifted=True) if sharp else p)
    return out


def _turn_deg(before: Pass, after: Pass) -> float:
    last = (before.start, *(s.to for s in before.moves))[-2:]
    return turn_deg(heading_deg(*last), heading_deg(after.start, after.moves[0].to))


def _stretches(line: ToolLine, work: Work) -> tuple[list[Stretch], list[Finding]]:
    head = work.machine.head(line.head)
    if line.waste:
        return [(line.points, ())], []
    if work.machine.tool_paths and work.machine.dashes and line.tells is not None and not head.kind.cuts:
        return [(dash, dash) for dash in dashed(line.ring, line.tells)], []
    if not work.machine.tool_paths or line.role not in CUTS:
        return [(line.ring, line.ring)], []
    stretches, findings = _of_a_ring(line, head, work) if line.closed else ([(line.ring, line.ring)], [])
    return lifted_at_corners(stretches, head.lift_over_deg) if head.axis else stretches, findings


def _of_a_ring(line: ToolLine, head: Head, work: Work) -> tuple[list[Stretch], list[Finding]]:
    machine = work.machine
    parts, findings = _between_tabs(line, head, work)
    ways = list(parts)
    if machine.leads is not None and head.kerf_mm and line.starts:
        begin, end = lead_points(line, 0, machine.leads)
        ways[0] = (begin, *ways[0])
        if machine.leads.out_mm:
            ways[-1] = (*ways[-1], end)
    elif len(parts) == 1:
        ways[0] = with_overcut(ways[0], head.overcut_mm)
    return list(zip(ways, parts, strict=True)), findings


def _between_tabs(line: ToolLine, head: Head, work: Work) -> tuple[list[Polyline], list[Finding]]:
    tabs = work.machine.tabs
    if tabs is None or line.role is not Role.OUTER or not head.kind.cuts:
        return [line.ring], []
    return with_tabs(line, tabs, head.kerf_mm, work.layout.clear.get(line.piece, ()))
