"""All families of leadwork: each folder here that names a `Family` or an `Assembly` brings it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from cutpath.families.family import Assembly, Developed, Family
from cutpath.found import folders
from cutpath.values.survey import Detail

Entry = TypeVar("Entry", Family, Assembly)


def _brought(kind: type[Entry]) -> Iterator[Entry]:
    for folder in folders(__package__).values():
        yield from (value for value in vars(folder).values() if isinstance(value, kind))


FAMILIES = tuple(sorted(_brought(Family), key=lambda family: (family.place, family.kind)))
"""In the order in which the schema of a job and every list of kinds has them."""

ASSEMBLIES = tuple(sorted(_brought(Assembly), key=lambda assembly: assembly.kind))


def by_kind(kind: str) -> Family:
    """Return the family that a job file names so.

    Raises
    ------
    KeyError
        When there is none.
    """
    for family in FAMILIES:
        if family.kind == kind:
            return family
    raise KeyError(kind)


def usual_name(word: str) -> str:
    """Return the kind that a word means: itself, or the kind that goes by that word too."""
    return next((family.kind for family in FAMILIES if word in family.also), word)


def assembly(kind: str) -> Assembly | None:
    """Return the assembly that a job file names so, None where it is no assembly."""
    return next((found for found in ASSEMBLIES if found.kind == kind), None)


def by_value(detail: Detail) -> Family:
    """Return the family of a surveyed detail.

    Raises
    ------
    KeyError
        When there is none.
    """
    for family in FAMILIES:
        if type(detail) is family.value:
            return family
    raise KeyError(type(detail).__name__)


def develop(detail: Detail) -> Developed:
    """Develop one surveyed detail, right-handed.

    Returns
    -------
    run, findings
        ``run`` is None when a finding is a fault.
    """
    return by_value(detail).develop(detail)
