"""Machines that the tests of tool paths and writers share: ours, with a figure or two changed."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from cutpath.drawing.paths import tool_paths
from cutpath.machines import machine
from cutpath.values.drawing import Drawing
from cutpath.values.machine import Machine
from cutpath.values.toolpath import ToolPaths
from cutpath.writers.machine_files import MachineFiles, machine_files


def made(name: str, *, bed=None, head=None, **changes) -> Machine:
    """A profile with changes; ``bed`` and ``head`` (of the last head) are mappings of their own. Lines are solid."""
    base = replace(machine(name), dashes=False)
    if bed:
        base = replace(base, bed=replace(base.bed, **bed))
    if head:
        base = replace(base, heads=(*base.heads[:-1], replace(base.heads[-1], **head)))
    return replace(base, **changes)


@cache
def paths_of(drawing: Drawing, tool: Machine) -> ToolPaths:
    """Tool paths for whoever only reads them, worked out once."""
    return tool_paths(drawing, tool)


@cache
def files_of(drawing: Drawing, tool: Machine, thickness_mm: float = 1.8, name: str = "code4-01") -> MachineFiles:
    """The files of a drawing for whoever only reads them, made once."""
    return machine_files(name, drawing, tool, thickness_mm=thickness_mm)
