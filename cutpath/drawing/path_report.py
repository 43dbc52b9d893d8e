"""Lengths and time of what a machine runs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cutpath.drawing.arcs import length_mm
from cutpath.drawing.toolline import rapid_mm
from cutpath.drawing.work import Work
from cutpath.values.drawing import Role
from cutpath.values.machine import Head, Machine
from cutpath.values.pattern import Point
from cutpath.values.toolpath import Frame, PathReport, RoleTotal, ToolPaths


def report(work: Work, frames: Sequence[Frame]) -> PathReport:
    """Return the figures of a sheet's tool paths."""
    machine = work.machine
    passes = [p for f in frames for p in f.passes]
    totals = []
    for role in Role:
        first = [p for p in passes if p.role is role and p.number == 1 and p.line]
        if first:
            size = math.fsum(math.dist(a, b) for p in first for a, b in pairwise(p.line))
            totals.append(RoleTotal(role, len(first), size))
    return PathReport(
        totals=tuple(totals),
        run_mm=math.fsum(_run_mm(frames, h) for h in machine.heads),
        rapid_mm=_rapid_mm(frames),
        order_mm=_order_mm(work),
        nest_order_mm=work.nest_order_mm,
        lifts=sum(_downs(frames, h.name) for h in machine.heads),
        changes=_changes(frames),
        seconds=seconds(frames, machine),
    )


def _begin(start_mm: float) -> Point:
    return (start_mm, 0.0)


def _order_mm(work: Work) -> float:
    """Return the rapid travel from line to line as ordered, before tabs and swivels."""
    return math.fsum(
        rapid_mm([n for n in setting.lines if not n.waste], _begin(setting.window.start_mm))
        for setting in work.settings
    )


def _downs(frames: Sequence[Frame], head: str) -> int:
    """Count how often a head goes down."""
    return sum(
        p.head == head and not p.goes_on_from(before)
        for frame in frames
        for before, p in pairwise([None, *frame.passes])
        if p is not None
    )


def _run_mm(frames: Sequence[Frame], head: Head) -> float:
    """Return how far a head runs while it is down."""
    return math.fsum(length_mm(p.start, p.moves) for f in frames for p in f.passes if p.head == head.name)


def _rapid_mm(frames: Sequence[Frame]) -> float:
    """Return how far heads travel while they are up."""
    return math.fsum(
        math.dist(at, p.start)
        for frame in frames
        for at, p in zip([_begin(frame.start_mm), *(p.end for p in frame.passes)], frame.passes, strict=False)
    )


def _changes(frames: Sequence[Frame]) -> int:
    return sum(a.head != b.head for a, b in pairwise(p for f in frames for p in f.passes))


def seconds(frames: Sequence[Frame], machine: Machine) -> float | None:
    """Estimate the time of some frames from the profile's speeds; None where one is not known.

    Starting and stopping are not counted, nor is feeding a roll on.
    """
    if machine.travel_mm_min is None:
        return None
    total = _rapid_mm(frames) / machine.travel_mm_min * 60 + _changes(frames) * machine.change_s
    for head in machine.heads:
        lifts = _downs(frames, head.name)
        if lifts and head.speed_mm_min is None:
            return None
        if lifts and head.speed_mm_min is not None:
            total += _run_mm(frames, head) / head.speed_mm_min * 60 + lifts * head.lift_s
    return total


def told(paths: ToolPaths, *, on_paper: bool = False) -> str:
    """Say in one line what a machine has to do for a sheet; of a printer only how much it prints."""
    figures = paths.report
    if on_paper:
        return f"{paths.title}: {figures.run_mm / 1000:.1f} m of lines at full size"
    frames = f"{len(paths.frames)} frames, " if len(paths.frames) > 1 else ""
    time = "" if figures.seconds is None else f", about {max(1, round(figures.seconds / 60))} min"
    down, up = figures.run_mm / 1000, figures.rapid_mm / 1000
    percent = round(100 * figures.saving)
    beside = f"{abs(percent)} % {'more' if percent < 0 else 'less'} than" if percent else "as much as"
    return (
        f"{paths.title}: {frames}{down:.1f} m with the head down, {up:.1f} m of travel with the head up "
        f"({beside} in the order of the nest), {figures.lifts} lifts{time}"
    )
