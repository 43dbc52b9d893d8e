"""From forms laid on rolls to a finished `Nest`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum

from cutpath.nesting.offcuts import free_rectangles
from cutpath.nesting.shapes import Form, Room, drawn_mm, place_mm
from cutpath.tolerances import AREA_MM2, CLOSE_RATIO
from cutpath.values.nest import Division, Nest, NestedRoll, NestProblem, Placement


@dataclass(frozen=True, slots=True)
class Lay:
    """A form with its corner at (x, y) ticks in a room."""

    form: int
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class CutRoll:
    """One roll of a kind (index of its room) and what is laid on it."""

    room: int
    lays: tuple[Lay, ...]


def extent(forms: Sequence[Form], lays: Sequence[Lay]) -> int:
    """Return how far along the room the lays reach, in ticks."""
    return max((lay.x + forms[lay.form].length for lay in lays), default=0)


def assemble(
    problem: NestProblem,
    forms: Sequence[Form],
    rooms: Sequence[Room],
    cuts: Sequence[CutRoll],
    *,
    bound_mm2: float,
) -> Nest:
    """Return the `Nest` of ``cuts``: copies numbered in order of rolls and along them, offcuts kept by the rule."""
    from shapely import Polygon

    shapes = problem.shapes
    copies: Counter[int] = Counter()
    rolls: list[NestedRoll] = []
    for cut in cuts:
        placements: list[Placement] = []
        for lay in sorted(cut.lays, key=lambda lay: (lay.x, lay.y, lay.form)):
            form = forms[lay.form]
            copies[form.blank] += 1
            x, y = place_mm(form, lay.x, lay.y, problem)
            name = shapes[form.blank].id
            placements.append(Placement(name, copies[form.blank], form.turn_deg, form.flipped, x, y))
        length = drawn_mm(extent(forms, cut.lays), problem)
        kept = free_rectangles(problem, rooms[cut.room].roll, length, [(forms[v.form], v.x, v.y) for v in cut.lays])
        rolls.append(NestedRoll(rooms[cut.room].roll, length, tuple(placements), kept))
    drawn = fsum(nested.roll.width_mm * nested.drawn_mm for nested in rolls)
    return Nest(
        rolls=tuple(rolls),
        pieces_mm2=fsum(n * Polygon(shapes[b].outline, shapes[b].holes).area for b, n in sorted(copies.items())),
        drawn_mm2=drawn,
        offcuts_mm2=fsum(offcut.area_mm2 for nested in rolls for offcut in nested.offcuts),
        bound_mm2=bound_mm2,
        optimal=drawn <= bound_mm2 + AREA_MM2 + CLOSE_RATIO * drawn,
        divisions=_divisions(problem, copies),
    )


def _divisions(problem: NestProblem, copies: Counter[int]) -> tuple[Division, ...]:
    """Read from what was laid how each run is divided."""
    out: list[Division] = []
    at = len(problem.blanks)
    for run in problem.runs:
        laid = [length for i, length in enumerate(run.lengths, at) if copies[i]]
        out.append((*sorted(length.first for length in laid), run.even[-1]))
        at += len(run.lengths)
    return tuple(out)
