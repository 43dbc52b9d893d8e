"""Front aprons."""

from __future__ import annotations

from functools import partial

from cutpath.errors import faults
from cutpath.families.apron import job, pattern, rules, views
from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.runs import FreeRun
from cutpath.values.leadwork import Apron


def _develop(apron: Apron) -> Developed:
    findings = pattern.check(apron)
    filler = pattern.gusset(apron)
    extras = ((filler, 2),) if filler else ()
    ends, keep = pattern.run_ends_mm(apron), apron.side_mm
    run = FreeRun(*ends, keep, keep, partial(pattern.apron_length, apron), extras)
    return (None if faults(findings) else run), findings


FAMILY = Family(
    kind="apron",
    letter="A",
    use=Use("apron", 4, "aprons"),
    table=job.ApronTable,
    value=Apron,
    survey=one(job.survey),
    develop=_develop,
    check=rules.check,
    views=views.views,
    least_code="least_code_apron",
    thicker_if_severe=True,
    lapped=True,
    place=4,
)
