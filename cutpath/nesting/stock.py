"""Rolls as the search sees them: what a tick of length costs on each, and how much there is.

Rolls without number are merged by width. Rolls that are counted, offcuts among them, stand each by itself, so that
bundles always go on them as planned; only where there are very many alike are they lumped together.

Offcuts are owned already. They are priced at nine tenths of new lead when least drawn is wanted, so that they are
used first where they serve about as well; when least bought is wanted they count for a token share (`outlay`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutpath.nesting.outlay import owned_worth
from cutpath.nesting.shapes import Room, ticks_up
from cutpath.nesting.state import ENDLESS, Stock
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.values.nest import NestProblem, Objective

_MOST_SINGLE = 64  # counted rolls that stand each by itself
_LACKING = 30.0  # price of lead that there is not, against new lead


@dataclass(frozen=True, slots=True)
class Supply:
    """Stock for the search, and which rooms each entry stands for; ``lacking`` is the entry for lead not there."""

    stock: Stock
    rooms: tuple[tuple[int, ...], ...]
    lacking: int | None


@dataclass(frozen=True, slots=True)
class _StockEntry:
    width: int
    length: int
    price: float
    capacity: int
    endless: bool
    rooms: tuple[int, ...]


def supply_of(problem: NestProblem, rooms: Sequence[Room]) -> Supply:
    """Gather rooms into the search's stock, priced for least drawn: counted rolls first, then endless widths ascending.

    Whatever the problem asks for, a nest that draws little comes first.
    """
    rule = problem.offcuts
    worth = rule.worth
    sides_mm = (*rule.sides_mm, problem.gap_mm)
    no_matter_mm = (1.0 - worth) * math.fsum(sides_mm[1:]) if worth else math.inf
    counted = [i for i, room in enumerate(rooms) if room.roll.quantity is not None]
    entries: list[_StockEntry] = []
    for i in counted:
        entries += _counted(i, rooms[i], alone=_few(rooms, counted))
    entries += [_endless(rooms, width) for width in _endless_widths(rooms)]
    lacking = None
    if counted:
        lacking = len(entries)
        wide, long = max(room.width for room in rooms), max(room.length for room in rooms)
        dear = _LACKING * max(room.roll.width_mm for room in rooms) / TICKS_PER_MM
        entries.append(_StockEntry(wide, long, dear, ENDLESS, endless=True, rooms=()))
    return Supply(
        Stock(
            np.array([e.width for e in entries], dtype=np.int64),
            np.array([e.length for e in entries], dtype=np.int64),
            np.array([e.price for e in entries], dtype=np.float64),
            np.array([e.capacity for e in entries], dtype=np.int64),
            np.zeros(len(entries)),
            np.full(len(entries), ENDLESS, dtype=np.int64),
            np.zeros(len(entries)),
            np.array([e.endless for e in entries], dtype=np.bool_),
            np.array([worth / TICKS_PER_MM**2, no_matter_mm * TICKS_PER_MM]),
            np.array([ticks_up(side) for side in sides_mm], dtype=np.int64),
            np.array([1.0, 0.0]),
        ),
        tuple(e.rooms for e in entries),
        lacking,
    )


def _few(rooms: Sequence[Room], counted: Sequence[int]) -> bool:
    return sum(rooms[i].roll.quantity or 0 for i in counted) <= _MOST_SINGLE


def _counted(index: int, room: Room, *, alone: bool) -> list[_StockEntry]:
    number = room.roll.quantity or 0
    price = room.roll.width_mm / TICKS_PER_MM * (owned_worth(Objective.DRAWN) if room.roll.offcut else 1.0)
    capacity, times = (room.length, number) if alone else (room.length * number, min(number, 1))
    return [_StockEntry(room.width, room.length, price, capacity, endless=False, rooms=(index,))] * times


def _endless_widths(rooms: Sequence[Room]) -> list[int]:
    return sorted({room.width for room in rooms if room.roll.quantity is None})


def _endless(rooms: Sequence[Room], width: int) -> _StockEntry:
    mine = [i for i, room in enumerate(rooms) if room.width == width and room.roll.quantity is None]
    price = min(rooms[i].roll.width_mm for i in mine) / TICKS_PER_MM
    return _StockEntry(width, max(rooms[i].length for i in mine), price, ENDLESS, endless=True, rooms=tuple(mine))
