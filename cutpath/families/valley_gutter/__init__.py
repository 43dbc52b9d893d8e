"""Valley gutters between two roofs."""

from __future__ import annotations

from functools import partial

from cutpath.errors import faults
from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.runs import FreeRun
from cutpath.families.valley_gutter import job, pattern, rules, views
from cutpath.values.leadwork import ValleyGutter


def _develop(valley: ValleyGutter) -> Developed:
    findings = pattern.check_valley(valley)
    strip = FreeRun(0.0, valley.length_mm, 0.0, 0.0, partial(pattern.valley_length, valley))
    return (None if faults(findings) else strip), findings


FAMILY = Family(
    kind="valley gutter",
    letter="V",
    use=Use("valley_gutter", 5, "valley gutters"),
    table=job.ValleyGutterTable,
    value=ValleyGutter,
    survey=one(job.survey),
    develop=_develop,
    check=rules.check,
    views=views.views,
    least_code="least_code_valley_gutter",
    lapped=True,
    roof_deg=rules.roof_deg,
    place=9,
)
