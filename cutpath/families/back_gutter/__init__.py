"""Back gutters behind a stack."""

from __future__ import annotations

from cutpath.errors import faults
from cutpath.families.back_gutter import job, pattern, rules, views
from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.runs import PatternSet
from cutpath.values.leadwork import BackGutter


def _develop(gutter: BackGutter) -> Developed:
    patterns, findings = pattern.lay_out(gutter)
    return (None if faults(findings) else PatternSet(patterns)), findings


FAMILY = Family(
    kind="back gutter",
    letter="G",
    use=Use("back_gutter", 4, "back gutters"),
    table=job.BackGutterTable,
    value=BackGutter,
    survey=one(job.survey),
    develop=_develop,
    check=rules.check,
    views=views.views,
    least_code="least_code_back_gutter",
    place=6,
)
