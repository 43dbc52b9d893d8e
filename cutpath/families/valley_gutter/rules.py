"""What valley gutters are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding
from cutpath.families.fillets import check_fillet
from cutpath.trade.rules import Practice
from cutpath.values.leadwork import ValleyGutter
from cutpath.values.survey import Job


def check(valley: ValleyGutter, _: Job, practice: Practice) -> Iterator[Finding]:
    """Hold the lead beyond the fillets to its rule."""
    yield from check_fillet(valley, valley.width_mm / 2, "width", practice)


def roof_deg(valley: ValleyGutter) -> float:
    """Return the true pitch of the valley, on which its lengths lap."""
    return valley.true_pitch_deg
