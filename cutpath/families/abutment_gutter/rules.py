"""What gutters beside a wall are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.limits import (
    under_least,
)
from cutpath.trade.rules import Practice
from cutpath.values.survey import (
    AbutmentGutter,
    Job,
)


def check(gutter: AbutmentGutter, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold the upstand to its rule."""
    yield from under_least(gutter.head, "upstand", gutter.upstand_mm, practice["upstand"], "CP305")


def roof_deg(gutter: AbutmentGutter) -> float:
    """Return the pitch of the roof on which its lengths lap."""
    return gutter.pitch_deg
