"""What lies between the tape and the pattern, worked out a second time from what the user wrote.

Folding a pattern up shows that it fits its survey; here the survey is held to the readings: sizes, true pitches, laps,
bed joints, soakers, lengths and numbers of pieces. The other way is taken wherever there is one: a valley's pitch by
the normals of its roofs, courses laid or climbed one by one, joints held to pass through what was read. Nothing of the
code that made survey, patterns or pieces is used; only figures and their sources are read in the same place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from cutpath.errors import Finding
from cutpath.recheck.chimneys import check_meeting
from cutpath.recheck.counts import check_orders, check_pieces
from cutpath.recheck.entries import check_entries
from cutpath.recheck.second import Second, known, second_of
from cutpath.recheck.sizes import check_sizes
from cutpath.recheck.slopes import check_lap
from cutpath.recheck.written import AT_FAULT, Asked, asked
from cutpath.values.fact import Fact
from cutpath.values.piece import Piece
from cutpath.values.survey import Detail, Job

__all__ = ["recheck"]


def recheck(
    job: Job, pieces: Iterable[Piece], practice: Mapping[str, Fact], *, complete: bool = True
) -> tuple[Finding, ...]:
    """Work out a second time what lies between a job file and its pieces.

    Parameters
    ----------
    pieces : iterable of Piece
        Those of other jobs are passed over.
    practice : mapping of str to Fact
        The figures in force, a shop's own among them.
    complete : bool
        Whether nothing refused the job so far, so that every detail must have its pieces.

    Returns
    -------
    tuple of Finding
        Faults, one for each figure that comes out otherwise.
    """
    mine = [piece for piece in pieces if piece.job == job.name]
    found: list[Finding] = []
    for detail in job.details:
        if detail.folder not in known():
            found.append(_unknown(detail))
            continue
        where = detail.head.origin.key("")
        own = [piece for piece in mine if piece.detail == detail.head.label and piece.where == where]
        second = second_of(detail)
        found += check_pieces(detail, second, own, complete=complete)
        written = asked(job, detail, practice)
        if written is not None:
            found += _survey(written, second)
    for chimney in job.chimneys:
        parts = (asked(job, detail, practice) for detail in job.details if detail.head.label in chimney.parts)
        found += check_meeting(chimney, [part for part in parts if part is not None])
    return (*found, *((*check_entries(job), *_numbers(mine)) if complete else ()))


def _unknown(detail: Detail) -> Finding:
    """Refuse a detail of a family that nobody has worked out a second time."""
    known_ones = f"a family that can be: {', '.join(known())}"
    found = f"a detail of the family '{detail.folder}', which cannot be worked out a second time"
    return Finding("CP419", detail.head.origin.key(""), found, known_ones, AT_FAULT)


def _survey(written: Asked, second: Second) -> Iterator[Finding]:
    """Hold the survey of one detail to what was written."""
    yield from check_orders(written, second)
    yield from check_sizes(written, second)
    yield from check_lap(written, second)
    if written.of_chimney:
        yield from second.on_stack(written, written.detail)
    yield from second.survey(written, written.detail)


def _numbers(pieces: Sequence[Piece]) -> Iterator[Finding]:
    """See that no two pieces bear one number, and that each bears the letter of its hand."""
    seen: set[str] = set()
    for piece in pieces:
        letter = piece.hand.letter if piece.hand else ""
        if piece.id in seen or not piece.id.endswith(f"-{letter}{piece.number}"):
            yield Finding(
                "CP419", f"{piece.where} (piece {piece.id})", "a number that is not its own", "its own number", AT_FAULT
            )
        seen.add(piece.id)
