"""Rolls as the search sees them: what a tick of length costs on each, and how much there is.

Rolls without number are merged by width. Rolls that are counted, offcuts among them, stand each by itself, so that
sections always go on them as planned; only where there are very many alike are they lumped together.

Offcuts are owned already. They are priced at nine tenths of new lead when least drawn is wanted, so that they are
used first where they serve about as well; when least bought is wanted they cost a token sum.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutpath.nesting.shapes import Room, ticks_up
from cutpath.nesting.state import ENDLESS, Stock
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import NestProblem, Objective

_OWNED_WORTH = 0.9
_OWNED_TOKEN = 0.2
_BOUGHT_SHARE = 0.6  # of the cost, when least bought is wanted; the rest keeps a slope towards less drawn
_MOST_SINGLE = 64  # counted rolls that stand each by itself
_LACKING = 30.0  # price of lead that there is not, against new lead


@dataclass(frozen=True, slots=True)
class Shelf:
    """Stock for the search, and which rooms each entry stands for; ``lacking`` is the entry for lead not there."""

    stock: Stock
    rooms: tuple[tuple[int, ...], ...]
    lacking: int | None


@dataclass(frozen=True, slots=True)
class _Entry:
    width: int
    length: int
    price: float
    capacity: int
    unit: int
    bought: float
    endless: bool
    rooms: tuple[int, ...]


def owned_worth(objective: Objective) -> float:
    """Give what lead of an offcut counts for, as a share of new lead."""
    return _OWNED_TOKEN if objective is Objective.BOUGHT else _OWNED_WORTH


def shelf_of(
    problem: NestProblem, rooms: Sequence[Room], objective: Objective, widths_mm: frozenset[float] | None = None
) -> Shelf:
    """Gather rooms into the search's stock: counted rolls first, then endless widths (those given) ascending.

    ``objective`` is what the search weighs. Offcuts kept are worth something only where the problem asks for least
    drawn.
    """
    rule = problem.offcuts
    worth = rule.worth if problem.objective is Objective.DRAWN else 0.0
    sides_mm = (*rule.sides_mm, problem.gap_mm)
    no_matter_mm = (1.0 - worth) * sum(sides_mm[1:]) if worth else math.inf
    bought = _BOUGHT_SHARE if objective is Objective.BOUGHT else 0.0
    counted = [i for i, room in enumerate(rooms) if room.roll.quantity is not None]
    entries: list[_Entry] = []
    for i in counted:
        entries += _counted(i, rooms[i], objective, bought, alone=_few(rooms, counted))
    endless = [_endless(rooms, width, bought) for width in _endless_widths(rooms, widths_mm)]
    entries += endless
    lacking = None
    if counted:
        lacking = len(entries)
        wide, long = max(room.width for room in rooms), max(room.length for room in rooms)
        dear = _LACKING * max(room.roll.width_mm for room in rooms) / TICKS_PER_MM
        entries.append(_Entry(wide, long, dear, ENDLESS, long, 0.0, endless=True, rooms=()))
    return Shelf(
        Stock(
            np.array([e.width for e in entries], dtype=np.int64),
            np.array([e.length for e in entries], dtype=np.int64),
            np.array([e.price for e in entries], dtype=np.float64),
            np.array([e.capacity for e in entries], dtype=np.int64),
            np.array([e.unit for e in entries], dtype=np.int64),
            np.array([e.bought for e in entries], dtype=np.float64),
            np.array([e.endless for e in entries], dtype=np.bool_),
            np.array([worth / TICKS_PER_MM**2, no_matter_mm * TICKS_PER_MM]),
            np.array([ticks_up(side) for side in sides_mm], dtype=np.int64),
        ),
        tuple(e.rooms for e in entries),
        lacking,
    )


def _few(rooms: Sequence[Room], counted: Sequence[int]) -> bool:
    return sum(rooms[i].roll.quantity or 0 for i in counted) <= _MOST_SINGLE


def _counted(index: int, room: Room, objective: Objective, bought: float, *, alone: bool) -> list[_Entry]:
    number = room.roll.quantity or 0
    price = room.roll.width_mm / TICKS_PER_MM
    if room.roll.offcut:
        price *= owned_worth(objective)
        bought = 0.0
    capacity, times = (room.length, number) if alone else (room.length * number, min(number, 1))
    return [
        _Entry(room.width, room.length, price, capacity, room.length, bought, endless=False, rooms=(index,))
    ] * times


def _endless_widths(rooms: Sequence[Room], widths_mm: frozenset[float] | None) -> list[int]:
    endless = [room for room in rooms if room.roll.quantity is None]
    return sorted({room.width for room in endless if widths_mm is None or room.roll.width_mm in widths_mm})


def _endless(rooms: Sequence[Room], width: int, bought: float) -> _Entry:
    mine = [i for i, room in enumerate(rooms) if room.width == width and room.roll.quantity is None]
    lengths = [rooms[i].length for i in mine]
    price = min(rooms[i].roll.width_mm for i in mine) / TICKS_PER_MM
    return _Entry(width, max(lengths), price, ENDLESS, min(lengths), bought, endless=bought == 0.0, rooms=tuple(mine))
