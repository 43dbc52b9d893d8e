"""What cover flashings are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.limits import (
    check_turn_in,
)
from cutpath.trade.rules import Practice, held
from cutpath.values.leadwork import CoverFlashing
from cutpath.values.survey import Job


def check(cover: CoverFlashing, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold turn-in and cover to the rules."""
    yield from check_turn_in(cover.head, cover.turn_in_mm, practice)
    yield from held(practice["cover_flashing_cover"], cover.head.origin.key("cover"), cover.cover_mm)
