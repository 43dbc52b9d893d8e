"""What a ticket says above its drawing: how many of what, for whom, from which rolls, and how they lie there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cutpath.paper.markup import number
from cutpath.paper.text import fixed, kilograms
from cutpath.plain import in_words
from cutpath.reports.account.cutting_list import face_down
from cutpath.reports.account.marking import Marking, step_numbers, whole_mm
from cutpath.reports.account.shape import movement_mm, movement_span, pattern_kg
from cutpath.trade.rules import Practice
from cutpath.values.batch import Batch
from cutpath.values.pattern import PartKind
from cutpath.values.piece import Piece
from cutpath.values.survey import Job

_NOTE = 240
"""Letters of a job's note that stand on a ticket."""

_ROLLS_NAMED = 3

DOT = " · "
"""Between the facts of a piece."""

_HARD = "\u00a0"
"""A space at which no line ends."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What tickets tell of a batch beside the pieces: the run's name, jobs by name, pieces by roll.

    ``down`` are pieces that lie face down, with their rolls; ``hidden_side`` as in `Batch`. ``lengths`` are how many
    of a detail's pieces, of one hand, follow each other in a course.
    """

    run: str
    practice: Practice
    jobs: Mapping[str, Job]
    rolls: Mapping[str, Mapping[str, int]]
    down: Mapping[str, Sequence[str]]
    hidden_side: bool
    lengths: Mapping[object, int]


def bench_of(batch: Batch, run: str) -> Bench:
    """Gather what the tickets of a batch tell."""
    return Bench(
        run,
        dict(batch.practice),
        {job.name: job for job in batch.jobs},
        _rolls(batch),
        face_down(batch),
        batch.hidden_side,
        Counter(_run_of(piece) for piece in (*batch.pieces, *batch.beside) if piece.pattern.course),
    )


def _run_of(piece: Piece) -> object:
    return piece.job, piece.detail, piece.hand


def _rolls(batch: Batch) -> Mapping[str, Mapping[str, int]]:
    """Return for each piece how many are cut from which roll, with the names of their own that some have."""
    found: dict[str, Counter[str]] = {}
    for sheet in batch.sheets:
        name = f" ({sheet.nested.roll.name})" if sheet.nested.roll.name else ""
        for placement in sheet.nested.placements:
            found.setdefault(placement.id, Counter())[sheet.id + name] += 1
    return found


def note_of(job: Job | None) -> str:
    """Return the job's note, cut short where it is long; the report has the whole."""
    words = " ".join(job.notes.split()) if job else ""
    short = words if len(words) <= _NOTE else words[:_NOTE].rsplit(" ", 1)[0] + " … (all of it in the report)"
    return f"Job note: {short}" if words else ""


def _hand(piece: Piece) -> str:
    if piece.hand is None:
        return (
            ", right hand; for a left one turn the blank over, then mark it"
            if piece.pattern.part is PartKind.SOAKER
            else ""
        )
    return f", {piece.hand.value} hand"


def title_of(group: Sequence[Piece], bench: Bench) -> tuple[str, str, str]:
    """Return what the head says behind the number: how many, what it is, whose and when it is fitted."""
    piece, quantity = group[0], sum(p.quantity for p in group)
    job = bench.jobs.get(piece.job)
    details = dict.fromkeys(p.detail for p in group)
    way = f", {piece.pattern.course.value}" if piece.pattern.course and bench.lengths[_run_of(piece)] > 1 else ""
    order = _fitting_order(group)
    return (
        f"{quantity} off:",
        f" {piece.pattern.family}{_hand(piece)}",
        f"{piece.job}, detail{'s' if len(details) > 1 else ''} {', '.join(details)}"
        + (f"; {order}{way}" if order else "")
        + "".join(f"; {words}" for words in (job.errand if job else ())),
    )


def _fitting_order(group: Sequence[Piece]) -> str:
    """Say when pieces that are alike are fitted: ``fit second and third of 4``; empty where each is the only one."""
    numbers: dict[int, dict[str, None]] = {}
    for piece in group:
        if piece.of > 1:
            numbers.setdefault(piece.of, {})[_ordinal(piece.number)] = None
    return f"fit {', '.join(f'{in_words(own)} of {of}' for of, own in numbers.items())}" if numbers else ""


def _ordinal(number: int) -> str:
    """Return a number as it counts in a row: ``second``, ``21st``."""
    if number <= len(_FIRST):
        return _FIRST[number - 1]
    last = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if number % 100 in {11, 12, 13} else last}"


_FIRST = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def _cut_from(group: Sequence[Piece], rolls: Mapping[str, Mapping[str, int]]) -> str:
    """Say from which rolls pieces that are alike are cut, and how many from each; empty before they are nested."""
    counts: Counter[str] = Counter()
    for piece in group:
        counts.update(rolls.get(piece.id, {}))
    if len(counts) <= 1:
        return "".join(f"Cut from {roll}" for roll in counts)
    told = [f"{count} from {roll}" for roll, count in counts.items()]
    if len(told) > _ROLLS_NAMED + 1:
        others = list(counts.values())[_ROLLS_NAMED:]
        told[_ROLLS_NAMED:] = [f"{sum(others)} from {len(others)} more"]
    return f"Cut {', '.join(told)}"


def facts_of(group: Sequence[Piece], marked: Marking, rolls: Mapping[str, Mapping[str, int]]) -> str:
    """Say of one piece its rolls, lead, blank, weight, movement, and how far the figures are off at most."""
    lead, pattern = group[0].lead, group[0].pattern
    moves, span = movement_mm(pattern), movement_span()
    cut_from = _cut_from(group, rolls)
    worst = fixed(marked.worst.rounding_mm, 2)
    place = "" if marked.rectangle or worst == "0.00" else marked.place_of(marked.worst)
    facts = (
        *([cut_from] if cut_from else []),
        f"{lead.material}, {lead.colour}, {number(lead.thickness_mm)} mm",
        f"blank {whole_mm(marked.length_mm)} × {whole_mm(marked.width_mm)} mm, corners square",
        f"{kilograms(pattern_kg(pattern, lead))} kg each",
        f"thermal movement {fixed(moves, 1)} mm {span.replace(' °', _HARD + '°')}",
        f"worst rounding {worst} mm{f', {place}' if place else ''}",
    )
    return DOT.join(facts)


def turned_words(group: Sequence[Piece], bench: Bench) -> str:
    """Say which pieces lie face down on their rolls, and what to do with them; empty when none does."""
    down = [piece for piece in group if piece.id in bench.down]
    if not down:
        return ""
    if bench.hidden_side:
        return (
            "Letters, folds and marks are on the side that is hidden once it is fitted: fold it by its letters, seen "
            "from that side. This ticket shows the other side: only to mark out from it by hand, turn the piece over."
        )
    rolls = "; ".join(f"{piece.id} on {', '.join(dict.fromkeys(bench.down[piece.id]))}" for piece in down)
    return f"Face down on the roll: {rolls}. Cut it out as it lies there, turn it over, then mark and fold."


def numbered_words(group: Sequence[Piece], marked: Marking) -> str:
    """Say of pieces that are alike which joints their steps belong to, where those are not the joints of the first."""
    if not marked.steps:
        return ""
    own = {piece.id: step_numbers(piece.pattern) for piece in group}
    others = [f"{n[0]} to {n[-1]} of {name}" for name, n in own.items() if n != marked.steps]
    if not others:
        return ""
    return f"Steps {marked.steps[0]} to {marked.steps[-1]} here, of {group[0].id}, are {in_words(others)}."
