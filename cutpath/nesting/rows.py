"""What rows of this kind could yield: an estimate to stand beside the bound, and no bound itself.

Here each piece lies in an endless lane of two blanks, one along its lower edge and one hanging from its upper edge,
again and again, with the best of some lane widths; lanes fill their rolls to the edge. How much of each blank lies in
which lanes is the cheapest mix, a linear program. A real nest has ends, rolls with widths of their own and whole
numbers of pieces, and so mostly draws more. It may draw less where more than two kinds follow each other in a lane.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from math import fsum
from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.lanes import lay_lane
from cutpath.nesting.model import Model, model_of
from cutpath.nesting.shapes import forms, rooms
from cutpath.nesting.shifts import Memory, new_memory
from cutpath.nesting.state import ENDLESS, NONE
from cutpath.nesting.stock import supply_of
from cutpath.nesting.ticks import TICKS_PER_MM
from cutpath.plane import bounds_mm
from cutpath.values.nest import NestProblem

if TYPE_CHECKING:
    from numpy.typing import NDArray

_WIDTHS_TRIED, _LOOKS = 14, 3  # of a lane, in each of so many looks
_NEAR = 8  # blanks of the list, the most alike, that each is tried with
_CODES = 2  # ways to lie on either edge that are tried, those with the longest side on it first
_BEGUN, _PAIRS = 6, 12  # pairs laid: those before a lane has fallen into step, and all
_MOST_KINDS = 120  # blanks, so that it takes a quarter of a second or less


def rows_mm2(problem: NestProblem) -> float | None:
    """Return the lead that endless rows of two blanks each would take, in mm2, runs divided evenly.

    None where nothing is to be cut, too many blanks are unlike, or one goes on no roll.
    """
    problem = problem.divided()
    if not problem.to_cut() or len(problem.to_cut()) > _MOST_KINDS:
        return None
    spaces = rooms(problem)
    model = model_of(problem, forms(problem), supply_of(problem, spaces).stock, spaces)
    lanes = [lane for lane in _LaneMaker(model, max(room.width for room in spaces)).lanes() if np.isfinite(lane[1])]
    lead = min(room.roll.width_mm / room.width for room in spaces if room.width > 0) / TICKS_PER_MM
    return _cheapest([pair for pair, _ in lanes], np.array([area * lead for _, area in lanes]), model)


def boxes_mm2(problem: NestProblem) -> float:
    """Return the area of the boxes about everything to be cut, each as its blank lies, runs divided evenly.

    Rows of boxes lie without gaps of their own, so that rows take no more but for the gap between pieces and trims.
    """
    boxes = [(bounds_mm(blank.outline), blank.quantity) for blank in problem.divided().blanks]
    return fsum((x1 - x0) * (y1 - y0) * quantity for (x0, y0, x1, y1), quantity in boxes)


def _cheapest(pairs: list[tuple[int, int]], costs: NDArray[np.float64], model: Model) -> float | None:
    """Return the least cost of lanes, in parts even, that hold every piece."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    sizes = np.diff(model.kinds.piece_at)
    columns = np.repeat(np.arange(len(pairs)), 2)
    held = csr_array((np.ones(2 * len(pairs)), (np.array(pairs).ravel(), columns)), shape=(len(sizes), len(pairs)))
    found = milp(costs, constraints=LinearConstraint(held, sizes, np.inf), bounds=Bounds(0, np.inf))
    return None if found.x is None else float((costs * found.x).sum())


@dataclass(frozen=True, slots=True)
class _LaneMaker:
    """Lays endless lanes, at most ``most`` ticks wide; holds the arrays that this needs."""

    model: Model
    most: int
    memory: Memory = field(default_factory=lambda: new_memory(16))
    room: list[NDArray[np.int64]] = field(
        default_factory=lambda: [np.zeros(2 * _PAIRS, dtype=np.int64) for _ in range(3)]
    )

    def lanes(self) -> Iterator[tuple[tuple[int, int], float]]:
        """Yield pairs of groups of pieces, and the area in square ticks that each takes in a lane of its own.

        Two of a group in their boxes are among them, so that all find a place.
        """
        model, kinds = self.model, self.model.kinds
        blanks = model.start[kinds.piece_at[:-1]].tolist()
        laid: set[frozenset[int]] = set()
        for group, blank in enumerate(blanks):
            ways = [model.forms[code >> 1] for code in kinds.codes[blank].ravel().tolist() if code != NONE]
            yield (group, group), 2.0 * min(form.width * form.length for form in ways)
            unlike = np.abs(model.likeness - model.likeness[group]).sum(axis=1)
            for other in np.argsort(unlike, kind="stable")[:_NEAR].tolist():
                if (pair := frozenset((group, other))) in laid:
                    continue  # the same lane, turned round
                laid.add(pair)
                pairs = product(self._ways(blank, 0), self._ways(blanks[other], 1))
                yield (group, other), min((self._least(low, high) for low, high in pairs), default=np.inf)

    def _ways(self, blank: int, row: int) -> list[int]:
        """Return some ways to lie in a row, those with the longest side on its edge first."""
        codes = self.model.kinds.codes[blank, row].tolist()
        return [code for code in codes if code != NONE and self.model.forms[code >> 1].width <= self.most][:_CODES]

    def _least(self, low: int, high: int) -> float:
        """Return the least that a pair takes, looking closer and closer at widths of the lane about the best."""
        widths = [self.model.forms[code >> 1].width for code in (low, high)]
        codes = np.array([low, high] * _PAIRS, dtype=np.int64)
        least, most = max(widths), min(self.most, sum(widths))
        best = np.inf
        for _ in range(_LOOKS):
            tried = np.linspace(least, most, _WIDTHS_TRIED).astype(np.int64)
            areas = [self._area(codes, height) for height in tried.tolist()]
            at = int(np.argmin(areas))
            best = min(best, areas[at])
            least, most = tried[max(0, at - 1)], tried[min(_WIDTHS_TRIED - 1, at + 1)]
        return best

    def _area(self, codes: NDArray[np.int64], height: int) -> float:
        """Return what a pair takes in a lane so wide, once both its rows have fallen into step."""
        lay_lane(self.model.form_arrays, self.memory, codes, len(codes), 0, height, ENDLESS, *self.room)
        at = self.room[0].item
        end, begun = 2 * _PAIRS, 2 * _BEGUN
        return float(height) * float(max(at(end - 2) - at(begun - 2), at(end - 1) - at(begun - 1))) / (_PAIRS - _BEGUN)
