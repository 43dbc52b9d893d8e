"""From a drawing to what one machine runs: a row of passes over one value.

``begun`` -> held to the bed -> given to heads -> kerf compensated -> in settings -> ordered -> shared lines run once
-> blades that trail brought round in waste -> steered. Each pass is one function in a module of its own, from `Work`
to `Work`.
"""

from __future__ import annotations

from cutpath.drawing.alignment import aligned
from cutpath.drawing.compensation import compensated
from cutpath.drawing.heads import given_to_heads
from cutpath.drawing.order import ordered
from cutpath.drawing.path_report import report
from cutpath.drawing.reach import head_findings, held_to_bed
from cutpath.drawing.settings import in_settings
from cutpath.drawing.shared import run_once
from cutpath.drawing.steering import steered
from cutpath.drawing.work import Work, laid_out
from cutpath.values.drawing import Drawing
from cutpath.values.machine import Machine
from cutpath.values.toolpath import ToolPaths

ROW = (held_to_bed, given_to_heads, compensated, in_settings, ordered, run_once, aligned)
"""The passes, in order."""


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
    work = Work(drawing, machine, laid_out(drawing))
    for step in ROW:
        work = step(work)
    frames, found = steered(work)
    return ToolPaths(
        title=drawing.title,
        machine=machine.name,
        length_mm=drawing.length_mm,
        width_mm=drawing.width_mm,
        frames=frames,
        report=report(work, frames),
        findings=(*work.findings, *found, *head_findings(frames, drawing, machine)),
    )
