"""Every wall of a job with its lead in place, in the order of the job file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cutpath.reports.elevation import place_steps, step_elevation
from cutpath.reports.front import Return, cover_elevation, front_elevation, returns_on_front
from cutpath.reports.wall_sheet import Elevation
from cutpath.values.piece import Piece
from cutpath.values.survey import (
    Apron,
    CoverFlashing,
    Detail,
    DetailHead,
    Hand,
    Job,
    Soakers,
    StepFlashing,
    TopAbutment,
)


def elevations(job: Job, pieces: Sequence[Piece]) -> list[Elevation]:
    """Draw every wall of a job that carries lead: a picture to each hand of each detail that lies on a wall.

    Details of one entry of the job file belong together: soakers stand behind their step flashing, and the returns of
    a chimney's sides go over its apron.
    """
    own = [piece for piece in pieces if piece.job == job.name]
    return [picture for detail in job.details for picture in _of(detail, job.details, own)]


def _of(detail: Detail, details: Sequence[Detail], pieces: Sequence[Piece]) -> Iterable[Elevation]:
    beside = [other for other in details if _entry(other) == _entry(detail)]
    for hand in detail.head.hands or (None,):
        lengths = _lengths(detail.head, hand, pieces)
        if not lengths:
            continue
        match detail:
            case StepFlashing() if hand is not None:
                soakers = (d for d in beside if isinstance(d, Soakers) and hand in d.head.hands)
                yield step_elevation(detail, hand, lengths, next(soakers, None))
            case Apron() | TopAbutment():
                sides = [d for d in beside if isinstance(d, StepFlashing)]
                joints = sides[0].joints if sides else ()
                returns = _returns(detail, sides, pieces) if isinstance(detail, Apron) else []
                yield front_elevation(detail, lengths, joints, returns, _gauge_mm(details))
            case CoverFlashing():
                yield cover_elevation(detail, hand, lengths)
            case _:
                pass


def _entry(detail: Detail) -> tuple[str, str]:
    """Give the file and the entry in it from which a detail was made."""
    origin = detail.head.origin
    return origin.file, origin.path.split(".")[0]


def _lengths(head: DetailHead, hand: Hand | None, pieces: Sequence[Piece]) -> list[Piece]:
    """Give the lengths of a detail in fitting order, without the gussets that go with them."""
    own = (piece for piece in pieces if piece.detail == head.label and piece.hand is hand)
    return [piece for piece in own if piece.pattern.family != "gusset"]


def _returns(apron: Apron, sides: Iterable[StepFlashing], pieces: Sequence[Piece]) -> list[Return]:
    cheeks = [
        (hand, place_steps(side, lengths)[0])
        for side in sides
        for hand in side.head.hands
        if (lengths := _lengths(side.head, hand, pieces))
    ]
    return returns_on_front(cheeks, apron.width_mm)


def _gauge_mm(details: Iterable[Detail]) -> float:
    """Give the gauge of the job's covering where a detail has soakers; 0 else."""
    return next((detail.gauge_mm for detail in details if isinstance(detail, Soakers)), 0.0)
