"""Flashings over the top edge of a lean-to roof."""

from __future__ import annotations

from functools import partial

from cutpath.families.family import Developed, Family, Use, one
from cutpath.families.runs import FreeRun
from cutpath.families.top_abutment import job, pattern, rules, views
from cutpath.values.leadwork import TopAbutment


def _develop(flashing: TopAbutment) -> Developed:
    stops = flashing.stop_left_mm, flashing.stop_right_mm
    cut = partial(pattern.abutment_length, flashing)
    return FreeRun(-stops[0], flashing.length_mm + stops[1], *stops, cut), ()


FAMILY = Family(
    kind="top-edge abutment",
    letter="T",
    use=Use("abutment", 4, "abutment flashings"),
    table=job.TopAbutmentTable,
    value=TopAbutment,
    survey=one(job.survey),
    develop=_develop,
    check=rules.check,
    views=views.views,
    least_code="least_code_apron",
    thicker_if_severe=True,
    lapped=True,
    place=8,
)
