"""Sets of a few rolls, gone through: which of all that may cost less than a plan hold what it cuts.

Some twenty pieces go on two to four rolls. Whole rolls cost in leaps, and between what such a list draws and what its
plan costs lie some hundreds of sets. Annealing pieces on rolls chosen tells of each in a moment how much lead it is
short of, and more work goes to those that are short of least (successive halving; Karnin, Koren and Somekh, 2013).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, combinations_with_replacement
from math import comb

import numpy as np

from cutpath.nesting.opened import Opened, Shop

_MOST_ROLLS = 5
_MOST_LOOKED_AT = 250_000
_LEAST_WORTH = 1e-9


@dataclass(frozen=True, slots=True)
class RollSet:
    """Rolls by the rooms of a shop, a room as often as there are rolls of it.

    Attributes
    ----------
    rooms : tuple of int
        Ascending.
    least_mm2 : float
        What they cost at best, with what stays on them counted by their mean price.
    most_mm2 : float
        Lead that may be drawn of them if they are to cost less than the plan.
    """

    rooms: tuple[int, ...]
    least_mm2: float
    most_mm2: float


def cheaper_sets(shop: Shop, plan: Sequence[Opened], least_mm2: float) -> list[RollSet]:
    """Return the sets of rolls that may cost less than a plan for the same pieces; first, those that may draw most.

    ``least_mm2`` is the lead that the pieces draw at least, as far as is known; no set holds less. There are none where
    the plan opens so many rolls that there would be too many sets of as many.
    """
    kinds, rolls = len(shop.rooms), len(plan)
    if rolls > _MOST_ROLLS or comb(kinds + rolls - 1, rolls) > _MOST_LOOKED_AT:
        return []
    area = np.array([room.tick_mm2 for room in shop.rooms]) * shop.length
    worth = shop.outlay.problem.offcuts.worth
    cost, blanks, in_one = shop.cost(plan), shop.blanks(plan), _in_one(shop)
    found = []
    for count in range(1, rolls + 2):
        if comb(kinds + count - 1, count) > _MOST_LOOKED_AT:
            break
        sets = np.array(list(combinations_with_replacement(range(kinds), count)), dtype=np.int64)
        whole, price = area[sets].sum(axis=1), shop.price[sets].sum(axis=1)
        at_best = price * (1.0 - worth * np.maximum(0.0, 1.0 - least_mm2 / whole))
        stays = np.maximum(0.0, price - cost) / max(worth, _LEAST_WORTH) * whole / price
        for i in np.flatnonzero((whole >= least_mm2) & (at_best < cost)).tolist():
            rooms = tuple(sets[i].tolist())
            if any(pair in in_one for pair in combinations(rooms, 2)) or not shop.at_hand(rooms):
                continue
            if shop.holds(blanks, rooms):
                found.append(RollSet(rooms, float(at_best[i]), float(whole[i] - stays[i])))
    return sorted(found, key=lambda one: (-one.most_mm2, one.rooms))


def _in_one(shop: Shop) -> set[tuple[int, int]]:
    """Return pairs of rooms in the place of both of which one serves, as wide and as long as both, for no more."""
    price, length, width = shop.price, shop.length, shop.width
    return {
        (a, b)
        for a, b in combinations_with_replacement(range(len(shop.rooms)), 2)
        if width[a] == width[b]
        and np.any(
            shop.endless & (width == width[a]) & (length >= length[a] + length[b]) & (price <= price[a] + price[b])
        )
    }
