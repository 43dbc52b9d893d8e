"""What is worked out a second time of a family: every question put to its survey, and what goes without saying."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from cutpath.errors import Finding
from cutpath.found import modules
from cutpath.recheck.written import Asked
from cutpath.values.pattern import PartKind
from cutpath.values.piece import Piece
from cutpath.values.survey import Detail

Found = Iterator[Finding] | Sequence[Finding]

UNLISTED: Final = "longest_unlisted"
"""For what NHBC Standards 7.2.20 Table 22 sets no longest length for."""


def nothing(*_: object) -> tuple[()]:
    """Return nothing."""
    return ()


def none(*_: object) -> None:
    """Return None."""


def never(*_: object) -> bool:
    """Return False."""
    return False


def always(*_: object) -> bool:
    """Return True."""
    return True


def no_parts(_: object) -> Mapping[PartKind, int]:
    """Return no parts: it is cut into lengths, or is one piece."""
    return {}


@dataclass(frozen=True, slots=True)
class Second:
    """How one family is worked out a second time; its survey comes after what was asked for.

    Attributes
    ----------
    use : str
        Key of its lead in the job's table.
    own_lead : bool
        Inside the table of another detail it does not take that one's lead.
    longest : str
        The figure for its longest length of code 4 and thicker; empty where its lengths follow from something else.
    sizes : tuple of (str, str, str)
        Key, name in the survey, and the figure of practice; none where the user has to write it.
    settled : frozenset of str
        Keys that follow, for a part of a chimney, from the joints at which its parts meet.
    handed : callable
        (asked, survey) -> whether it comes in hands.
    parts : callable
        Survey -> how many of each part belong to a set.
    run_mm : callable
        Survey -> the whole length of a run that may be divided anywhere; None where there is none.
    lengths : callable
        (survey, pieces of one hand) -> findings on the lengths of a run divided by its steps.
    further : callable
        (asked, survey) -> findings on sizes that are more than a figure.
    survey : callable
        (asked, survey) -> findings on what was read on site: joints, courses of the covering, other roofs.
    on_stack : callable
        (asked, survey) -> findings on the sizes that a chimney settles for it.
    on_wall : bool
        Its lengths lap on a wall, level.
    rise : callable
        (asked, survey) -> what the roof on which it laps rises for each unit of its length; None where it lies on none.
    """

    use: str
    own_lead: bool = False
    longest: str = "longest_code_4"
    sizes: tuple[tuple[str, str, str], ...] = ()
    settled: frozenset[str] = frozenset()
    handed: Callable[[Asked, Any], bool] = never
    parts: Callable[[Any], Mapping[PartKind, int]] = no_parts
    run_mm: Callable[[Any], float | None] = none
    lengths: Callable[[Any, Sequence[Piece]], Found] = nothing
    further: Callable[[Asked, Any], Found] = nothing
    survey: Callable[[Asked, Any], Found] = nothing
    on_stack: Callable[[Asked, Any], Found] = nothing
    on_wall: bool = False
    rise: Callable[[Asked, Any], float | None] = none


@cache
def known() -> Mapping[str, Second]:
    """Return how every family is worked out a second time, by the name of its folder: each module's ``SECOND``."""
    return {name: module.SECOND for name, module in modules("cutpath.claims").items()}


def second_of(detail: Detail) -> Second:
    """Return how a surveyed detail is worked out a second time.

    Raises
    ------
    KeyError
        When nobody knows.
    """
    return known()[detail.folder]
