"""What a leadworker does without a nest: one piece after another off the narrowest roll that holds it.

Common practice, no source. Pieces follow each other in the order of the list, each in its own square-ended
length. A roll is used until the next piece of its width no longer fits; then another one is opened. The shortest kind
that does for what is cut from it is bought.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from cutpath.nesting.assemble import CutRoll, Lay, assemble
from cutpath.nesting.bound import bound_mm2
from cutpath.nesting.fit import fits, refuse_misfits, rolls_run_out
from cutpath.nesting.shapes import Form, Room, forms, rooms
from cutpath.values.nest import Nest, NestProblem


@dataclass(slots=True)
class _OpenRoll:
    room: int
    lays: list[Lay] = field(default_factory=list)
    used: int = 0


def one_after_another(problem: NestProblem, *, known_mm2: float | None = None) -> Nest:
    """Cut each piece in the order of the list from the narrowest roll that holds it.

    Parameters
    ----------
    problem : NestProblem
    known_mm2 : float, optional
        Lead that no nest draws less than, in mm2, where that is known; else the bound is worked out.

    Raises
    ------
    Refused
        CP501 for pieces that fit no roll, CP502 when the rolls run out.
    """
    ways, spaces = forms(problem), rooms(problem)
    refuse_misfits(problem, ways, spaces)
    cuts = in_turn(problem, ways, spaces)
    return assemble(problem, ways, spaces, cuts, bound_mm2=bound_mm2(problem) if known_mm2 is None else known_mm2)


def in_turn(problem: NestProblem, ways: Sequence[Form], spaces: Sequence[Room]) -> list[CutRoll]:
    """Lay the blanks one after another; see `one_after_another`."""  # noqa: DOC501 - a helper makes the Refused
    order = sorted(range(len(spaces)), key=lambda r: (spaces[r].roll.width_mm, -spaces[r].roll.length_mm))
    by_blank: dict[int, list[int]] = {}
    for index, form in enumerate(ways):
        by_blank.setdefault(form.blank, []).append(index)
    opened: list[_OpenRoll] = []
    current: dict[int, _OpenRoll] = {}
    left: list[str] = []
    shapes = problem.shapes
    for index, quantity in problem.to_cut():
        left += [
            shapes[index].id
            for _ in range(quantity)
            if not _lay_next(by_blank[index], ways, spaces, order, opened, current)
        ]
    if left:
        raise rolls_run_out(left)
    return [CutRoll(_shortest(spaces, roll), tuple(roll.lays)) for roll in opened]


def _shortest(spaces: Sequence[Room], opened: _OpenRoll) -> int:
    """Return the shortest kind of the same width that does for what was laid; of counted ones, the one opened."""
    room = spaces[opened.room]
    if room.roll.quantity is not None:
        return opened.room
    ways = [
        r
        for r, other in enumerate(spaces)
        if other.roll.quantity is None and other.width == room.width and other.length >= opened.used
    ]
    return min(ways, key=lambda r: spaces[r].length)


def _lay_next(
    choices: Sequence[int],
    ways: Sequence[Form],
    spaces: Sequence[Room],
    order: Sequence[int],
    opened: list[_OpenRoll],
    current: dict[int, _OpenRoll],
) -> bool:
    for room in order:
        for choice in sorted(choices, key=lambda choice: ways[choice].length):
            form = ways[choice]
            if not fits(form, spaces[room]):
                continue
            roll = current.get(room)
            if roll is None or roll.used + form.length > spaces[room].length:
                quantity = spaces[room].roll.quantity
                if quantity is not None and sum(r.room == room for r in opened) >= quantity:
                    continue
                roll = current[room] = _OpenRoll(room)
                opened.append(roll)
            roll.lays.append(Lay(choice, roll.used, 0))
            roll.used += form.length
            return True
    return False
