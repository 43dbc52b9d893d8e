"""What slates for pipes are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.trade.rules import Practice, held
from cutpath.values.leadwork import PipeSlate
from cutpath.values.survey import Job


def check(slate: PipeSlate, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold the sleeve and the base below it to the rules."""
    yield from held(practice["pipe_sleeve"], slate.head.origin.key("sleeve"), slate.sleeve_mm)
    yield from held(practice["apron_cover"], slate.head.origin.key("below"), slate.below_mm)
