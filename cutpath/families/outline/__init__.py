"""Plain shapes of the user's own."""

from __future__ import annotations

from cutpath.errors import faults
from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.outline import job, pattern
from cutpath.families.runs import SinglePattern
from cutpath.values.leadwork import PlainOutline


def _develop(shape: PlainOutline) -> Developed:
    findings = pattern.check(shape)
    if faults(findings):
        return None, findings
    return SinglePattern(pattern.outline(shape), 1, may_flip=shape.may_flip, limited=True), findings


FAMILY = Family(
    kind="outline",
    letter="P",
    use=Use("outline", 4, "plain outlines"),
    table=job.OutlineTable,
    value=PlainOutline,
    survey=one(job.survey),
    develop=_develop,
    place=12,
    also=("rectangle",),
)
