"""Runs to pieces: lengths that suit the lead, laps between them, hands, numbers in fitting order.

Where a run may be divided stands in `cutpath.pieces.division`. A run is divided evenly unless a nest chose otherwise;
the number of lengths, and so the numbers of the pieces, are the same either way.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from cutpath.errors import Finding
from cutpath.families.frame import mirror_image, mirrored_ring
from cutpath.families.registry import develop
from cutpath.families.runs import FreeRun, PatternSet, Run, SinglePattern
from cutpath.families.step_flashing.pattern import length_between
from cutpath.families.step_flashing.run import StepRun
from cutpath.pieces.division import Lengths, free_lengths, lap_end, step_lengths
from cutpath.tolerances import POINT_MM
from cutpath.trade.fixings import with_fixings
from cutpath.trade.rules import Practice, said
from cutpath.values.leadwork import CornerKind
from cutpath.values.nest import QUARTER_TURNS, Blank, Division, RunChoice, RunLength
from cutpath.values.pattern import FlatPattern, PartKind
from cutpath.values.piece import Piece
from cutpath.values.survey import Detail, DetailHead, Hand, Job, Lead

_KEPT = 4096
"""Runs that are kept with their lengths: pieces, choices of joints and the pieces of a chosen division ask for each."""

Pieces = tuple[Piece, ...]
Findings = tuple[Finding, ...]


def pieces_of(jobs: Iterable[Job], divisions: Mapping[str, Division] | None = None) -> tuple[Pieces, Findings]:
    """Develop and split every detail of every job.

    Parameters
    ----------
    divisions : mapping, optional
        Divisions of runs by the numbers of `run_choices`; runs that are not named are divided evenly.

    Returns
    -------
    pieces, findings
        Details with a fault give no pieces; all findings of all jobs come at once.
    """
    pieces: list[Piece] = []
    findings: list[Finding] = []
    for job in jobs:
        for detail in job.details:
            run, found = _developed(detail)
            findings += found
            if run is not None:
                cut, found = split(job, detail, run, divisions)
                pieces += cut
                findings += found
    return tuple(pieces), tuple(findings)


def fixed_pieces(
    jobs: Iterable[Job], divisions: Mapping[str, Division], practice: Practice, *, either_face: bool
) -> tuple[Pieces, Findings]:
    """Return pieces as `pieces_of` does, with their fixings placed; with ``either_face`` all may be cut face down."""
    pieces, findings = pieces_of(jobs, divisions)
    return with_fixings((replace(p, may_flip=p.may_flip or either_face) for p in pieces), practice), findings


def run_choices(jobs: Iterable[Job]) -> tuple[tuple[Lead, RunChoice], ...]:
    """Return every run that may be divided in more than one way, with its lead, for the nest to choose from.

    Sets that are made several times alike are divided evenly, so that all sets of a job are the same.
    """
    out = []
    for job in jobs:
        for detail in job.details:
            run = _developed(detail)[0] if detail.head.quantity == 1 else None
            lengths = _lengths(run, detail.head) if isinstance(run, StepRun | FreeRun) else None
            allowed = list(lengths.allowed()) if lengths is not None and len(lengths.even) > 2 else []
            if lengths is None or len(allowed) < len(lengths.even):
                continue
            patterns = [lengths.outline(*ends) for ends in allowed]
            for hand in detail.head.hands or (None,):
                name = _run_id(job, detail, hand)
                outlines = [mirrored_ring(p.outline) if hand is Hand.LEFT else p.outline for p in patterns]
                blanks = [
                    Blank(f"{name}:{first}-{last}", 1, outline, turns_deg=QUARTER_TURNS)
                    for (first, last), outline in zip(allowed, outlines, strict=True)
                ]
                out.append(
                    (
                        detail.head.lead,
                        RunChoice(
                            name,
                            tuple(RunLength(*ends, blank) for ends, blank in zip(allowed, blanks, strict=True)),
                            lengths.even,
                        ),
                    )
                )
    return tuple(out)


@lru_cache(maxsize=_KEPT)
def _developed(detail: Detail) -> tuple[Run | None, Findings]:
    return develop(detail)


def _run_id(job: Job, detail: Detail, hand: Hand | None) -> str:
    return f"{job.mark}-{detail.head.label}-{hand.letter if hand else ''}"


def _of_hand(pattern: FlatPattern, hand: Hand | None) -> FlatPattern:
    return mirror_image(pattern) if hand is Hand.LEFT else pattern


def split(
    job: Job, detail: Detail, run: Run, divisions: Mapping[str, Division] | None = None
) -> tuple[Pieces, Findings]:
    """Cut one run into numbered pieces for each hand, in fitting order.

    Parameters
    ----------
    job : Job
        Its mark begins the numbers.
    detail : Detail
    run : Run
        What `develop` made of the detail.
    divisions : mapping, optional
        The joints between lengths by the numbers of runs, such as ``"TR-S1-R"``; runs that are not named are divided
        evenly.

    Returns
    -------
    pieces, findings
        No pieces where a finding is a fault.
    """
    head = detail.head
    findings: Findings = ()
    match run:
        case StepRun() | FreeRun():
            before, findings = _corner_piece(run, head) if isinstance(run, StepRun) else ([], ())
            lengths = None if findings else _lengths(run, head)
            if lengths is None:
                return (), findings or _no_length(head, run)
            findings = _kept_whole(head)
            extras = run.extras if isinstance(run, FreeRun) else ()
        case SinglePattern():
            lengths, before, extras = None, [], ((run.pattern, run.count),)
            findings = _too_long(run.pattern, head) if run.limited else ()
        case PatternSet():
            lengths, before, extras = None, [], run.patterns
    pieces: list[Piece] = []
    for hand in head.hands or (None,):
        run_id = _run_id(job, detail, hand)
        patterns = [(pattern, 1) for pattern in before]
        if lengths is not None:
            division = (divisions or {}).get(run_id, lengths.even)
            patterns += [(pattern, 1) for pattern in lengths.patterns(division)]
        patterns += extras
        pieces += [
            Piece(
                id=f"{run_id}{number}",
                job=job.name,
                detail=head.label,
                number=number,
                of=len(patterns),
                hand=hand,
                quantity=head.quantity * count,
                lead=head.lead,
                pattern=_of_hand(pattern, hand),
                where=head.origin.key(""),
                may_flip=isinstance(run, SinglePattern) and run.may_flip,
                run=run_id,
            )
            for number, (pattern, count) in enumerate(patterns, 1)
        ]
    return tuple(pieces), findings


def length_ids(choice: RunChoice, pieces: Sequence[Piece]) -> list[str]:
    """Return the numbers of the pieces that are the lengths of a run, from its first joint up."""
    return [p.id for p in pieces if p.run == choice.id and p.pattern.part is PartKind.LENGTH]


def _too_long(pattern: FlatPattern, head: DetailHead) -> Findings:
    limit = head.longest_mm
    if pattern.length_mm <= limit + POINT_MM:
        return ()
    where, material = head.origin.key(""), head.lead.material
    return (said("shape_too_long", where, length=pattern.length_mm, longest=limit, material=material),)


def _no_length(head: DetailHead, run: StepRun | FreeRun) -> Findings:
    whole = (
        "a lap of whole steps and at least one step more"
        if isinstance(run, StepRun)
        else "their corner whole and a lap"
    )
    return _cannot_be_held(head, whole)


def _kept_whole(head: DetailHead) -> Findings:
    """Say of a run in one length that it must stay so, where the roof is too flat for a lap."""
    if not head.no_lap:
        return ()
    return (said("kept_whole", head.origin.key(""), no_lap=head.no_lap),)


def _cannot_be_held(head: DetailHead, why: str) -> Findings:
    if head.no_lap:
        return (said("no_lap_on_the_roof", head.origin.key(""), no_lap=head.no_lap, longest=head.longest_mm),)
    where = head.origin.key("longest")
    return (said("no_division", where, longest=head.longest_mm, lap=head.lap_mm, why=why),)


@lru_cache(maxsize=_KEPT)
def _lengths(run: StepRun | FreeRun, head: DetailHead) -> Lengths | None:
    if isinstance(run, FreeRun):
        return free_lengths(run, head.longest_mm, head.lap_mm)
    return step_lengths(run, head.longest_mm, head.lap_mm, _corner_end(run, head))


def _corner_end(run: StepRun, head: DetailHead) -> int | None:
    """Return where a separate corner piece ends under the run; None without one, or with no station far enough."""
    steps = len(run.steps)
    if run.survey.corner.kind is not CornerKind.SEPARATE:
        return None
    end = lap_end(0, steps, run.lap_mm, head.lap_mm)
    return end if run.lap_mm(0, end) >= head.lap_mm - POINT_MM else None


def _corner_piece(run: StepRun, head: DetailHead) -> tuple[list[FlatPattern], Findings]:
    if run.survey.corner.kind is not CornerKind.SEPARATE:
        return [], ()
    end = _corner_end(run, head)
    if end is None:
        return [], _cannot_be_held(head, "a corner piece that laps under the run")
    corner = length_between(run, 0, end, lap_below=None, lap_above=None, with_return=True)
    if corner.length_mm > head.longest_mm + POINT_MM:
        return [], _cannot_be_held(head, "the return and its lap in one corner piece")
    return [corner], ()
