"""Step flashings: over soakers, or with a cover of their own on the roof."""

from __future__ import annotations

from dataclasses import replace

from cutpath.families.family import Family, Use
from cutpath.families.step_flashing import job, layout, rules, views
from cutpath.values.leadwork import StepFlashing

_USE = Use("step_flashing", 4, "step flashings")
FAMILY = Family(
    kind="step flashing",
    letter="S",
    use=_USE,
    table=job.StepFlashingTable,
    value=StepFlashing,
    survey=job.surveyed,
    develop=layout.lay_out,
    further=job.further_over_soakers,
    check=rules.check,
    views=views.views,
    least_code="least_code_step_flashing",
    thicker_if_severe=True,
    lapped=True,
    roof_deg=rules.roof_deg,
    place=1,
)
WITH_COVER = replace(FAMILY, kind="step and cover", place=2, table=job.StepAndCoverTable, further=job.further)
