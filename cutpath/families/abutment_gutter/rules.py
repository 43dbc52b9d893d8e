"""What gutters beside a wall are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.rules import Practice, held
from cutpath.values.leadwork import AbutmentGutter
from cutpath.values.survey import Job


def check(gutter: AbutmentGutter, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold the upstand to its rule."""
    yield from held(practice["upstand"], gutter.head.origin.key("upstand"), gutter.upstand_mm)


def roof_deg(gutter: AbutmentGutter) -> float:
    """Return the pitch of the roof on which its lengths lap."""
    return gutter.pitch_deg
