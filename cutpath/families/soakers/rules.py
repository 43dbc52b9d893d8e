"""What soakers are held to."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import Practice, held
from cutpath.values.leadwork import Soakers, StepFlashing
from cutpath.values.survey import Job


def check(soakers: Soakers, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold soakers to the rules."""
    where, up = soakers.head.origin.key, soakers.upstand_mm
    least, clear = practice["soaker_upstand"], practice["water_line_clearance_least"]
    yield from held(practice["most_code_soakers"], where("code"), soakers.head.lead.code)
    yield from held(least, where("upstand"), up, raised=least.value + clear.value)
    yield from held(practice["soaker_roof"], where("roof"), soakers.roof_mm)
    step = job.over(soakers, StepFlashing)
    if step is None:
        return
    room = step.water_line_mm - up
    yield from held(
        clear,
        where("upstand"),
        room,
        severity=Severity.FAULT if room < -POINT_MM else None,
        upstand=up,
        water_line=step.water_line_mm,
        raised=math.ceil(up + clear.value - POINT_MM),
    )
