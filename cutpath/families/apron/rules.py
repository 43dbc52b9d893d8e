"""What aprons and flashings over a top edge are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.limits import (
    SEVERE,
    check_turn_in,
    under_least,
)
from cutpath.trade.rules import Practice
from cutpath.values.survey import (
    Apron,
    Job,
    TopAbutment,
)


def check(apron: Apron | TopAbutment, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold turn-in, upstand and cover to the rules."""
    yield from check_turn_in(apron.head, apron.turn_in_mm, practice)
    yield from under_least(apron.head, "upstand", apron.upstand_mm, practice["upstand"], "CP305")
    cover = practice["apron_cover_severe" if job.exposure == SEVERE else "apron_cover"]
    yield from under_least(apron.head, "cover", apron.cover_mm, cover, "CP306")
