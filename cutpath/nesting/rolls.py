"""Sections onto rolls."""

from __future__ import annotations

from collections.abc import Sequence

from cutpath.nesting.assemble import CutRoll, Lay
from cutpath.nesting.model import Model, Section, lays_of
from cutpath.nesting.shapes import Room


def onto_rolls(model: Model, rooms: Sequence[Room], sections: Sequence[Section]) -> list[CutRoll]:
    """Lay sections one behind another on as few rolls as first fit decreasing finds, longest rolls first."""
    order = sorted(range(len(rooms)), key=lambda r: (rooms[r].roll.width_mm, -rooms[r].length))
    bins: list[tuple[int, int, list[Lay]]] = []
    for section in sorted(sections, key=lambda s: (-s.length, s.across)):
        room = next(r for r in order if rooms[r].width >= section.across and rooms[r].length >= section.length)
        for i, (r, used, lays) in enumerate(bins):
            if r == room and used + section.length <= rooms[r].length:
                lays += [Lay(v.form, v.x + used, v.y) for v in lays_of(model, section)]
                bins[i] = r, used + section.length, lays
                break
        else:
            bins.append((room, section.length, list(lays_of(model, section))))
    return [CutRoll(r, tuple(lays)) for r, _, lays in bins]
