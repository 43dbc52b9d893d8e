"""What flashings over a top edge are held to."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cutpath import sure
from cutpath.errors import Finding, Severity
from cutpath.families.apron.rules import check_front
from cutpath.families.top_abutment.job import stop_height_mm
from cutpath.tolerances import POINT_MM
from cutpath.trade.rules import Practice, held, said
from cutpath.values.fact import Fact
from cutpath.values.leadwork import TopAbutment
from cutpath.values.survey import Job


def check(flashing: TopAbutment, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold it to the rules of an apron, and its stop ends, which stand up an end wall, to that of an upstand."""
    yield from check_front(flashing, job, practice)
    height = max(flashing.stop_left_mm, flashing.stop_right_mm)
    if height:
        yield from _stop_end(flashing, height, practice["upstand"])


def _stop_end(flashing: TopAbutment, height_mm: float, upstand: Fact) -> Iterator[Finding]:
    """Hold a stop end to an upstand's least and, in the corner, to the flashing's own, whose end it closes."""
    where, pitch_deg = flashing.head.origin.key("stop_height"), flashing.pitch_deg
    closes, plumb = stop_height_mm(flashing.upstand_mm, pitch_deg), height_mm / sure.cos(math.radians(pitch_deg))
    if plumb >= flashing.upstand_mm - POINT_MM or closes <= upstand.value:
        yield from held(upstand, where, height_mm)
        return
    yield said(
        "stop_end_below_upstand",
        where,
        upstand,
        severity=Severity.WARNING if height_mm >= upstand.value - POINT_MM else None,
        height=height_mm,
        plumb=plumb,
        upstand=flashing.upstand_mm,
        closes=closes,
    )
