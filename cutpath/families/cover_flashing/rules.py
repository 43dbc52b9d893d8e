"""What cover flashings are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.limits import (
    check_turn_in,
    under_least,
)
from cutpath.trade.rules import Practice
from cutpath.values.survey import (
    CoverFlashing,
    Job,
)


def check(cover: CoverFlashing, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold turn-in and cover to the rules."""
    yield from check_turn_in(cover.head, cover.turn_in_mm, practice)
    yield from under_least(cover.head, "cover", cover.cover_mm, practice["cover_flashing_cover"], "CP306")
