"""The rules of leadwork held against a surveyed job: those that all families share, and each family's own."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.families.registry import by_value
from cutpath.trade.limits import SEVERE, check_exposure, check_lap, check_least_code
from cutpath.trade.rules import Practice
from cutpath.values.survey import Detail, Job


def check_rules(job: Job, practice: Practice) -> tuple[Finding, ...]:
    """Hold every detail of a job against the rules of the trade.

    Parameters
    ----------
    job : Job
    practice : mapping of str to Fact

    Returns
    -------
    tuple of Finding
        Faults and warnings in the order of the details; each names its figure, its rule and the rule's source.
    """
    return tuple(finding for detail in job.details for finding in _check(detail, job, practice))


def _check(detail: Detail, job: Job, practice: Practice) -> Iterator[Finding]:
    family = by_value(detail)
    if family.least_code:
        yield from check_least_code(detail.head, practice[family.least_code])
    if family.thicker_if_severe and job.exposure == SEVERE:
        yield from check_exposure(detail.head, practice[family.least_code], practice)
    if family.lapped:
        yield from check_lap(detail.head, family.roof_deg(detail) if family.roof_deg else None, practice)
    yield from family.check(detail, job, practice)
