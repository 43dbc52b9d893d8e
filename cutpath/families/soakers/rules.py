"""What soakers are held to."""

from __future__ import annotations

from collections.abc import Iterator

from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.trade.limits import (
    under_least,
)
from cutpath.trade.rules import Practice, severity_of
from cutpath.units import mm_text
from cutpath.values.survey import (
    Job,
    Soakers,
    StepFlashing,
)


def _check_soakers(soakers: Soakers, job: Job, practice: Practice) -> Iterator[Finding]:
    head = soakers.head
    fact, clear = practice["soaker_upstand"], practice["water_line_clearance_least"]
    if soakers.upstand_mm < fact.value - POINT_MM:
        yield Finding(
            "CP305",
            head.origin.key("upstand"),
            f"soakers stand {mm_text(soakers.upstand_mm)} up the wall",
            f"at least {mm_text(fact.value)} ({fact.founded_on})",
            f"Raise the water line to {mm_text(fact.value + clear.value)} where the joints allow it.",
            Severity.WARNING,  # a water line of 65, which old specifications have, leaves soakers no more than 60
        )
    yield from under_least(head, "roof", soakers.roof_mm, practice["soaker_roof"], "CP306")
    step = _step_over(soakers, job)
    if step is None:
        return
    clearance = step.water_line_mm - soakers.upstand_mm
    fact = clear
    if clearance < fact.value - POINT_MM:
        above = clearance < -POINT_MM
        yield Finding(
            "CP307",
            head.origin.key("upstand"),
            f"{mm_text(soakers.upstand_mm)} under a water line at {mm_text(step.water_line_mm)}",
            f"at least {mm_text(fact.value)} below the water line ({fact.founded_on})",
            f"Raise the water line to {mm_text(soakers.upstand_mm + fact.value)}, or lower the upstand.",
            Severity.FAULT if above else Severity.WARNING,
        )


def _step_over(soakers: Soakers, job: Job) -> StepFlashing | None:
    """Give the step flashing in whose table these soakers were written, if any."""
    parent = soakers.head.origin.path.removesuffix(".soakers")
    for detail in job.details:
        if isinstance(detail, StepFlashing) and detail.head.origin.path == parent:
            return detail
    return None


def check(soakers: Soakers, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold soakers to the rules."""
    most = practice["most_code_soakers"]
    if soakers.head.lead.code > most.value:
        yield Finding(
            "CP311",
            soakers.head.origin.key("code"),
            f"code {soakers.head.lead.code} for soakers",
            f"code {most.value:.0f} or thinner ({most.founded_on})",
            "Use code 3: thicker soakers lift the slates or tiles.",
            severity_of(most),
        )
    yield from _check_soakers(soakers, job, practice)
