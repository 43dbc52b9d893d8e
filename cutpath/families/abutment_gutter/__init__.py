"""Gutters up the slope beside a wall."""

from __future__ import annotations

from functools import partial

from cutpath.families.abutment_gutter import job, pattern, rules, views
from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.runs import FreeRun
from cutpath.values.leadwork import AbutmentGutter


def _develop(gutter: AbutmentGutter) -> Developed:
    return FreeRun(0.0, gutter.length_mm, 0.0, 0.0, partial(pattern.abutment_gutter_length, gutter)), ()


FAMILY = Family(
    kind="secret gutter",
    letter="G",
    use=Use("abutment_gutter", 4, "gutters beside a wall"),
    table=job.AbutmentGutterTable,
    value=AbutmentGutter,
    survey=one(job.survey),
    develop=_develop,
    check=rules.check,
    views=views.views,
    least_code="least_code_abutment_gutter",
    lapped=True,
    roof_deg=rules.roof_deg,
    place=10,
)
