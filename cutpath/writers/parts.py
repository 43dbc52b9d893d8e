"""What one machine file holds: all that is run at one setting, or what one tool runs there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from string import ascii_lowercase

from cutpath.values.machine import FileFormat, Machine, ToolHeights
from cutpath.values.toolpath import Frame, ToolPaths


@dataclass(frozen=True, slots=True)
class Part:
    """A frame, or one tool's share of it.

    Attributes
    ----------
    frame : Frame
    name : str
        For a file's name, so that names sort in the order of work; empty where there is one file only.
    head : str
        The one tool that runs, where each has a file of its own; else empty.
    again : bool
        The sheet lies as it lay for the file before.
    """

    frame: Frame
    name: str
    head: str = ""
    again: bool = False


def parts_of(paths: ToolPaths, machine: Machine) -> tuple[Part, ...]:
    """Return the parts of a sheet that have something to run, in the order of work."""
    return tuple(_parts(paths, machine))


def _parts(paths: ToolPaths, machine: Machine) -> Iterator[Part]:
    count = str(len(paths.frames))
    alone = machine.format is not FileFormat.NGC or machine.tool_heights is not ToolHeights.FILES
    tools = list(dict.fromkeys(p.head for frame in paths.frames for p in frame.passes))
    for frame in paths.frames:
        part = f"_{frame.number:0{len(count)}}of{count}" if len(paths.frames) > 1 else ""
        own = [head for head in tools if any(p.head == head for p in frame.passes)]
        if alone or len(tools) < 2:
            if own:
                yield Part(frame, part)
            continue
        for k, head in enumerate(own):
            share = replace(frame, passes=tuple(p for p in frame.passes if p.head == head))
            slug = re.sub(r"[^a-z0-9]+", "-", head.lower()).strip("-")
            yield Part(share, f"{part}_{ascii_lowercase[tools.index(head)]}-{slug}", head, again=k > 0)
