"""What slates for pipes are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.families.pipe_slate.job import side_rule
from cutpath.trade.coverings import lain_on_deg
from cutpath.trade.limits import check_lies_over, free_lap_mm, lap_over
from cutpath.trade.rules import Practice, held
from cutpath.values.leadwork import PipeSlate
from cutpath.values.survey import Job


def check(slate: PipeSlate, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold the sleeve, and the base on all sides of it, to the rules; below and above it laps by the roof's pitch."""
    origin, pitch_deg = slate.head.origin, slate.pitch_deg
    yield from held(practice["pipe_sleeve"], origin.key("sleeve"), slate.sleeve_mm)
    yield from held(practice[side_rule(pitch_deg, practice)], origin.key("side"), slate.side_mm)
    yield from check_lies_over(pitch_deg, slate.covering, origin, "no_lap_of_a_base", practice)
    lap, slope = lap_over(pitch_deg, slate.covering, practice), lain_on_deg(pitch_deg, slate.covering)
    rounded = free_lap_mm(lap.value, practice)
    for key, reach_mm in (("below", slate.below_mm), ("above", slate.above_mm)):
        yield from held(lap, origin.key(key), reach_mm, "base_of_a_pipe", slope=slope, rounded=rounded)
