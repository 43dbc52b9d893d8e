"""Rolls that are opened, as the search for whole rolls sees them: bundles one behind another on each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.model import Bundle, Model
from cutpath.nesting.outlay import Outlay
from cutpath.nesting.pool import blanks_in
from cutpath.nesting.rolls import fewest_bins
from cutpath.nesting.shapes import Room
from cutpath.nesting.state import ENDLESS, NONE, Stock
from cutpath.nesting.ticks import TICKS_PER_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

_OWN, _BEHIND, _NEW = 0.1, 1.6, 2.0  # price of lead on rolls chosen, behind their ends, and on others
_LONGER = 1.1  # than the roll a bundle may be, where lead behind its end is dear


@dataclass(frozen=True, slots=True)
class Opened:
    """A roll of a kind (index of its room) and the bundles on it."""

    room: int
    bundles: tuple[Bundle, ...]

    @property
    def length(self) -> int:
        """Length of all bundles, in ticks."""
        return sum(bundle.length for bundle in self.bundles)

    @property
    def across(self) -> int:
        """Width of the widest bundle, in ticks."""
        return max(bundle.across for bundle in self.bundles)

    @property
    def pieces(self) -> int:
        """How many pieces are cut from it."""
        return sum(len(lane.codes) for bundle in self.bundles for lane in bundle.lanes)


class Shop:
    """The rooms of a problem with what each costs, and what can be asked of opened rolls."""

    def __init__(self, model: Model, rooms: Sequence[Room], outlay: Outlay) -> None:
        self.model, self.rooms, self.outlay = model, rooms, outlay
        self.width = np.array([room.width for room in rooms], dtype=np.int64)
        self.length = np.array([room.length for room in rooms], dtype=np.int64)
        self.price = np.array([outlay.opened_mm2(room.roll) for room in rooms])
        self.number = [room.roll.quantity for room in rooms]
        self.endless = np.array([quantity is None for quantity in self.number])
        self.widths = sorted(set(self.width[self.endless].tolist()))

    def rest_mm(self, room: int, length: int) -> float:
        """Return the length that stays on a roll behind ``length`` ticks."""
        return float((self.length[room] - length) / TICKS_PER_MM)

    def cost(self, opened: Iterable[Opened]) -> float:
        """Sum what rolls cost, in mm2; offcuts kept within what is drawn are left out."""
        return fsum(self.cost_of(o.room, o.length) for o in opened)

    def cost_of(self, room: int, along: int) -> float:
        """Return what a roll costs of which ``along`` ticks are drawn, in mm2."""
        return float(self.price[room]) - self.outlay.stays_mm2(self.rooms[room].roll, self.rest_mm(room, along))

    def drawn(self, opened: Iterable[Opened]) -> float:
        """Lead drawn, in mm2 by what it costs on each roll."""
        return fsum(
            self.outlay.rate(roll) * roll.width_mm * o.length / TICKS_PER_MM
            for o in opened
            for roll in (self.rooms[o.room].roll,)
        )

    def area(self, opened: Iterable[Opened]) -> float:
        """Lead drawn, in mm2."""
        return fsum(self.rooms[o.room].tick_mm2 * o.length for o in opened)

    def cut(self, opened: Iterable[Opened]) -> list[tuple[int, int]]:
        """Return the blank of each piece on the rolls, and the piece."""
        lanes = [lane for o in opened for bundle in o.bundles for lane in bundle.lanes]
        return [
            (blank, piece)
            for lane in lanes
            for blank, piece in zip(blanks_in(self.model, lane).tolist(), lane.pieces.tolist(), strict=True)
        ]

    def blanks(self, opened: Iterable[Opened]) -> NDArray[np.int64]:
        """Blank of each piece on the rolls."""
        lanes = [lane for o in opened for bundle in o.bundles for lane in bundle.lanes]
        found: NDArray[np.int64] = self.model.kinds.form_blank[np.concatenate([lane.codes for lane in lanes]) >> 1]
        return found

    def in_number(self, opened: Sequence[Opened]) -> bool:
        """Tell whether there are as many rolls of each kind."""
        return self.at_hand([o.room for o in opened])

    def at_hand(self, rooms: Sequence[int]) -> bool:
        """Tell whether there is a roll for each time that a room is named."""
        used = np.bincount(rooms, minlength=len(self.rooms))
        return all(number is None or count <= number for number, count in zip(self.number, used, strict=True))

    def on_cheapest(self, opened: Opened) -> Opened:
        """Return the bundles of a roll the cheapest kind that there is no end of, where that is cheaper."""
        serve = np.flatnonzero(self.endless & (self.width >= opened.across) & (self.length >= opened.length))
        ways = [opened, *(replace(opened, room=int(room)) for room in serve)]
        return min(ways, key=lambda way: (round(self.cost([way])), self.price[way.room]))

    def packed(self, bundles: Iterable[Bundle], width_of: Sequence[int]) -> list[Opened]:
        """Lay bundles one behind another on rolls that there is no end of; ``width_of`` is by a bundle's roll."""
        held: dict[int, list[Bundle]] = {}
        for bundle in bundles:
            held.setdefault(width_of[bundle.roll], []).append(bundle)
        out: list[Opened] = []
        for width, mine in sorted(held.items()):
            mine.sort(key=lambda bundle: -bundle.length)
            room = self.longest(width)
            bins = fewest_bins([bundle.length for bundle in mine], int(self.length[room]))
            out += [self.on_cheapest(Opened(room, tuple(mine[i] for i in group))) for group in bins]
        return out

    def longest(self, width: int) -> int:
        """Return the longest kind of a width that there is no end of."""
        rooms = np.flatnonzero(self.endless & (self.width == width))
        return int(rooms[np.argmax(self.length[rooms])])

    def holds(self, blanks: NDArray[np.int64], rooms: Sequence[int]) -> bool:
        """Tell whether each of the blanks goes on one of the rooms by itself."""
        forms, codes = self.model.forms, self.model.kinds.codes
        return all(
            any(
                forms[form].width <= self.width[room] and forms[form].length <= self.length[room]
                for form in {int(code) >> 1 for code in codes[blank].ravel() if code != NONE}
                for room in rooms
            )
            for blank in np.unique(blanks).tolist()
        )

    def kinds(self) -> list[int]:
        """Return the rooms that there is no end of, the narrow and short ones first."""
        return sorted(np.flatnonzero(self.endless).tolist(), key=lambda r: (self.width[r], self.length[r]))

    def own_rolls(self, left: float) -> Stock:
        """Return a stock of what there is no end of, where a bundle takes a roll of its own; ``left`` as in `Stock`."""
        kinds = self.kinds()
        width, length = self.width[kinds], self.length[kinds]
        none = np.zeros(len(kinds))
        return Stock(
            width, length, self.price[kinds] / length, np.full(len(kinds), ENDLESS, dtype=np.int64),
            np.full(len(kinds), left), none.astype(np.int64), none, none.astype(np.bool_),
            np.array([0.0, np.inf]), self.model.stock.kept, np.array([1.0, 0.0]),
        )  # fmt: skip

    def chosen_rolls(self, order: Sequence[int]) -> Stock:
        """Return a stock of rolls chosen, each by itself, and new lead of every width.

        Lead on the rolls is nearly free up to their ends, and dear behind these: what is a little too long is on the
        way to what is not. Of new lead nothing is to be filled.
        """
        rooms = [*order, *(self.longest(width) for width in self.widths)]
        length, n = self.length[rooms], len(rooms)
        rate = self.price[rooms] / length
        chosen, none = np.arange(n) < len(order), np.zeros(n)
        return Stock(
            self.width[rooms], np.where(chosen, _LONGER * length, length).astype(np.int64),
            rate * np.where(chosen, _OWN, _NEW), np.full(n, ENDLESS, dtype=np.int64), none,
            np.where(chosen, length, 0), rate * np.where(chosen, _BEHIND - _OWN, 0.0), none.astype(np.bool_),
            np.array([0.0, np.inf]), self.model.stock.kept, np.array([1.0, 0.0]),
        )  # fmt: skip
