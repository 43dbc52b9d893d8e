"""What aprons and flashings over a top edge are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.limits import (
    SEVERE,
    check_turn_in,
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
    cover = practice["apron_cover_severe" if job.exposure == SEVERE else "apron_cover"]
    yield from held(cover, apron.head.origin.key("cover"), apron.cover_mm)
