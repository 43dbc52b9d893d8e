"""Survey to flat patterns: one module for each family of leadwork.

`develop` turns one surveyed detail into a run: something that can be cut into lengths. Where a run is cut is
decided later (`cutpath.pieces`), so a run gives the pattern of any length of itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from cutpath.errors import Finding, faults
from cutpath.patterns import abutment, apron, cover, gutter, outline, pipe, saddle, soaker, step, strips
from cutpath.patterns.step import StepRun
from cutpath.values.pattern import FlatPattern
from cutpath.values.survey import (
    AbutmentGutter,
    Apron,
    BackGutter,
    CoverFlashing,
    Detail,
    PipeSlate,
    PlainOutline,
    RidgeSaddle,
    Soakers,
    StepFlashing,
    TopAbutment,
    ValleyGutter,
)

__all__ = ["FreeRun", "PatternSet", "Run", "SinglePattern", "StepRun", "develop"]

CutLength = Callable[[float, float, float | None, float | None], FlatPattern]


@dataclass(frozen=True, slots=True)
class FreeRun:
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
class SinglePattern:
    """A pattern that is never divided, needed ``count`` times for each set and hand."""

    pattern: FlatPattern
    count: int


@dataclass(frozen=True, slots=True)
class PatternSet:
    """Patterns that belong together in fitting order, none to be divided further, and how many each set needs."""

    patterns: tuple[tuple[FlatPattern, int], ...]


Run = StepRun | FreeRun | SinglePattern | PatternSet


def develop(detail: Detail) -> tuple[Run | None, tuple[Finding, ...]]:
    """Develop one surveyed detail, right-handed.

    Returns
    -------
    run, findings
        ``run`` is None when a finding is a fault.
    """
    match detail:
        case StepFlashing():
            return step.lay_out(detail)
        case Soakers():
            return SinglePattern(soaker.soaker(detail), detail.count), ()
        case CoverFlashing():
            findings = cover.check(detail)
            reach = detail.return_mm
            ends = (-reach, detail.length_mm + reach)
            strip = FreeRun(*ends, reach, reach, partial(cover.cover_length, detail))
            return (None if faults(findings) else strip), findings
        case BackGutter():
            patterns, findings = gutter.lay_out(detail)
            return (None if faults(findings) else PatternSet(patterns)), findings
        case Apron():
            findings = apron.check(detail)
            start, end = apron.run_ends_mm(detail)
            filler = apron.gusset(detail)
            extras = ((filler, 2),) if filler else ()
            keep = detail.side_mm
            run: Run = FreeRun(start, end, keep, keep, partial(apron.apron_length, detail), extras)
            return (None if faults(findings) else run), findings
        case RidgeSaddle():
            wedge = saddle.gusset(detail)
            return PatternSet(((saddle.saddle(detail), 1), *(((wedge, 1),) if wedge else ()))), ()
        case TopAbutment():
            stops = detail.stop_left_mm, detail.stop_right_mm
            cut = partial(abutment.abutment_length, detail)
            return FreeRun(-stops[0], detail.length_mm + stops[1], *stops, cut), ()
        case ValleyGutter():
            findings = strips.check_valley(detail)
            strip = FreeRun(0.0, detail.length_mm, 0.0, 0.0, partial(strips.valley_length, detail))
            return (None if faults(findings) else strip), findings
        case AbutmentGutter():
            return FreeRun(0.0, detail.length_mm, 0.0, 0.0, partial(strips.abutment_gutter_length, detail)), ()
        case PipeSlate():
            return PatternSet(((pipe.base(detail), 1), (pipe.sleeve(detail), 1))), ()
        case PlainOutline():
            findings = outline.check(detail)
            return (None if faults(findings) else SinglePattern(outline.outline(detail), 1)), findings
