"""Soakers: one under each course of slates or plain tiles."""

from __future__ import annotations

from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.runs import SinglePattern
from cutpath.families.soakers import job, pattern, rules
from cutpath.values.leadwork import Soakers


def _develop(soakers: Soakers) -> Developed:
    return SinglePattern(pattern.soaker(soakers), soakers.count), ()


FAMILY = Family(
    kind="soakers",
    letter="K",
    use=Use("soakers", 3, "soakers"),
    table=job.SoakersTable,
    value=Soakers,
    survey=one(job.soakers_alone),
    develop=_develop,
    check=rules.check,
    least_code="least_code_soakers",
    place=3,
)
