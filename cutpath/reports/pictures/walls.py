"""Every wall of a job with its lead in place, in the order of the job file; each family draws its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, zip_longest

from cutpath.families.laid import Laid
from cutpath.families.registry import by_value
from cutpath.paper.ink import Contours
from cutpath.paper.wall_sheet import Elevation
from cutpath.values.piece import Piece
from cutpath.values.survey import Detail, Hand, Job


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The pictures of one hand of a detail."""

    detail: str
    hand: Hand | None
    pictures: Sequence[Elevation]

    @property
    def shown(self) -> set[str]:
        """The numbers of the pieces that they show."""
        inks = (ink for picture in self.pictures for ink in picture.inks if isinstance(ink, Contours))
        return {of["piece"] for ink in inks if "piece" in (of := dict(ink.data))}

    def hides(self, piece: Piece, job: Job) -> bool:
        """Tell whether a piece belongs to what is shown, for no picture names it: gussets, and soakers under a step."""
        own = next(detail for detail in job.details if detail.head.label == piece.detail)
        over: Detail | None = job.over(own)
        return self.detail in (piece.detail, over and over.head.label) and self.hand in (None, piece.hand)


def elevations(job: Job, pieces: Sequence[Piece], cut: Sequence[Piece] = ()) -> list[Elevation]:
    """Draw every wall of a job that carries lead: to each hand of each detail the pictures of its family.

    Soakers stand behind their step flashing, flashings above a change of pitch over those below, and the returns of a
    chimney's sides go over its apron. A cover flashing over a back gutter is drawn with that. Where only some of the
    pieces are ``cut``, walls are left out that carry none of them.

    The first picture of each hand stands before sections, so that hands stand beside each other.
    """
    own = [piece for piece in pieces if piece.job == job.name]
    laid = (Laid(detail, hand, job, own) for detail in job.details for hand in detail.head.hands or (None,))
    drawn = [_Drawn(at.survey.head.label, at.hand, tuple(by_value(at.survey).views(at))) for at in laid if at.lengths]
    if cut:
        named = {name for one in drawn for name in one.shown}
        hidden = [piece for piece in cut if piece.id not in named]
        names = {piece.id for piece in cut}
        drawn = [one for one in drawn if one.shown & names or any(one.hides(piece, job) for piece in hidden)]
    hands = (zip_longest(*(one.pictures for one in of)) for _, of in groupby(drawn, lambda one: one.detail))
    return [picture for pictures in hands for row in pictures for picture in row if picture is not None]
