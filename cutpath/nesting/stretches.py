"""Nests in which no piece stands across two frames of a machine that feeds the roll on.

The problem is nested on stretches of roll short enough for any frame, and these are then put end to end on whole rolls.
A finite number of rolls gives as many whole stretches as it holds; the rest of each stays on the roll.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from cutpath.errors import Refused
from cutpath.nesting.fit import rolls_run_out
from cutpath.nesting.judge import judge
from cutpath.tolerances import POINT_MM
from cutpath.values.nest import Nest, NestedRoll, NestProblem, Roll


def in_stretches(problem: NestProblem, stretch_mm: float) -> NestProblem:
    """Return the problem on stretches of roll no longer than ``stretch_mm``, to be nested in place of the whole rolls.

    For a machine whose frames are F long and overlap by V, ``stretch_mm`` is F - V.
    """
    return replace(problem, rolls=tuple(_stretch(roll, problem, stretch_mm) for roll in problem.rolls))


def _stretch(roll: Roll, problem: NestProblem, stretch_mm: float) -> Roll:
    if roll.length_mm <= stretch_mm + POINT_MM:
        return roll
    between = _between(problem)
    count = None if roll.quantity is None else roll.quantity * int((roll.length_mm + between) // (stretch_mm + between))
    return replace(roll, length_mm=stretch_mm, quantity=count)


def _between(problem: NestProblem) -> float:
    """Return the waste between two stretches: a piece keeps its gap from an offcut that ends at the cross-cut, too."""
    return max(0.0, problem.gap_mm - problem.edge_trim_mm)


def onto_whole_rolls(problem: NestProblem, short: Nest, stretch_mm: float) -> Nest:
    """Put the stretches of a nest of `in_stretches` end to end on the rolls of the problem itself.

    Longer stretches go first, each onto the first roll of its kind that has room, else onto a new one, the longest
    on the list. The result is judged.

    Raises
    ------
    Refused
        CP502 when the rolls run out, CP503 when the judge finds a fault.
    """  # noqa: DOC501 - a helper makes the first of them
    order = sorted(range(len(short.rolls)), key=lambda k: (-short.rolls[k].drawn_mm, k))
    whole: list[tuple[Roll, list[int]]] = []
    used: dict[int, int] = {}
    for k in order:
        stretch = short.rolls[k]
        home = next((w for w in whole if _fits(problem, short, w, k, stretch_mm)), None)
        if home is not None:
            home[1].append(k)
            continue
        kinds = [i for i, r in enumerate(problem.rolls) if _same_kind(_stretch(r, problem, stretch_mm), stretch.roll)]
        kinds.sort(key=lambda i: (-problem.rolls[i].length_mm, i))
        free = [
            i for i in kinds if problem.rolls[i].quantity is None or used.get(i, 0) < (problem.rolls[i].quantity or 0)
        ]
        if not free:
            raise rolls_run_out([p.id for p in stretch.placements])
        used[free[0]] = used.get(free[0], 0) + 1
        whole.append((problem.rolls[free[0]], [k]))
    rolls = tuple(_joined(problem, roll, [short.rolls[k] for k in sorted(parts)]) for roll, parts in whole)
    drawn = math.fsum(r.roll.width_mm * r.drawn_mm for r in rolls)
    nest = replace(short, rolls=rolls, drawn_mm2=drawn)
    faults = judge(problem, nest)
    if faults:
        raise Refused(faults)
    return nest


def _same_kind(a: Roll, b: Roll) -> bool:
    return replace(a, quantity=None) == replace(b, quantity=None)


def _fits(problem: NestProblem, short: Nest, whole: tuple[Roll, list[int]], k: int, stretch_mm: float) -> bool:
    roll, parts = whole
    if not _same_kind(_stretch(roll, problem, stretch_mm), short.rolls[k].roll):
        return False
    drawn = math.fsum(short.rolls[n].drawn_mm for n in (*parts, k)) + len(parts) * _between(problem)
    return drawn <= roll.length_mm + POINT_MM


def _joined(problem: NestProblem, roll: Roll, parts: Sequence[NestedRoll]) -> NestedRoll:
    at = 0.0
    placements, offcuts = [], []
    for n, part in enumerate(parts):
        at += _between(problem) if n else 0.0
        placements += [replace(p, x_mm=p.x_mm + at) for p in part.placements]
        offcuts += [replace(o, x_mm=o.x_mm + at) for o in part.offcuts]
        at += part.drawn_mm
    return NestedRoll(roll, at, tuple(placements), tuple(offcuts))
