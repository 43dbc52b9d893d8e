"""What cover flashings are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.trade.courses import digit_slip
from cutpath.trade.limits import (
    check_turn_in,
)
from cutpath.trade.rules import Practice, held
from cutpath.units import mm_text
from cutpath.values.leadwork import CoverFlashing
from cutpath.values.survey import Job

_NEAR_MM = 30.0
"""Two widths of one stack may differ by this much where the tape slipped or the brickwork tapers (our own figure)."""


def check(cover: CoverFlashing, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold turn-in and cover to the rules, and the length of one with returns to the gutter under it."""
    yield from check_turn_in(cover.head, cover.turn_in_mm, practice)
    yield from held(practice["cover_flashing_cover"], cover.head.origin.key("cover"), cover.cover_mm)
    if cover.return_mm:
        yield from _as_wide_as_none(cover, job)


def _as_wide_as_none(cover: CoverFlashing, job: Job) -> Iterator[Finding]:
    """Doubt a length that is nearly the width of a back gutter of the same job, or is it but for a slip of a digit."""
    length = cover.length_mm
    widths = {detail.covered_mm for detail in job.details if detail.covered_mm is not None}
    off = {width: abs(width - length) for width in widths}
    for width in sorted(widths, key=lambda width: off[width]):
        if off[width] <= POINT_MM:
            return
        if off[width] <= _NEAR_MM or digit_slip(length, width, POINT_MM):
            yield Finding(
                "CP112",
                cover.head.origin.key("length"),
                f"{mm_text(length)} round both arrises of a stack, where a back gutter of this job is {mm_text(width)}",
                "usual: a cover flashing as long as the gutter under it is wide",
                f"Measure again: {mm_text(width)}? Nothing to do where it hangs over another stack.",
                Severity.WARNING,
            )
            return
