"""What one family of leadwork brings: every stage asks it, so that none needs to know the families by name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from cutpath.errors import Finding
from cutpath.families.laid import Laid
from cutpath.families.runs import Run
from cutpath.families.site import Site, attempt
from cutpath.families.tables import DetailTable, PartTable, Sized
from cutpath.paper.wall_sheet import Elevation
from cutpath.trade.rules import Practice
from cutpath.values.survey import Chimney, Detail, Job

Developed = tuple[Run | None, tuple[Finding, ...]]
"""A run, None where a finding is a fault, and what was found."""


@dataclass(frozen=True, slots=True)
class Further:
    """A detail that stands in the table of another: its key there, the letter of its label, the user's own label."""

    key: str
    letter: str
    label: str | None = None


@dataclass(frozen=True, slots=True)
class Use:
    """The key of the job's ``lead`` table for a family, its usual code, and what it is called there."""

    key: str
    code: int
    words: str


def no_rules(_: Any, __: Job, ___: Practice) -> Iterator[Finding]:  # noqa: ANN401 - of any family
    """Find nothing: this family is held to no figure of its own."""
    yield from ()


def over_nothing(_: Any, __: Sequence[Detail], ___: Sequence[Detail]) -> Detail | None:  # noqa: ANN401 - of any family
    """Return None: this family lies over no detail of another table."""
    return None


def no_views(_: Laid[Any]) -> Iterable[Elevation]:
    """Draw nothing: this family stands on no wall of its own."""
    return ()


def no_further(_: PartTable) -> tuple[Further, ...]:
    """Return no further details."""
    return ()


@dataclass(frozen=True, slots=True)
class Family:
    """One family.

    Attributes
    ----------
    kind : str
        The word by which a job file names it.
    letter : str
        Its labels begin with it.
    use : Use
    table : type of DetailTable
        What may be written of it.
    value : type
        Its survey.
    survey : callable
        (site, sites of further details by their keys, table) -> surveys; None for one that cannot be.
    develop : callable
        Survey -> `Developed`, right-handed.
    further : callable
        Table -> the details that stand in it beside its own; it lies over them.
    lies_over : callable
        (survey, details of its entry in the job file, details of the entries before) -> the one over which it lies;
        None where it lies over none.
    check : callable
        (survey, job, practice) -> findings by the rules of this family alone.
    views : callable
        One hand of it with its lead in place -> pictures of its wall or roof.
    least_code : str
        Name of the figure for its thinnest lead; empty where there is none.
    thicker_if_severe : bool
        Severe exposure asks for a code more: NHBC Standards 7.2.20 Table 22 lists flashing, apron, cover flashing and
        saddle.
    lapped : bool
        Its lengths lap, so that their lap is held to its rule.
    roof_deg : callable or None
        Survey -> true pitch of the roof on which its lengths lap; None where they stand on a wall.
    place : int
        Where it stands in the schema and in lists; families of one place go by their kinds.
    also : tuple of str
        Other words by which a job file may name it.
    """

    kind: str
    letter: str
    use: Use
    table: type[DetailTable]
    value: type[Detail]
    survey: Callable[[Site, Mapping[str, Site], Any], list[Detail | None]]
    develop: Callable[[Any], Developed]
    further: Callable[[PartTable], tuple[Further, ...]] = no_further
    lies_over: Callable[[Any, Sequence[Detail], Sequence[Detail]], Detail | None] = over_nothing
    check: Callable[[Any, Job, Practice], Iterator[Finding]] = no_rules
    views: Callable[[Laid[Any]], Iterable[Elevation]] = no_views
    least_code: str = ""
    thicker_if_severe: bool = False
    lapped: bool = False
    roof_deg: Callable[[Any], float | None] | None = None
    place: int = 100
    also: tuple[str, ...] = ()


Part = tuple[str, DetailTable]
"""The key of a part inside its assembly, and the table of the detail that it makes."""

Expanded = tuple[list[Part], Callable[[tuple[str, ...]], Chimney]]
"""The parts of an assembly, and what gives its survey once the labels of its parts are known."""


@dataclass(frozen=True, slots=True)
class Assembly:
    """Several details from one entry, made to go together, such as a chimney.

    Attributes
    ----------
    kind : str
    table : type
    parts : callable
        Table -> key, kind, and what the user wrote of each part.
    expand : callable
        (site, table) -> `Expanded`.
    """

    kind: str
    table: type[Sized]
    parts: Callable[[Any], list[tuple[str, str, PartTable]]]
    expand: Callable[[Site, Any], Expanded]


def one(survey: Callable[[Site, Any], Detail]) -> Callable[[Site, Mapping[str, Site], Any], list[Detail | None]]:
    """Return the survey of a family whose table gives one detail."""

    def surveyed(site: Site, _: Mapping[str, Site], table: Any) -> list[Detail | None]:  # noqa: ANN401 - of any family
        return [attempt(partial(survey, site, table))]

    return surveyed
