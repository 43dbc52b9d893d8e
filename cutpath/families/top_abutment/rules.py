"""What flashings over a top edge are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.families.apron.rules import check_front
from cutpath.trade.rules import Practice, held
from cutpath.values.survey import (
    Job,
    TopAbutment,
)


def check(flashing: TopAbutment, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold it to the rules of an apron, and its stop ends, which stand up an end wall, to that of an upstand."""
    yield from check_front(flashing, job, practice)
    height = max(flashing.stop_left_mm, flashing.stop_right_mm)
    if height:
        yield from held(practice["upstand"], flashing.head.origin.key("stop_height"), height)
