"""What slates for pipes are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.limits import (
    under_least,
)
from cutpath.trade.rules import Practice
from cutpath.values.survey import (
    Job,
    PipeSlate,
)


def check(slate: PipeSlate, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold the sleeve and the base below it to the rules."""
    yield from under_least(slate.head, "sleeve", slate.sleeve_mm, practice["pipe_sleeve"], "CP305")
    yield from under_least(slate.head, "below", slate.below_mm, practice["apron_cover"], "CP306")
