"""Lanes side by side: the most that a choice of lanes is worth on each width, as a knapsack of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from cutpath.nesting.ticks import TICKS_PER_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

GRID = TICKS_PER_MM // 2  # on which widths of lanes are added up
NOTHING = -1  # the choice of no lane


def steps_of(heights: Sequence[int]) -> NDArray[np.int64]:
    """Return widths of lanes in ticks as steps of the grid, rounded up."""
    return -(-np.asarray(heights, dtype=np.int64) // GRID)


def best_up_to(values: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return for each place the largest of the values up to it, and where that stands."""
    top = np.maximum.accumulate(values)
    return top, np.maximum.accumulate(np.where(values == top, np.arange(len(values)), 0))


class Knapsack:
    """Lanes in their order, each taken once at most; two that hold the same piece do not go together.

    Attributes
    ----------
    choice : array, shape (wide + 1,)
        While lanes are gone through, the best choice of lanes on exactly so many steps of width (see `Paths.lanes`).
    held : array, shape (wide + 1, words)
        The bits of what these hold.
    """

    def __init__(self, heights: NDArray[np.int64], taken: NDArray[np.uint64], wide: int) -> None:
        """Take widths of lanes in steps, the bits of what only one lane can hold of each, and the greatest width."""
        self.heights, self.taken, self.wide = heights, taken, wide
        self.choice = np.full(wide + 1, NOTHING, dtype=np.int64)
        self.held = np.zeros((wide + 1, taken.shape[1]), dtype=np.uint64)
        self._lane: list[NDArray[np.int64]] = []
        self._before: list[NDArray[np.int64]] = []

    def through(self, worth: NDArray[np.float64]) -> Iterator[tuple[int, NDArray[np.float64]]]:
        """Go through the lanes; yield each with what lanes before it are worth on each width, if they go with it."""
        best = np.full(self.wide + 1, -np.inf)
        best[0] = 0.0
        choices = 0
        for i, high in enumerate(self.heights.tolist()):
            clear = (self.held & self.taken[i]).max(axis=1) == 0
            base = np.where(clear, best, -np.inf)
            yield i, base
            if high > self.wide:
                continue
            sums = base[: self.wide + 1 - high] + worth[i]
            gains = np.flatnonzero(sums > best[high:])
            if not gains.size:
                continue
            value, before, held = sums[gains], self.choice[gains], self.held[gains] | self.taken[i]
            best[gains + high], self.held[gains + high] = value, held
            self.choice[gains + high] = np.arange(choices, choices + len(gains))
            self._lane.append(np.full(len(gains), i))
            self._before.append(before)
            choices += len(gains)

    def paths(self) -> Paths:
        """Return what the choices are, once all lanes were gone through."""
        none = np.empty(0, dtype=np.int64)
        return Paths(np.concatenate([none, *self._lane]), np.concatenate([none, *self._before]))


class Paths:
    """Choices of lanes, each by the last lane in it and the choice before that."""

    def __init__(self, lane: NDArray[np.int64], before: NDArray[np.int64]) -> None:
        """Take both by the number of the choice."""
        self._lane, self._before = lane, before

    def lanes(self, choice: int) -> tuple[int, ...]:
        """Return the lanes of a choice in their order."""
        out: list[int] = []
        while choice != NOTHING:
            out.append(int(self._lane[choice]))
            choice = int(self._before[choice])
        return tuple(reversed(out))
