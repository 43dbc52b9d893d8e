"""A pattern to be cut, with its number, its lead and where it belongs."""

from __future__ import annotations

from dataclasses import dataclass

from cutpath.values.fixing import Fixing, FixingKind
from cutpath.values.held import Held
from cutpath.values.pattern import FlatPattern
from cutpath.values.survey import Hand, Lead


@dataclass(frozen=True, slots=True)
class Piece(Held):
    """One piece of a job, cut ``quantity`` times alike.

    Attributes
    ----------
    id : str
        Unique in the batch: ``<job mark>-<detail label>-<hand letter and number>``, such as ``M-S1-R2``.
    job, detail : str
        Job name and detail label.
    number, of : int
        Place in fitting order from the bottom up, counted from 1, and how many there are.
    hand : Hand or None
    quantity : int
    lead : Lead
    pattern : FlatPattern
    where : str
        ``<file>: <key path>`` of the detail, for findings.
    may_flip : bool
        True when the piece may be cut face down.
    run : str
        Number of the run that it is of, which its own goes on from; empty where it was cut from none.
    fixings : tuple of Fixing
        What holds it; empty until it has been worked out by the practice in force.
    """

    id: str
    job: str
    detail: str
    number: int
    of: int
    hand: Hand | None
    quantity: int
    lead: Lead
    pattern: FlatPattern
    where: str
    may_flip: bool
    fixings: tuple[Fixing, ...] = ()
    run: str = ""


def has_face(piece: Piece) -> bool:
    """Tell whether it matters which face of the sheet is up: the piece has a hand, or folds."""
    return piece.hand is not None or bool(piece.pattern.folds)


def fixed_by(piece: Piece, kind: FixingKind) -> tuple[Fixing, ...]:
    """Return the fixings of one kind that hold a piece."""
    return tuple(fixing for fixing in piece.fixings if fixing.kind is kind)
