"""Pieces as blanks for the nest, and nests back to pieces: undivided runs go out, lengths come back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from cutpath.errors import Finding
from cutpath.pieces import length_ids
from cutpath.values.nest import QUARTER_TURNS, Blank, Division, Nest, NestProblem, Roll, RunChoice
from cutpath.values.piece import Piece
from cutpath.values.settings import Settings
from cutpath.values.survey import Lead


def leads_of(pieces: Iterable[Piece]) -> list[Lead]:
    """Return every lead that pieces are cut from, in ascending code."""
    return sorted({piece.lead for piece in pieces}, key=lambda lead: lead.code)


def blanks_of(lead: Lead, pieces: Iterable[Piece]) -> tuple[Blank, ...]:
    """Return the blanks of all pieces of one lead."""
    return tuple(
        Blank(p.id, p.quantity, p.pattern.outline, p.pattern.holes, QUARTER_TURNS, p.may_flip)
        for p in pieces
        if p.lead == lead
    )


def problem_of(lead: Lead, pieces: Iterable[Piece], rolls: Iterable[Roll], settings: Settings) -> NestProblem:
    """Return what is asked of the nest for one lead: its pieces, evenly divided, on those rolls that hold it."""
    mine = (roll for roll in rolls if roll.is_of(lead.material))
    return settings.asking(blanks_of(lead, pieces), mine, mass_kg_m2=lead.mass_kg_m2)


def with_choices(
    problem: NestProblem, choices: Iterable[RunChoice], pieces: Sequence[Piece], *, either_face: bool
) -> NestProblem:
    """Return the problem with its runs undivided, in place of the blanks of their even lengths."""
    runs = tuple(_facing(run, either_face=either_face) for run in choices)
    gone = {name for run in runs for name in length_ids(run, pieces)}
    return replace(problem, blanks=tuple(b for b in problem.blanks if b.id not in gone), runs=runs)


def face_up(problem: NestProblem) -> NestProblem:
    """Return the problem with all blanks face up, for a nest that is turned over as a whole."""
    return replace(problem, blanks=tuple(replace(blank, may_flip=False) for blank in problem.blanks))


def _facing(run: RunChoice, *, either_face: bool) -> RunChoice:
    lengths = tuple(replace(one, blank=replace(one.blank, may_flip=either_face)) for one in run.lengths)
    return replace(run, lengths=lengths)


def divisions_of(asked: Sequence[NestProblem], found: Sequence[Nest]) -> Mapping[str, Division]:
    """Return the divisions that nests chose for their runs, by the runs' numbers; even ones are left out."""
    return {
        run.id: joints
        for problem, nested in zip(asked, found, strict=True)
        for run, joints in zip(problem.runs, nested.divisions, strict=True)
        if joints != run.even
    }


def under_their_numbers(asked: NestProblem, found: Nest, pieces: Sequence[Piece]) -> Nest:
    """Return a nest with its lengths of runs under the numbers of their pieces."""
    names = {
        blank.id: name
        for run, joints in zip(asked.runs, found.divisions, strict=True)
        for blank, name in zip(run.blanks(joints), length_ids(run, pieces), strict=True)
    }
    rolls = tuple(
        replace(roll, placements=tuple(replace(p, id=names.get(p.id, p.id)) for p in roll.placements))
        for roll in found.rolls
    )
    return replace(found, rolls=rolls, divisions=())


def at_pieces(findings: Iterable[Finding], pieces: Iterable[Piece]) -> list[Finding]:
    """Say of findings about blanks where in the job file their pieces come from."""
    where = {p.id: f"{p.where} (piece {p.id})" for p in pieces}
    return [replace(f, where=where.get(f.where, f.where)) for f in findings]


def of_lead(lead: Lead, findings: Iterable[Finding]) -> list[Finding]:
    """Say of rolls that run out of which lead they are."""
    return [replace(f, where=f"{f.where} of {lead.material}") if f.code == "CP502" else f for f in findings]
