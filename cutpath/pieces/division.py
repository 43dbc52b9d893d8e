"""Where a run may be divided into lengths, and the pattern of each length.

Terminology
-----------
Joint: a place where a length may begin; joints of a run are numbered from its first end (0) to its other end. The
length below a joint runs on past it by the lap.
Division: the joints at which a run is divided, with both ends.

A step flashing has its joints at risers, so that lap and length are whole steps. A level strip may be divided
anywhere; what is tried besides equal lengths are joints on a grid round theirs.

The even division has the fewest lengths, as equal as can be. Others that have as many lengths may suit the rolls
better; `allowed` lists the lengths that they are made of. None of these is shorter than `LEAST_LENGTH_MM`, except
where even ones are (common practice, no source: short lengths bring more laps and fixings for the same wall).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

from cutpath.families.runs import FreeRun
from cutpath.families.step_flashing.pattern import length_between
from cutpath.families.step_flashing.run import StepRun
from cutpath.tolerances import NODE_MM, POINT_MM
from cutpath.values.nest import Division
from cutpath.values.pattern import FlatPattern

LEAST_LENGTH_MM = 500.0
_STEPS_AWAY = 4  # a joint of steps is tried so many steps away from the even one
_GRID_MM, _GRID_AWAY = 25.0, 8  # a joint of a level strip is tried at so many places on either side


class Lengths(Protocol):
    """A run with its even division: what may be cut, and the patterns of any sound division."""

    @property
    def even(self) -> Division:
        """Joints of the fewest, most equal lengths."""

    def allowed(self) -> Iterator[tuple[int, int]]:
        """Return the joints of each length that a division with as many lengths may hold."""

    def patterns(self, division: Division) -> list[FlatPattern]:
        """Return the lengths of a division from the first joint on, lap marks and all."""

    def outline(self, first: int, last: int) -> FlatPattern:
        """Return the pattern of the length between two joints; its lap marks say nothing."""


@dataclass(frozen=True, slots=True)
class StepLengths:
    """A run of step flashing; joints are its stations."""

    run: StepRun
    longest_mm: float
    lap_mm: float
    corner_end: int | None
    even: Division

    def _end(self, joint: int) -> int:
        """Return the station where the length below a joint ends."""
        steps = len(self.run.steps)
        return steps if joint == steps else lap_end(joint, steps, self.run.lap_mm, self.lap_mm)

    def allowed(self) -> Iterator[tuple[int, int]]:
        """Return the joints of each length that a division with as many lengths may hold."""
        steps = len(self.run.steps)
        choices = [
            [0],
            *(
                [
                    joint
                    for joint in range(max(1, middle - _STEPS_AWAY), min(steps, middle + _STEPS_AWAY + 1))
                    if self.run.lap_mm(0, joint) > POINT_MM and self._end(joint) < steps
                ]
                for middle in self.even[1:-1]
            ),
            [steps],
        ]
        evens = (self.run.length_mm(a, self._end(b)) for a, b in pairwise(self.even))
        least = min(LEAST_LENGTH_MM, *evens) - POINT_MM

        def may_be_cut(first: int, last: int) -> bool:
            if first >= last or (self._end(last) <= self._end(first) and first):
                return False
            return least <= self.run.length_mm(first, self._end(last)) <= self.longest_mm + POINT_MM

        return _chained(choices, may_be_cut)

    def patterns(self, division: Division) -> list[FlatPattern]:
        """Return the lengths of a division from the first joint on, lap marks and all."""
        steps, below, out = len(self.run.steps), self.corner_end, []
        for first, last in pairwise(division):
            end = self._end(last)
            # A lap mark that would fall on the length's own end is dropped.
            mark = None if below is None or below >= end else below
            out.append(length_between(self.run, first, end, lap_below=mark, lap_above=None if last == steps else last))
            below = end
        return out

    def outline(self, first: int, last: int) -> FlatPattern:
        """Return the pattern of the length between two joints; its lap marks say nothing."""
        return length_between(self.run, first, self._end(last), lap_below=None, lap_above=None)


@dataclass(frozen=True, slots=True)
class FreeLengths:
    """A level strip; ``at_mm`` are the joints that are tried, the ends of the strip first and last."""

    run: FreeRun
    longest_mm: float
    lap_mm: float
    at_mm: tuple[float, ...]
    even: Division

    def _ends(self, first: int, last: int) -> tuple[float, float]:
        beyond = self.lap_mm if last < len(self.at_mm) - 1 else 0.0
        return self.at_mm[first], self.at_mm[last] + beyond

    def allowed(self) -> Iterator[tuple[int, int]]:
        """Return the joints of each length that a division with as many lengths may hold."""
        first, last = self.run.start_mm + self.run.keep_start_mm, self.run.end_mm - self.run.keep_end_mm
        each = 2 * _GRID_AWAY + 1
        choices = [
            [0],
            *(
                [
                    joint
                    for joint in range(1 + m * each, 1 + (m + 1) * each)
                    if self.at_mm[joint] + self.lap_mm >= first + POINT_MM and self.at_mm[joint] <= last - POINT_MM
                ]
                for m in range(len(self.even) - 2)
            ),
            [len(self.at_mm) - 1],
        ]
        least = (
            min(LEAST_LENGTH_MM, *(b - a for a, b in (self._ends(*ends) for ends in pairwise(self.even)))) - POINT_MM
        )

        def may_be_cut(first: int, last: int) -> bool:
            start, end = self._ends(first, last)
            return max(least, self.lap_mm) <= end - start <= self.longest_mm + POINT_MM

        return _chained(choices, may_be_cut)

    def patterns(self, division: Division) -> list[FlatPattern]:
        """Return the lengths of a division from the first joint on, lap marks and all."""
        out = []
        for first, last in pairwise(division):
            start, end = self._ends(first, last)
            below = start + self.lap_mm if first else None
            above = self.at_mm[last] if last < len(self.at_mm) - 1 else None
            out.append(self.run.cut(start, end, below, above))
        return out

    def outline(self, first: int, last: int) -> FlatPattern:
        """Return the pattern of the length between two joints; its lap marks say nothing."""
        return self.run.cut(*self._ends(first, last), None, None)


def _chained(choices: list[list[int]], may_be_cut: Callable[[int, int], bool]) -> Iterator[tuple[int, int]]:
    """Return the lengths between joints of neighbouring lists that belong to some whole division."""
    links = [[(a, b) for a in low for b in high if may_be_cut(a, b)] for low, high in pairwise(choices)]
    ahead = set(choices[0])
    for i, pairs in enumerate(links):
        links[i] = [pair for pair in pairs if pair[0] in ahead]
        ahead = {b for _, b in links[i]}
    behind = set(choices[-1])
    for i in reversed(range(len(links))):
        links[i] = [pair for pair in links[i] if pair[1] in behind]
        behind = {a for a, _ in links[i]}
    return iter(sorted({pair for pairs in links for pair in pairs}))


def step_lengths(run: StepRun, longest_mm: float, lap_mm: float, corner_end: int | None) -> StepLengths | None:
    """Divide a run of step flashing evenly; None when no division keeps the longest length and the lap."""
    cuts = divide_at_stations(len(run.steps), run.length_mm, run.lap_mm, longest_mm, lap_mm)
    if cuts is None:
        return None
    return StepLengths(run, longest_mm, lap_mm, corner_end, (*(first for first, _ in cuts), len(run.steps)))


def free_lengths(run: FreeRun, longest_mm: float, lap_mm: float) -> FreeLengths | None:
    """Divide a strip evenly; None when no division keeps the longest length, the lap and the corners whole."""
    cuts = divide_evenly(run.start_mm, run.end_mm, longest_mm, lap_mm)
    corners = [run.start_mm + run.keep_start_mm, run.end_mm - run.keep_end_mm]
    if cuts is None:
        return None
    if len(cuts) > 1:
        first_end, last_start = cuts[1][0], cuts[-2][1]
        if first_end < corners[0] + POINT_MM or last_start > corners[1] - POINT_MM:
            return None
    starts = [start for start, _ in cuts[1:]]
    grid = [start + _GRID_MM * away for start in starts for away in range(-_GRID_AWAY, _GRID_AWAY + 1)]
    each = 2 * _GRID_AWAY + 1
    even = (0, *(1 + m * each + _GRID_AWAY for m in range(len(starts))), len(grid) + 1)
    return FreeLengths(run, longest_mm, lap_mm, (run.start_mm, *grid, run.end_mm), even)


def lap_end(joint: int, steps: int, overlap_mm: Callable[[int, int], float], lap_mm: float) -> int:
    """Return the nearest station that is a lap or more beyond ``joint``; the last one when none is.

    A riser raked so far that its foot would lie beyond the upper end of the run is none to end on.
    """

    def serves(end: int) -> bool:
        return overlap_mm(joint, end) >= lap_mm - POINT_MM and overlap_mm(end, steps) > POINT_MM

    return next(filter(serves, range(joint + 1, steps)), steps)


def divide_at_stations(
    steps: int,
    length_mm: Callable[[int, int], float],
    overlap_mm: Callable[[int, int], float],
    longest_mm: float,
    lap_mm: float,
) -> list[tuple[int, int]] | None:
    """Divide stations 0..steps into the fewest, most even lengths that lap by whole steps.

    Parameters
    ----------
    steps : int
        Number of steps; stations are 0 to ``steps``.
    length_mm, overlap_mm : callable
        Developed length of a piece between two stations, and the lap of two lengths that share them.

    Returns
    -------
    list of (first, last) from the bottom up, or None when no division keeps the limit.
    """
    slack = POINT_MM
    best: dict[tuple[int, int], tuple[int, float, tuple[int, int] | None]] = {}

    def reach(first: int, ends: range, before: tuple[int, int] | None) -> None:
        """Note the pieces from ``first`` that are short enough, on top of the best way to get there."""
        count, squares = (best[before][0], best[before][1]) if before else (0, 0.0)
        for last in ends:
            size = length_mm(first, last)
            if size > longest_mm + slack:
                return
            best[first, last] = (count + 1, squares + size * size, before)

    reach(0, range(1, steps + 1), None)
    for first in range(1, steps):
        if overlap_mm(0, first) <= slack:
            continue  # a riser raked so far that its foot would lie below the lower end of the run
        # A piece from `first` laps over one that ends at the nearest station at least a lap further on.
        end = lap_end(first, steps, overlap_mm, lap_mm)
        befores = [b for b in ((start, end) for start in range(first)) if b in best]
        if befores:
            reach(first, range(end + 1, steps + 1), min(befores, key=lambda b: best[b][:2]))
    finals = [b for b in best if b[1] == steps]
    if not finals:
        return None
    at: tuple[int, int] | None = min(finals, key=lambda b: best[b][:2])
    chain = []
    while at is not None:
        chain.append(at)
        at = best[at][2]
    return chain[::-1]


def divide_evenly(start_mm: float, end_mm: float, longest_mm: float, lap_mm: float) -> list[tuple[float, float]] | None:
    """Divide a stretch into the fewest lengths that lap, as equal as can be; None when the lap eats the longest length.

    All but the last are alike and of whole millimetres, so that lengths and laps as they are printed come to the
    stretch; the last takes what is left, less than a millimetre to each of the others shorter.
    """
    total = end_mm - start_mm
    if total <= longest_mm + POINT_MM:
        return [(start_mm, end_mm)]
    if longest_mm <= lap_mm + POINT_MM:
        return None
    count = math.ceil((total - lap_mm - POINT_MM) / (longest_mm - lap_mm))
    equal = (total + (count - 1) * lap_mm) / count
    each = min(float(math.ceil(equal - NODE_MM)), longest_mm)
    starts = [start_mm + i * (each - lap_mm) for i in range(count)]
    return [(s, end_mm if i == count - 1 else s + each) for i, s in enumerate(starts)]
