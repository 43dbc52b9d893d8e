"""Runs of leadwork: what a survey is developed into, and what can be cut into lengths.

Where a run is cut is decided later (`cutpath.pieces`), so a run gives the pattern of any length of itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cutpath.values.pattern import FlatPattern


class Run:
    """What a survey is developed into: a run that can be cut into lengths, or patterns that are never divided."""

    __slots__ = ()


CutLength = Callable[[float, float, float | None, float | None], FlatPattern]


@dataclass(frozen=True, slots=True)
class FreeRun(Run):
    """A run that may be cut anywhere between ``start_mm`` and ``end_mm``.

    ``cut(start, end, lap_below, lap_above)`` develops a length. ``keep_start_mm`` and ``keep_end_mm`` belong to the
    first and last length undivided (corners). ``extras`` are separate patterns and how many each set needs.
    """

    start_mm: float
    end_mm: float
    keep_start_mm: float
    keep_end_mm: float
    cut: CutLength
    extras: tuple[tuple[FlatPattern, int], ...] = ()


@dataclass(frozen=True, slots=True)
class SinglePattern(Run):
    """A pattern that is never divided, needed ``count`` times for each set and hand.

    ``may_flip``: it may lie face down on the roll. ``limited``: it may be longer than a length may be, so that is said.
    """

    pattern: FlatPattern
    count: int
    may_flip: bool = False
    limited: bool = False


@dataclass(frozen=True, slots=True)
class PatternSet(Run):
    """Patterns that belong together in fitting order, none to be divided further, and how many each set needs."""

    patterns: tuple[tuple[FlatPattern, int], ...]
