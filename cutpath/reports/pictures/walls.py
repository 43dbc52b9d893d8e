"""Every wall of a job with its lead in place, in the order of the job file; each family draws its own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import zip_longest

from cutpath.families.laid import Laid
from cutpath.families.registry import by_value
from cutpath.paper.wall_sheet import Elevation
from cutpath.values.piece import Piece
from cutpath.values.survey import Detail, Job


def elevations(job: Job, pieces: Sequence[Piece]) -> list[Elevation]:
    """Draw every wall of a job that carries lead: to each hand of each detail the pictures of its family.

    Soakers stand behind their step flashing, flashings above a change of pitch over those below, and the returns of a
    chimney's sides go over its apron. A cover flashing over a back gutter is drawn with that.
    """
    own = [piece for piece in pieces if piece.job == job.name]
    return [picture for detail in job.details for picture in _of(detail, job, own)]


def _of(detail: Detail, job: Job, pieces: Sequence[Piece]) -> Iterable[Elevation]:
    """Draw a detail, the first picture of each hand before sections, so that hands stand beside each other."""
    laid = (Laid(detail, hand, job, pieces) for hand in detail.head.hands or (None,))
    hands = [tuple(by_value(detail).views(own)) for own in laid if own.lengths]
    return (picture for pictures in zip_longest(*hands) for picture in pictures if picture is not None)
