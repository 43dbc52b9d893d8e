"""What jobs come to, in pieces and in lead, held against what they can come to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import fsum

from cutpath.errors import Finding
from cutpath.reports.account.shape import pattern_kg
from cutpath.trade.plausible import Sizes, check_total
from cutpath.values.piece import Piece
from cutpath.values.survey import Job

_ADVICE = (
    "Check quantity, count and gauge there: quantity counts whole sets, and hands = pair makes both hands of each. "
    "If it is right, make several jobs of it."
)


def check_totals(jobs: Sequence[Job], pieces: Sequence[Piece], sizes: Sizes) -> list[Finding]:
    """Find jobs, and a batch, that come to more pieces or more lead than is usual or possible.

    Parameters
    ----------
    jobs : sequence of Job
    pieces : sequence of Piece
        Of all of them.
    sizes : mapping of str to Plausible
        With ``pieces of a job``, ``mass of a job`` and the same of a batch.
    """
    found: list[Finding | None] = []
    if len(jobs) > 1:
        found += _checked(pieces, sizes, "batch", "all jobs together")
    for job in jobs:
        own = [piece for piece in pieces if piece.where.startswith(f"{job.file}: ")]
        found += _checked(own, sizes, "job", job.file)
    return [finding for finding in found if finding is not None]


def _checked(pieces: Sequence[Piece], sizes: Sizes, whole: str, where: str) -> Iterable[Finding | None]:
    ways: tuple[tuple[str, Callable[[Piece], float]], ...] = (
        ("pieces", lambda piece: piece.quantity),
        ("mass", lambda piece: piece.quantity * pattern_kg(piece.pattern, piece.lead)),
    )
    for what, weight in ways:
        by_place: dict[str, float] = {}
        for piece in pieces:
            by_place[piece.where] = by_place.get(piece.where, 0.0) + weight(piece)
        if by_place:
            size = sizes[f"{what} of a {whole}"]
            largest = max(by_place, key=lambda place: by_place[place])
            most = f"{by_place[largest]:,.0f} {size.unit} of it at {largest.removeprefix(f'{where}: ')}"
            yield check_total(size, where, fsum(by_place.values()), most, _ADVICE)
