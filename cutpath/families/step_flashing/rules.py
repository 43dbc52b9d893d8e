"""What step flashings are held to."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cutpath.errors import Finding, Severity
from cutpath.tolerances import POINT_MM
from cutpath.trade.coverings import surface_deg
from cutpath.trade.limits import (
    SEVERE,
    check_turn_in,
    free_lap_mm,
    under_least,
)
from cutpath.trade.rules import Practice
from cutpath.units import deg_text, mm_text
from cutpath.values.survey import (
    CornerKind,
    DetailHead,
    Job,
    StepFlashing,
)


def _check_step(step: StepFlashing, practice: Practice) -> Iterator[Finding]:
    yield from check_turn_in(step.head, step.turn_in_mm, practice)
    fact = practice["step_joint_above_roof"]
    plumb_mm = step.water_line_mm / math.cos(math.radians(step.pitch_deg))
    if plumb_mm < fact.value - POINT_MM:
        needed = fact.value * math.cos(math.radians(step.pitch_deg))
        yield Finding(
            "CP310",
            step.head.origin.key("water_line"),
            f"folds begin {mm_text(plumb_mm)} plumb above the roof",
            f"at least {mm_text(fact.value)} ({fact.founded_on})",
            f"Raise the water line to {mm_text(math.ceil(needed))} where the joints allow it.",
            Severity.WARNING,  # the old model water line of 65 breaks this rule under 30 deg: the sources disagree
        )


def _check_change(step: StepFlashing) -> Iterator[Finding]:
    """Say why a strip ends where the roof changes its pitch, and how it is fitted there."""
    if step.tongue is None:
        return
    yield Finding(
        "CP313",
        step.head.origin.key(""),
        f"the roof changes from {deg_text(step.tongue.pitch_deg)} to {deg_text(step.pitch_deg)}",
        f"a lap of {mm_text(step.tongue.lap_mm)} there: lead cannot be bent in its own plane, so the strip is cut",
        "Fit the length below first; the tongue of this one follows the lower roof, over its last tooth up to the "
        "mark, and turns into the same joints."
        + (
            " Fold its cover where the roof changes, and weld the notch between wall and cover."
            if step.cover_mm
            else ""
        ),
        Severity.NOTE,
    )


def _check_step_cover(step: StepFlashing, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a cover on the roof to its width, and say what holds its free edge and what meets it at the arris."""
    if not step.cover_mm:
        return
    width = practice["step_cover_on_roof_severe" if job.exposure == SEVERE else "step_cover_on_roof"]
    yield from under_least(step.head, "cover", step.cover_mm, width, "CP306")
    yield _clips(step.head, step.slope_mm, practice)
    yield from _surface(step, practice)
    if step.corner.kind is CornerKind.NONE:
        return
    if step.head.no_lap:
        yield Finding(
            "CP315",
            step.head.origin.key("return"),
            f"a cover that laps over the apron at the arris, on a roof at {step.head.no_lap}",
            "parts that meet without a lap down the slope",
            "Have apron and cover welded into one, or a drip formed between them; ask a competent leadworker.",
        )
        return
    lap = mm_text(free_lap_mm(step.head.lap_mm, practice))
    yield Finding(
        "CP313",
        step.head.origin.key("return"),
        "the return goes round the arris; the cover on the roof ends square there and does not go round",
        f"an apron whose side lies under the cover, up the roof by at least {lap}",
        "Fit the apron first, and dress the foot of the arris down over it; no lead is cut away there.",
        Severity.NOTE,
    )


def _surface(step: StepFlashing, practice: Practice) -> Iterator[Finding]:
    """Say which slope laps on the roof follow; warn where lengths lap on a surface that is not known."""
    pitch, covering = deg_text(step.pitch_deg), step.covering
    if covering is not None and covering.flatter_deg > 0:
        yield Finding(
            "CP316",
            step.head.origin.key("pitch"),
            f"laps on {covering.name} at {deg_text(surface_deg(step.pitch_deg, covering))}: its surface lies "
            f"{deg_text(covering.flatter_deg)} flatter than the roof at {pitch}",
            "laps by the pitch of what they lie on",
            "Nothing to do; give flatter_by in the covering where it was measured on the tiles.",
            Severity.NOTE,
        )
    elif covering is None and step.slope_mm > step.head.longest_mm:
        least, most = practice["true_pitch_less_least"], practice["true_pitch_less_most"]
        yield Finding(
            "CP316",
            step.head.origin.key("covering"),
            f"no covering is named, so laps hold for a surface at {pitch}",
            f"the covering by name; tiles lie {least.value:g} to {deg_text(most.value)} flatter than the rafters "
            f"({most.founded_on})",
            'Name the covering, such as covering = "interlocking tile", or give its flatter_by.',
            Severity.WARNING,
        )


def _clips(head: DetailHead, edge_mm: float, practice: Practice) -> Finding:
    """Say how many clips hold a free edge: one near each end, and the rest no farther apart than the greatest."""
    least, most = practice["clip_spacing_least"], practice["clip_spacing_most"]
    count = math.ceil(edge_mm / most.value - POINT_MM) + 1
    return Finding(
        "CP312",
        head.origin.key(""),
        f"a free edge of {mm_text(edge_mm)} on the roof",
        f"clips {least.value:g} to {mm_text(most.value)} apart ({most.founded_on})",
        f"Fix {count} clips under it before it is dressed down, one near each end.",
        Severity.NOTE,
    )


def check(step: StepFlashing, job: Job, practice: Practice) -> Iterator[Finding]:
    """Hold a run of step flashing to the rules."""
    yield from _check_step(step, practice)
    yield from _check_step_cover(step, job, practice)
    yield from _check_change(step)


def roof_deg(step: StepFlashing) -> float | None:
    """Return the true pitch of what its laps lie on; None over soakers, where they stand on the wall."""
    return surface_deg(step.pitch_deg, step.covering) if step.cover_mm else None
