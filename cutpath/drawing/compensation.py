"""Kerf compensation of every head that has a kerf, and the entry points that its leads leave open."""

from __future__ import annotations

from dataclasses import replace

from cutpath.drawing.kerf import kerf_findings, offset_lines
from cutpath.drawing.leads import Waste, lead_starts
from cutpath.drawing.work import CUTS, Work
from cutpath.values.machine import Head


def compensated(work: Work) -> Work:
    """Return the work with the cuts of jets and spindles moved to their waste side, with entry points in waste."""
    if work.machine.tool_paths:
        for head in work.machine.heads:
            if head.kerf_mm:
                work = _with_kerf(work, head)
    return work


def _with_kerf(work: Work, head: Head) -> Work:
    layout, drawing = work.layout, work.drawing
    others = [n for n in work.lines if n.head != head.name or n.role not in CUTS]
    own, findings = offset_lines([n for n in work.lines if n.head == head.name and n.role in CUTS], head.kerf_mm)
    findings += kerf_findings(own, layout.outlines, head.kerf_mm)
    if work.machine.leads is not None:
        sheet = Waste([shape for _, shape in layout.outlines], drawing.length_mm, drawing.width_mm)
        own, found = lead_starts(own, work.machine.leads, head.kerf_mm, sheet)
        findings += found
    # A snip is begun at the outline: where a jet or spindle goes down it leaves a hole as wide as itself.
    own = [n if n.closed else replace(n, starts=(0,)) for n in own]
    return replace(work, lines=(*others, *own)).found(findings)
