"""Which head runs which stroke, and in what order the heads work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cutpath.drawing.perforation import perforated
from cutpath.drawing.toolline import ToolLine
from cutpath.drawing.work import Work
from cutpath.values.drawing import LETTERING, Role
from cutpath.values.machine import Head, Machine

RANK = {role: k for k, role in enumerate(Role)}


def in_order(machine: Machine) -> list[Head]:
    """Return the heads that work, pens before what cuts, then by the first role of each."""
    first = {h.name: min((RANK[t.role] for t in machine.tasks if t.head == h.name), default=99) for h in machine.heads}
    return sorted(machine.heads, key=lambda h: (h.kind.cuts, first[h.name]))


def given_to_heads(work: Work) -> Work:
    """Return the work with a line for each stroke that a head runs; folds of card are broken into dashes.

    Reference strokes are for nobody.
    """
    return replace(work, lines=tuple(_lines(work)))


def _lines(work: Work) -> Iterator[ToolLine]:
    machine, layout = work.machine, work.layout
    for k, stroke in enumerate(work.drawing.strokes):
        head = machine.task(stroke.role).head
        if head is None or stroke.role is Role.REFERENCE:
            continue
        line = ToolLine(
            stroke.role, head, stroke.piece, stroke.name, stroke.points, stroke.closed, layout.depth.get(k, 0),
            tells=None if stroke.name == LETTERING else stroke.tells,
        )  # fmt: skip
        dashes = machine.perforation
        if dashes is not None and machine.tool_paths and stroke.role is Role.FOLD and machine.head(head).kind.cuts:
            yield from (replace(line, points=points) for points in perforated(line.points, dashes))
        else:
            yield line
