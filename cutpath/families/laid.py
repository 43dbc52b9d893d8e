"""A detail with its lead in place among the others of its job: what a family draws its views from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from cutpath.values.pattern import PartKind
from cutpath.values.piece import Piece
from cutpath.values.survey import Detail, Hand, Job

D = TypeVar("D", bound=Detail)
Other = TypeVar("Other", bound=Detail)


@dataclass(frozen=True, slots=True)
class Laid(Generic[D]):
    """One hand of a detail.

    Attributes
    ----------
    survey : Detail
        Of the family that draws.
    hand : Hand or None
        None of a detail without a hand.
    job : Job
    pieces : sequence of Piece
        All of the job.
    """

    survey: D
    hand: Hand | None
    job: Job
    pieces: Sequence[Piece]

    @property
    def label(self) -> str:
        """What its pictures are called after: the detail and its hand."""
        return f"{self.survey.head.label}{f', {self.hand.value} hand' if self.hand else ''}"

    @property
    def lengths(self) -> list[Piece]:
        """The lengths of this hand in fitting order, without the gussets that go with them."""
        return self.lengths_of(self.survey, self.hand)

    @property
    def gussets(self) -> list[Piece]:
        """The gussets that go with the detail."""
        label = self.survey.head.label
        return [piece for piece in self.pieces if piece.detail == label and piece.pattern.part is PartKind.GUSSET]

    @property
    def is_first_hand(self) -> bool:
        """Whether this is the hand that is drawn first, or the only one."""
        return self.hand is next(iter(self.survey.head.hands), None)

    def lengths_of(self, detail: Detail, hand: Hand | None) -> list[Piece]:
        """Return the lengths of any detail of the job for one hand, in fitting order."""
        own = (piece for piece in self.pieces if piece.detail == detail.head.label and piece.hand is hand)
        return [piece for piece in own if piece.pattern.part is not PartKind.GUSSET]

    def beside(self, kind: type[Other]) -> list[Other]:
        """Return the details of one family that go together with this one, in the order of the job."""
        return [detail for detail in self.job.beside(self.survey) if isinstance(detail, kind)]

    def elsewhere(self, kind: type[Other]) -> list[Other]:
        """Return all details of one family in the job."""
        return [detail for detail in self.job.details if isinstance(detail, kind)]

    def over(self, kind: type[Other]) -> Other | None:
        """Return the detail that lies over this one, where it is of that family."""
        return self.job.over(self.survey, kind)
