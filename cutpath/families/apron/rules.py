"""What aprons and flashings over a top edge are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.tolerances import POINT_MM
from cutpath.trade.coverings import lain_on_deg
from cutpath.trade.limits import (
    SEVERE,
    check_lies_over,
    check_turn_in,
    free_lap_mm,
    lap_over,
)
from cutpath.trade.rules import Practice, held
from cutpath.values.leadwork import Apron, TopAbutment
from cutpath.values.survey import Job


def check(apron: Apron, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold an apron to the rules, and how far it passes the arrises where it does."""
    yield from check_front(apron, job, practice)
    if apron.side_mm:
        yield from held(practice["apron_side"], apron.head.origin.key("side"), apron.side_mm)


def check_front(apron: Apron | TopAbutment, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold turn-in, upstand and cover to the rules."""
    yield from check_turn_in(apron.head, apron.turn_in_mm, practice)
    yield from held(practice["upstand"], apron.head.origin.key("upstand"), apron.upstand_mm)
    cover, where = practice["apron_cover_severe" if job.exposure == SEVERE else "apron_cover"], apron.head.origin
    lap = lap_over(apron.pitch_deg, apron.covering, practice)
    if lap.value > cover.value + POINT_MM:
        slope, rounded = lain_on_deg(apron.pitch_deg, apron.covering), free_lap_mm(lap.value, practice)
        yield from held(lap, where.key("cover"), apron.cover_mm, "cover_over_tiles", slope=slope, rounded=rounded)
    else:
        yield from held(cover, where.key("cover"), apron.cover_mm)
    yield from check_lies_over(apron.pitch_deg, apron.covering, where, "no_lap_of_a_cover", practice)
