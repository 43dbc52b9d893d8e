"""All families of leadwork, in the order in which the schema of a job lists them."""

from __future__ import annotations

from cutpath.families import (
    abutment_gutter,
    apron,
    back_gutter,
    chimney,
    cover_flashing,
    outline,
    pipe_slate,
    ridge_saddle,
    soakers,
    step_flashing,
    top_abutment,
    valley_gutter,
)
from cutpath.families.family import Assembly, Developed, Family
from cutpath.values.survey import Detail

FAMILIES: tuple[Family, ...] = (
    step_flashing.FAMILY,
    step_flashing.WITH_COVER,
    soakers.FAMILY,
    apron.FAMILY,
    cover_flashing.FAMILY,
    back_gutter.FAMILY,
    ridge_saddle.FAMILY,
    top_abutment.FAMILY,
    valley_gutter.FAMILY,
    abutment_gutter.FAMILY,
    pipe_slate.FAMILY,
    outline.FAMILY,
)
ASSEMBLIES: tuple[Assembly, ...] = (chimney.ASSEMBLY,)


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
