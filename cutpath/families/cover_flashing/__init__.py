"""Cover flashings: turned into a chase, hanging over an upstand."""

from __future__ import annotations

from functools import partial

from cutpath.errors import faults
from cutpath.families.cover_flashing import job, pattern, rules, views
from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.runs import FreeRun
from cutpath.values.leadwork import CoverFlashing


def _develop(cover: CoverFlashing) -> Developed:
    findings, reach = pattern.check(cover), cover.return_mm
    strip = FreeRun(-reach, cover.length_mm + reach, reach, reach, partial(pattern.cover_length, cover))
    return (None if faults(findings) else strip), findings


FAMILY = Family(
    kind="cover flashing",
    letter="C",
    use=Use("cover_flashing", 4, "cover flashings"),
    table=job.CoverFlashingTable,
    value=CoverFlashing,
    survey=one(job.survey),
    develop=_develop,
    lies_over=job.gutter_under,
    check=rules.check,
    views=views.views,
    least_code="least_code_cover_flashing",
    thicker_if_severe=True,
    lapped=True,
    place=5,
)
