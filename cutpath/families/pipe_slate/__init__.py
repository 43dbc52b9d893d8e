"""Slates of lead with a sleeve for a pipe."""

from __future__ import annotations

from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.pipe_slate import job, pattern, rules, views
from cutpath.families.runs import PatternSet
from cutpath.values.leadwork import PipeSlate


def _develop(slate: PipeSlate) -> Developed:
    findings = pattern.bad_clearance(slate)
    return (None if findings else PatternSet(((pattern.base(slate), 1), (pattern.sleeve(slate), 1)))), findings


FAMILY = Family(
    kind="lead slate",
    letter="P",
    use=Use("pipe_slate", 4, "lead slates"),
    table=job.PipeSlateTable,
    value=PipeSlate,
    survey=one(job.survey),
    develop=_develop,
    check=rules.check,
    views=views.views,
    least_code="least_code_pipe_slate",
    place=11,
)
