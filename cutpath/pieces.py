"""Runs to pieces: lengths that lead can stand, laps between them, hands, numbers in fitting order.

A step flashing is divided at its stations (risers), so that lap and length are whole steps; a level strip may be
divided anywhere and is cut into equal lengths. The fewest lengths are taken, then the most even ones.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from cutpath.errors import Finding, Severity
from cutpath.patterns import FreeRun, PatternSet, Run, SinglePattern, StepRun, develop
from cutpath.patterns.frame import mirror_image
from cutpath.patterns.step import section
from cutpath.tolerances import POINT_MM
from cutpath.values.pattern import FlatPattern
from cutpath.values.piece import Piece
from cutpath.values.survey import CornerKind, Detail, DetailHead, Hand, Job, PlainOutline

Pieces = tuple[Piece, ...]
Findings = tuple[Finding, ...]


def pieces_of(jobs: Iterable[Job]) -> tuple[Pieces, Findings]:
    """Develop and split every detail of every job.

    Returns
    -------
    pieces, findings
        Details with a fault give no pieces; all findings of all jobs come at once.
    """
    pieces: list[Piece] = []
    findings: list[Finding] = []
    for job in jobs:
        for detail in job.details:
            run, found = develop(detail)
            findings += found
            if run is not None:
                cut, found = split(job, detail, run)
                pieces += cut
                findings += found
    return tuple(pieces), tuple(findings)


def split(job: Job, detail: Detail, run: Run) -> tuple[Pieces, Findings]:
    """Cut one run into numbered pieces for each hand."""
    head = detail.head
    match run:
        case StepRun():
            lengths, findings = _step_lengths(run, head)
            patterns = [(p, 1) for p in lengths]
        case FreeRun():
            lengths, findings = _free_lengths(run, head)
            patterns = [(p, 1) for p in lengths] + (list(run.extras) if lengths else [])
        case SinglePattern():
            patterns, findings = [(run.pattern, run.count)], _too_long(run.pattern, detail)
        case PatternSet():
            patterns, findings = list(run.patterns), ()
    pieces = [
        Piece(
            id=f"{job.mark}-{head.label}-{hand.letter if hand else ''}{number}",
            job=job.name,
            detail=head.label,
            number=number,
            of=len(patterns),
            hand=hand,
            quantity=head.quantity * count,
            lead=head.lead,
            pattern=mirror_image(pattern) if hand is Hand.LEFT else pattern,
            where=head.origin.key(""),
            may_flip=isinstance(detail, PlainOutline) and detail.may_flip,
        )
        for hand in (head.hands or (None,))
        for number, (pattern, count) in enumerate(patterns, 1)
    ]
    return tuple(pieces), findings


def _too_long(pattern: FlatPattern, detail: Detail) -> Findings:
    limit = detail.head.longest_mm
    if not isinstance(detail, PlainOutline) or pattern.length_mm <= limit + POINT_MM:
        return ()
    return (
        Finding(
            "CP302",
            detail.head.origin.key(""),
            f"a shape of your own is {pattern.length_mm:.0f} mm long",
            f"at most {limit:.0f} mm in {detail.head.lead.material}",
            "divide it into lengths with laps; long lead cracks as it warms and cools",
            Severity.WARNING,
        ),
    )


def _no_length(head: DetailHead, why: str) -> Findings:
    return (
        Finding(
            "CP309",
            head.origin.key("longest"),
            f"no division keeps every length within {head.longest_mm:.0f} mm with laps of {head.lap_mm:.0f} mm",
            "lengths that hold " + why,
            "allow a longer length, a shorter lap, or a separate corner piece",
        ),
    )


def _step_lengths(run: StepRun, head: DetailHead) -> tuple[list[FlatPattern], Findings]:
    cuts = divide_at_stations(len(run.steps), run.length_mm, run.lap_mm, head.longest_mm, head.lap_mm)
    if cuts is None:
        return [], _no_length(head, "a lap of whole steps and at least one step more")
    patterns = []
    corner_end = None
    if run.survey.corner.kind is CornerKind.SEPARATE:
        corner_end = next((j for j in range(1, len(run.steps) + 1) if run.lap_mm(0, j) >= head.lap_mm - POINT_MM), None)
        if corner_end is None:
            return [], _no_length(head, "a corner piece that laps under the run")
        corner = section(run, 0, corner_end, lap_below=None, lap_above=None, with_return=True)
        if corner.length_mm > head.longest_mm + POINT_MM:
            return [], _no_length(head, "the return and its lap in one corner piece")
        patterns.append(corner)
    for i, (first, last) in enumerate(cuts):
        below = cuts[i - 1][1] if i else corner_end
        above = cuts[i + 1][0] if i + 1 < len(cuts) else None
        patterns.append(section(run, first, last, lap_below=_inside(below, last), lap_above=above))
    return patterns, ()


def _inside(station: int | None, last: int) -> int | None:
    """Drop a lap mark that would fall on the piece's own end."""
    return None if station is None or station >= last else station


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
        end = next((j for j in range(first + 1, steps + 1) if overlap_mm(first, j) >= lap_mm - slack), steps)
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


def _free_lengths(run: FreeRun, head: DetailHead) -> tuple[list[FlatPattern], Findings]:
    cuts = divide_evenly(run.start_mm, run.end_mm, head.longest_mm, head.lap_mm)
    corners = [run.start_mm + run.keep_start_mm, run.end_mm - run.keep_end_mm]
    if cuts is not None and len(cuts) > 1:
        first_end, last_start = cuts[1][0], cuts[-2][1]
        if first_end < corners[0] + POINT_MM or last_start > corners[1] - POINT_MM:
            cuts = None
    if cuts is None:
        return [], _no_length(head, "their corner whole and a lap")
    patterns = []
    for i, (start, end) in enumerate(cuts):
        below = cuts[i - 1][1] if i else None
        above = cuts[i + 1][0] if i + 1 < len(cuts) else None
        patterns.append(run.cut(start, end, below, above))
    return patterns, ()


def divide_evenly(start_mm: float, end_mm: float, longest_mm: float, lap_mm: float) -> list[tuple[float, float]] | None:
    """Divide a stretch into the fewest equal lengths that lap; None when the lap eats the longest length."""
    total = end_mm - start_mm
    if total <= longest_mm + POINT_MM:
        return [(start_mm, end_mm)]
    if longest_mm <= lap_mm + POINT_MM:
        return None
    count = math.ceil((total - lap_mm - POINT_MM) / (longest_mm - lap_mm))
    each = (total + (count - 1) * lap_mm) / count
    starts = [start_mm + i * (each - lap_mm) for i in range(count)]
    return [(s, end_mm if i == count - 1 else s + each) for i, s in enumerate(starts)]
