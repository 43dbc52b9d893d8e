"""Saddles where a ridge runs into a wall."""

from __future__ import annotations

from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.ridge_saddle import job, pattern, rules, views
from cutpath.families.runs import PatternSet
from cutpath.values.leadwork import RidgeSaddle


def _develop(saddle: RidgeSaddle) -> Developed:
    findings = pattern.bad_upstand(saddle)
    if findings:
        return None, findings
    wedge = pattern.gusset(saddle)
    return PatternSet(((pattern.saddle(saddle), 1), *(((wedge, 1),) if wedge else ()))), ()


FAMILY = Family(
    kind="ridge saddle",
    letter="R",
    use=Use("saddle", 4, "ridge saddles"),
    table=job.RidgeSaddleTable,
    value=RidgeSaddle,
    survey=one(job.survey),
    develop=_develop,
    check=rules.check,
    views=views.views,
    least_code="least_code_saddle",
    thicker_if_severe=True,
    place=7,
)
