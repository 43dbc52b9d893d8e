"""Sections onto rolls: one behind another, on few rolls, or on rolls that cost least to buy."""

from __future__ import annotations

from collections.abc import Sequence

from cutpath.nesting.assemble import CutRoll, Lay
from cutpath.nesting.fit import rolls_run_out
from cutpath.nesting.model import Model, Section, lays_of
from cutpath.nesting.shapes import Room
from cutpath.nesting.stock import Shelf
from cutpath.values.nest import NestProblem


def onto_rolls(
    problem: NestProblem, model: Model, shelf: Shelf, rooms: Sequence[Room], sections: Sequence[Section]
) -> list[CutRoll]:
    """Lay sections on rolls by first fit decreasing; each roll is then the shortest of its width that holds them.

    Raises
    ------
    Refused
        CP502 when counted rolls do not suffice.
    """
    cuts: list[CutRoll] = []
    left: list[Section] = []
    for entry, choices in enumerate(shelf.rooms):
        mine = sorted((s for s in sections if s.roll == entry), key=lambda s: -s.length)
        if not choices:
            left += mine
            continue
        longest = max(rooms[r].length for r in choices)
        bins: list[list[Section]] = []
        for section in mine:
            home = next((b for b in bins if _long(b) + section.length <= longest), None)
            if home is None:
                bins.append(home := [])
            home.append(section)
        number = rooms[choices[0]].roll.quantity
        if number is not None and len(bins) > number:
            left += [section for lost in bins[number:] for section in lost]
            bins = bins[:number]
        for held in bins:
            room = min((r for r in choices if rooms[r].length >= _long(held)), key=lambda r: rooms[r].length)
            cuts.append(CutRoll(room, tuple(_in_a_row(model, held))))
    if left:
        raise rolls_run_out(_names(problem, model, left))
    return cuts


def _long(sections: Sequence[Section]) -> int:
    return sum(section.length for section in sections)


def _in_a_row(model: Model, sections: Sequence[Section]) -> list[Lay]:
    lays: list[Lay] = []
    along = 0
    for section in sections:
        lays += [Lay(v.form, v.x + along, v.y) for v in lays_of(model, section)]
        along += section.length
    return lays


def _names(problem: NestProblem, model: Model, sections: Sequence[Section]) -> list[str]:
    codes = [int(code) for section in sections for lane in section.lanes for code in lane.codes]
    shapes = problem.shapes
    return [shapes[blank].id for blank in sorted(model.forms[code >> 1].blank for code in codes)]
